"""Pages: one HTML file each that brings everything along, to print and to send.

`frame.py` and `frame.html.j2` are what all pages share: head, stamp, cautions, tables, drawings.
A kind of page is one template and one function that hands it plain words; `PAGES` names those that
are made from a check alone.
"""

from __future__ import annotations

from datetime import date
from importlib import import_module
from typing import TYPE_CHECKING

from fitcheck.source import frozen

if TYPE_CHECKING:
    from collections.abc import Callable

    from fitcheck.check import BuildCheck
    from fitcheck.quantity import System

    Maker = Callable[..., str]


@frozen
class PageKind:
    """A kind of page: what it is, and where the function that makes it stands."""

    help: str
    module: str

    def make(
        self, check: BuildCheck, system: System, day: date, handbook: str = "", **more: bool
    ) -> str:
        """The page; `handbook` is where the handbook lies, as seen from it."""
        function: Maker = import_module(f"fitcheck.report.html.{self.module}").page_of
        return function(check, system, day, handbook, **more)


PAGES = {
    "check": PageKind("what clashes, fits and cannot be told, with drawings", "check"),
    "sheet": PageKind("what to measure, how, with blanks to write in", "sheet"),
    "audit": PageKind("what was claimed or ordered against what was measured", "audit"),
}
