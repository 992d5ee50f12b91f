"""How a check or a finding shows itself in a notebook.

What it looks like is the business of reports, which stand above checks. So whoever joins the two
(the package's face, `fitcheck/__init__.py`) names a function here; without one a notebook shows
what it shows of any object.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

_AS_HTML: dict[str, Callable[[Any], str]] = {}


def show_as(kind: str, function: Callable[[Any], str]) -> None:
    """Let objects of a class, by its name, be shown by a function."""
    _AS_HTML[kind] = function


class Shown:
    """Something that a notebook shows as HTML, once a function for it is named."""

    __slots__ = ()

    def _repr_html_(self) -> str | None:
        function = _AS_HTML.get(type(self).__name__)
        return function(self) if function is not None else None
