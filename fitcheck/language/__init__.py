"""The expression language: parse once, lower once, print anywhere."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fitcheck.language.compiled import CONFLICT, FITS, NEAR, SILENT, STRADDLES, Compiled
from fitcheck.language.differences import Differences
from fitcheck.language.tree import (
    BOTH,
    FIRST,
    FLAG,
    SECOND,
    SHARED,
    TRUTH,
    YES_NO,
    Compare,
    Is,
    Known,
    Node,
    One,
    Options,
    Some,
    Step,
    Variable,
    variables,
    walk,
)
from fitcheck.language.words import words

if TYPE_CHECKING:
    from fitcheck.language.bounds import LoweredDemand, Lowering
    from fitcheck.language.outcome import Condition
    from fitcheck.language.parsing import ExpressionError, describe, parse
    from fitcheck.language.plain import TRUE, Forest, Plain
    from fitcheck.language.python import compile_intervals, compile_verdicts
    from fitcheck.language.ranges import Ranges

__all__ = [
    "BOTH",
    "CONFLICT",
    "FIRST",
    "FITS",
    "FLAG",
    "NEAR",
    "SECOND",
    "SHARED",
    "SILENT",
    "STRADDLES",
    "TRUE",
    "TRUTH",
    "YES_NO",
    "Compare",
    "Compiled",
    "Condition",
    "Differences",
    "ExpressionError",
    "Forest",
    "Is",
    "Known",
    "LoweredDemand",
    "Lowering",
    "Node",
    "One",
    "Options",
    "Plain",
    "Ranges",
    "Some",
    "Step",
    "Variable",
    "compile_intervals",
    "compile_verdicts",
    "describe",
    "parse",
    "variables",
    "walk",
    "words",
]

# What reads, lowers and prints expressions: not needed where all is kept from the last run.
_HOMES = {
    "LoweredDemand": "bounds",
    "Condition": "outcome",
    "ExpressionError": "parsing",
    "Forest": "plain",
    "Lowering": "bounds",
    "Plain": "plain",
    "Ranges": "ranges",
    "TRUE": "plain",
    "compile_intervals": "python",
    "compile_verdicts": "python",
    "describe": "parsing",
    "parse": "parsing",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'fitcheck.language' has no attribute '{name}'")
    from importlib import import_module  # noqa: PLC0415

    found = getattr(import_module(f"fitcheck.language.{_HOMES[name]}"), name)
    globals()[name] = found
    return found
