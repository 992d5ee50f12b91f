"""What the operations of plain trees are, once for all that prints or computes them.

Most rise or fall with each of their arguments, and then their text over single values is their
text over ranges as well. What is left to each printing is what it writes in a way of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from fitcheck.source import frozen

# Conditions that ask whether a margin is at least, or above, zero; all conditions.
SIGNS = frozenset(("ge", "gt"))
TRUTHS = SIGNS | {"and", "or", "not", "only", "allows", "meets", "within", "single"}


@frozen
class PlainOperation:
    """An operation as Python and SQL write it, `{0}` and `{1}` its arguments.

    `ways` tells of each argument whether the result rises (1) or falls (-1) with it; of a mask,
    with the options in it. It is empty where neither is so.
    """

    text: str
    ways: tuple[int, ...] = ()


OPERATIONS = {
    "+": PlainOperation("{0} + {1}", (1, 1)),
    "-": PlainOperation("{0} - {1}", (1, -1)),
    "*": PlainOperation("{0} * {1}"),
    "/": PlainOperation("{0} / {1}"),
    "neg": PlainOperation("-{0}", (-1,)),
    "not": PlainOperation("not {0}", (-1,)),
    "only": PlainOperation("({0} & ~{value}) == 0", (-1,)),
    "allows": PlainOperation("({0} & {value}) != 0", (1,)),
    "meets": PlainOperation("({0} & {1}) != 0", (1, 1)),
    "within": PlainOperation("({0} & ~{1}) == 0", (-1, 1)),
    "single": PlainOperation("({0} & ({0} - 1)) == 0", (-1,)),
}


def written(op: str, args: Sequence[str], value: object) -> str:
    """An operation over single values.

    >>> written("only", ["a"], 5)
    '((a & ~5) == 0)'
    """
    return f"({OPERATIONS[op].text.format(*args, value=value)})"


def written_over_ranges(op: str, args: Sequence[str], value: object) -> str:
    """The least and the greatest that one with ways can come to, in Python.

    >>> written_over_ranges("-", ["a", "b"], None)
    '((a[0] - b[1]), (a[1] - b[0]))'
    """
    ways = OPERATIONS[op].ways
    least = [f"{arg}[{int(way < 0)}]" for arg, way in zip(args, ways, strict=True)]
    most = [f"{arg}[{int(way > 0)}]" for arg, way in zip(args, ways, strict=True)]
    return f"({written(op, least, value)}, {written(op, most, value)})"


def _function(text: str) -> Callable[[Any, Sequence[Any]], Any]:
    function: Callable[[Any, Sequence[Any]], Any] = eval(f"lambda node, args: {text}")
    return function


# Functions of a node and of its arguments: over single values or arrays, and over ranges.
_ARGS = ("args[0]", "args[1]")
COMPUTED = {op: _function(written(op, _ARGS, "node.value")) for op in OPERATIONS}
OVER_RANGES = {
    op: _function(written_over_ranges(op, _ARGS[: len(one.ways)], "node.value"))
    for op, one in OPERATIONS.items()
    if one.ways
}
