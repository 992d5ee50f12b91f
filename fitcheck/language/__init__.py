"""The expression language: parse once, lower once, print anywhere."""

from fitcheck.language.bounds import Clause, Lowering
from fitcheck.language.parse import ExpressionError, describe, parse
from fitcheck.language.plain import TRUE, Forest, Plain
from fitcheck.language.python import (
    CONFLICT,
    FITS,
    NEAR,
    SILENT,
    STRADDLES,
    Compiled,
    Condition,
    compile_intervals,
    compile_verdicts,
)
from fitcheck.language.ranges import Ranges
from fitcheck.language.tree import (
    FLAG,
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

__all__ = [
    "CONFLICT",
    "FITS",
    "FLAG",
    "NEAR",
    "SILENT",
    "STRADDLES",
    "TRUE",
    "TRUTH",
    "YES_NO",
    "Clause",
    "Compare",
    "Compiled",
    "Condition",
    "ExpressionError",
    "Forest",
    "Is",
    "Known",
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
