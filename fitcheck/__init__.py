"""fitcheck: do these top-end parts work together?

>>> from fitcheck import check_build, load_knowledge, read_build
>>> knowledge = load_knowledge()                                       # doctest: +SKIP
>>> check = check_build(read_build("build.yaml", knowledge), knowledge)  # doctest: +SKIP
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
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
    from importlib import import_module  # noqa: PLC0415

    home = _HOMES.get(name, "check")
    if home == "check":
        _tell_notebooks()
    return getattr(import_module(f"fitcheck.{home}"), name)


def _tell_notebooks() -> None:
    # A check does not know of reports; the two are joined here, and a report is imported only
    # where a notebook asks for it.
    from fitcheck.check.shown import show_as  # noqa: PLC0415

    def check_html(check: Check) -> str:
        from fitcheck.report import notebook  # noqa: PLC0415

        return notebook.check_html(check)

    def finding_html(finding: Finding) -> str:
        from fitcheck.report import notebook  # noqa: PLC0415

        return notebook.finding_html(finding)

    show_as("Check", check_html)
    show_as("Finding", finding_html)
