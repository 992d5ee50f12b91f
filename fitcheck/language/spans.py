"""Plain trees over arrays of ranges: what a rule says, or may still say, of many at once.

Each end of a variable is a pair of arrays, its least and its greatest; where just one value is
left the two are one object. Arrays of several slots stand on axes of their own, and the answer
has all of them. As in `plan/reach.py`, whatever is said here to be impossible is impossible at
every point of the box.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence, Set
from fractions import Fraction
from functools import reduce
from itertools import repeat
from typing import Any

import numpy as np

from fitcheck.calculations import Calculation
from fitcheck.language.operations import COMPUTED, OPERATIONS
from fitcheck.language.outcome import slack
from fitcheck.language.plain import Plain, in_order

Span = tuple[Any, Any]
Spans = Mapping[tuple[str, str], Span]
_FAR = 1e60


class SpanWalk:
    """Some plain trees, their `nodes` in the order in which they are computed.

    What lies beneath the nodes of `stop` is left out: their values are given. With `generous` a
    margin within the rounding of floats counts as kept, which fractions would mostly say too.
    """

    def __init__(
        self, roots: Sequence[Plain], stop: Set[Plain] = frozenset(), *, generous: bool = False
    ) -> None:
        self.roots = list(roots)
        self.nodes = list(in_order(roots, stop))
        self._taken = _GENEROUS if generous else _TAKEN

    @property
    def variables(self) -> list[tuple[str, str]]:
        """The ends of variables that are asked for."""
        return [node.value for node in self.nodes if node.op == "var"]  # type: ignore[misc]

    def over(
        self,
        spans: Spans,
        given: Mapping[Plain, Span] | None = None,
        failed: list[Any] | None = None,
    ) -> list[Span]:
        """The range, or whether surely and possibly true, of each root.

        Where a calculation fails for single values its result is NaN, which compares as if it
        were a figure: `failed` receives where that is so.
        """
        found: dict[Plain, Span] = dict(given or {})
        with np.errstate(all="ignore"):
            for node in self.nodes:
                if node.op == "var":
                    found[node] = spans[node.value]  # type: ignore[index]
                else:
                    found[node] = self._taken[node.op](node, [found[arg] for arg in node.args])
                if node.op == "call" and failed is not None:
                    failed.append(np.isnan(found[node][0]))
        return [found[root] for root in self.roots]


def _single(args: Sequence[Span]) -> bool:
    return all(low is high for low, high in args)


def _one(value: Any) -> Span:
    return value, value


def _monotone(
    function: Callable[[Plain, list[Any]], Any], ways: Sequence[int] = ()
) -> Callable[[Plain, list[Span]], Span]:
    """What rises, or falls, with each argument; without `ways` it rises with all."""
    falls = [way < 0 for way in ways] or repeat(False)

    def over(node: Plain, args: list[Span]) -> Span:
        low = function(node, [arg[fall] for arg, fall in zip(args, falls, strict=False)])
        if _single(args):
            return _one(low)
        return low, function(node, [arg[not fall] for arg, fall in zip(args, falls, strict=False)])

    return over


def _const(node: Plain, args: list[Span]) -> Span:
    value = float(node.value) if isinstance(node.value, Fraction) else node.value
    return _one(np.asarray(value))


def _times(node: Plain, args: list[Span]) -> Span:
    (a, b), (c, d) = args
    if _single(args):
        return _one(a * c)
    products = [a * c, a * d, b * c, b * d]
    return reduce(np.minimum, products), reduce(np.maximum, products)


def _over(node: Plain, args: list[Span]) -> Span:
    (a, b), (c, d) = args
    if _single(args):
        return _one(a / c)
    parts = [a / c, a / d, b / c, b / d]
    spans_zero = (c <= 0) & (d >= 0)
    return (
        np.where(spans_zero, -_FAR, reduce(np.minimum, parts)),
        np.where(spans_zero, _FAR, reduce(np.maximum, parts)),
    )


def _power(node: Plain, args: list[Span]) -> Span:
    low, high = args[0]
    exponent: int = node.value  # type: ignore[assignment]
    if low is high:
        return _one(low**exponent)
    ends = low**exponent, high**exponent
    least, most = np.minimum(*ends), np.maximum(*ends)
    if exponent % 2 == 0:
        least = np.where((low < 0) & (high > 0), 0.0, least)
    return least, most


def _call(node: Plain, args: list[Span]) -> Span:
    value: Any = node.value
    calculation, end = value
    if _single(args):
        return _one(asked(calculation, end, [arg[0] for arg in args]))
    count = len(calculation.arguments)
    if calculation.bounds is None:
        ways = [argument.direction for argument in calculation.arguments]
        picks = list(zip(args, ways, strict=True))
        low = asked(calculation, end, [arg[0] if way > 0 else arg[1] for arg, way in picks])
        high = asked(calculation, end, [arg[1] if way > 0 else arg[0] for arg, way in picks])
    else:
        # Over the widest box the outer end holds for all; the other end is as far as it can come.
        widest = [*(arg[0] for arg in args[:count]), *(arg[1] for arg in args[count:])]
        low = asked(calculation, -1, widest)
        high = asked(calculation, 1, widest)
    return np.where(np.isnan(low), -_FAR, low), np.where(np.isnan(high), _FAR, high)


def asked(calculation: Calculation, end: int, args: Sequence[Any]) -> Any:
    """A calculation's bound over arrays; NaN where it fails.

    One that is not written for arrays is asked once for each set of arguments.
    """
    columns = np.broadcast_arrays(*args)
    if calculation.arrays is not None:
        with np.errstate(all="ignore"):
            values = np.asarray(calculation.at(end, arrays=True)(*columns), float)
        return np.where(np.isfinite(values), values, np.nan)
    bound = calculation.at(end)
    found, known = np.empty(columns[0].size), dict[tuple[float, ...], float]()
    rows = zip(*(column.ravel().tolist() for column in columns), strict=True)
    for i, row in enumerate(rows):
        value = known.get(row)
        if value is None:
            try:
                value = bound(*row)
            except (ArithmeticError, ValueError, TypeError):
                value = float("nan")
            known[row] = value
        found[i] = value
    return found.reshape(columns[0].shape)


def _pick(node: Plain, args: list[Span]) -> Span:
    condition, yes, no = args
    if condition[0] is condition[1] and yes[0] is yes[1] and no[0] is no[1]:
        return _one(np.where(condition[0], yes[0], no[0]))
    surely, possibly = condition
    low = np.where(surely, yes[0], np.where(possibly, np.minimum(yes[0], no[0]), no[0]))
    high = np.where(surely, yes[1], np.where(possibly, np.maximum(yes[1], no[1]), no[1]))
    return low, high


# Of a mask the first of a pair holds the options surely in it, the second those possibly in it.
_TAKEN: dict[str, Callable[[Plain, list[Span]], Span]] = {
    **{op: _monotone(COMPUTED[op], one.ways) for op, one in OPERATIONS.items() if one.ways},
    "not": _monotone(lambda n, a: np.logical_not(a[0]), OPERATIONS["not"].ways),
    "const": _const,
    "*": _times,
    "/": _over,
    "pow": _power,
    "root": _monotone(lambda n, a: np.sqrt(np.maximum(a[0], 0))),
    "min": _monotone(lambda n, a: reduce(np.minimum, a)),
    "max": _monotone(lambda n, a: reduce(np.maximum, a)),
    "call": _call,
    "ge": _monotone(lambda n, a: a[0] >= slack(n)),
    "gt": _monotone(lambda n, a: a[0] > slack(n)),
    "pick": _pick,
    "and": _monotone(lambda n, a: reduce(np.logical_and, a)),
    "or": _monotone(lambda n, a: reduce(np.logical_or, a)),
    "true": lambda n, a: _one(np.asarray(True)),
    "false": lambda n, a: _one(np.asarray(False)),
}
_GENEROUS = _TAKEN | {
    "ge": _monotone(lambda n, a: a[0] >= -abs(slack(n))),
    "gt": _monotone(lambda n, a: a[0] > 0),
}
