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
    "BadInput", "Check", "Finding", "Knowledge", "Verdict", "check_build", "load_knowledge",
    "read_build",
]  # fmt: skip

_HOMES = {"BadInput": "source", "Knowledge": "knowledge", "load_knowledge": "knowledge"}


def __getattr__(name: str) -> Any:
    # Lazy, so that a command pays only for what it uses.
    if name not in __all__:
        raise AttributeError(f"module 'fitcheck' has no attribute '{name}'")
    from importlib import import_module  # noqa: PLC0415

    return getattr(import_module(f"fitcheck.{_HOMES.get(name, 'check')}"), name)
