"""fitcheck: do these top-end parts work together?

>>> from fitcheck import check_build, load_knowledge, read_build
>>> knowledge = load_knowledge()                                       # doctest: +SKIP
>>> check = check_build(read_build("build.yaml", knowledge), knowledge)  # doctest: +SKIP
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable

    from fitcheck.check import Check, Finding, Verdict, check_build, read_build
    from fitcheck.knowledge import Knowledge, load_knowledge
    from fitcheck.source import BadInput

__all__ = [
    "BadInput",
    "Check",
    "Finding",
    "Knowledge",
    "Verdict",
    "check_build",
    "load_knowledge",
    "read_build",
]

__version__ = "0.1.0"

_HOMES = {"BadInput": "source", "Knowledge": "knowledge", "load_knowledge": "knowledge"}


def __getattr__(name: str) -> Any:
    # Lazy, so that a command pays only for what it uses.
    if name not in __all__:
        raise AttributeError(f"module 'fitcheck' has no attribute '{name}'")
    home = _HOMES.get(name, "check")
    if home == "check":
        _tell_notebooks()
    return getattr(import_module(f"fitcheck.{home}"), name)


def _tell_notebooks() -> None:
    # A check does not know of reports; the two are joined here, and a report is imported only
    # where a notebook asks for it.
    from fitcheck.check.shown import show_as  # noqa: PLC0415

    def shown_by(function: str) -> Callable[[Any], str]:
        def shown(found: Any) -> str:
            html: str = getattr(import_module("fitcheck.report.notebook"), function)(found)
            return html

        return shown

    for kind in ("Check", "Finding", "Routes"):
        show_as(kind, shown_by(f"{kind.lower()}_html"))
