"""Plain trees over arrays of ranges: what a rule says, or may still say, of many at once.

Each end of a variable is a pair of arrays, its least and its greatest; where just one value is
left the two are one object. Arrays of several slots stand on axes of their own, and the answer
has all of them. As in `plan/reach.py`, whatever is said here to be impossible is impossible at
every point of the box.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence, Set
from fractions import Fraction
from typing import Any

import numpy as np

from fitcheck.calculations import Calculation
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


def _b(value: Any) -> Any:
    return np.asarray(value, dtype=bool)


def _single(args: Sequence[Span]) -> bool:
    return all(low is high for low, high in args)


def _one(value: Any) -> Span:
    return value, value


def _rising(function: Callable[..., Any]) -> Callable[[Plain, list[Span]], Span]:
    def over(node: Plain, args: list[Span]) -> Span:
        low = function(*(arg[0] for arg in args))
        return _one(low) if _single(args) else (low, function(*(arg[1] for arg in args)))

    return over


def _chain(function: Callable[[Any, Any], Any]) -> Callable[..., Any]:
    def over(*args: Any) -> Any:
        best = args[0]
        for other in args[1:]:
            best = function(best, other)
        return best

    return over


def _const(node: Plain, args: list[Span]) -> Span:
    value = float(node.value) if isinstance(node.value, Fraction) else node.value
    return _one(np.asarray(value))


def _less(node: Plain, args: list[Span]) -> Span:
    (a, b), (c, d) = args
    return _one(a - c) if _single(args) else (a - d, b - c)


def _negated(node: Plain, args: list[Span]) -> Span:
    low, high = args[0]
    return _one(-low) if low is high else (-high, -low)


def _times(node: Plain, args: list[Span]) -> Span:
    (a, b), (c, d) = args
    if _single(args):
        return _one(a * c)
    products = [a * c, a * d, b * c, b * d]
    return _chain(np.minimum)(*products), _chain(np.maximum)(*products)


def _over(node: Plain, args: list[Span]) -> Span:
    (a, b), (c, d) = args
    if _single(args):
        return _one(a / c)
    parts = [a / c, a / d, b / c, b / d]
    spans_zero = (c <= 0) & (d >= 0)
    return (
        np.where(spans_zero, -_FAR, _chain(np.minimum)(*parts)),
        np.where(spans_zero, _FAR, _chain(np.maximum)(*parts)),
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


def _sign(node: Plain, args: list[Span]) -> Span:
    needed = slack(node)
    if node.op == "ge":
        return _rising(lambda margin: margin >= needed)(node, args)
    return _rising(lambda margin: margin > needed)(node, args)


def _pick(node: Plain, args: list[Span]) -> Span:
    condition, yes, no = args
    if condition[0] is condition[1] and yes[0] is yes[1] and no[0] is no[1]:
        return _one(np.where(condition[0], yes[0], no[0]))
    surely, possibly = condition
    low = np.where(surely, yes[0], np.where(possibly, np.minimum(yes[0], no[0]), no[0]))
    high = np.where(surely, yes[1], np.where(possibly, np.maximum(yes[1], no[1]), no[1]))
    return low, high


# Of a mask the first of a pair holds the options surely in it, the second those possibly in it.


def _only(node: Plain, args: list[Span]) -> Span:
    (surely, possibly), outside = args[0], ~node.value  # type: ignore[operator]
    if surely is possibly:
        return _one((surely & outside) == 0)
    return (possibly & outside) == 0, (surely & outside) == 0


def _allows(node: Plain, args: list[Span]) -> Span:
    surely, possibly = args[0]
    if surely is possibly:
        return _one((surely & node.value) != 0)
    return (surely & node.value) != 0, (possibly & node.value) != 0


def _meets(node: Plain, args: list[Span]) -> Span:
    (a, b), (c, d) = args
    return _one((a & c) != 0) if _single(args) else ((a & c) != 0, (b & d) != 0)


def _within(node: Plain, args: list[Span]) -> Span:
    (a, b), (c, d) = args
    return _one((a & ~c) == 0) if _single(args) else ((b & ~c) == 0, (a & ~d) == 0)


def _alone(node: Plain, args: list[Span]) -> Span:
    surely, possibly = args[0]
    if surely is possibly:
        return _one((surely & (surely - 1)) == 0)
    return (possibly & (possibly - 1)) == 0, (surely & (surely - 1)) == 0


def _opposite(node: Plain, args: list[Span]) -> Span:
    surely, possibly = args[0]
    return _one(~_b(surely)) if surely is possibly else (~_b(possibly), ~_b(surely))


_TAKEN: dict[str, Callable[[Plain, list[Span]], Span]] = {
    "const": _const,
    "+": _rising(lambda a, b: a + b),
    "-": _less,
    "*": _times,
    "/": _over,
    "neg": _negated,
    "pow": _power,
    "root": _rising(lambda a: np.sqrt(np.maximum(a, 0))),
    "min": _rising(_chain(np.minimum)),
    "max": _rising(_chain(np.maximum)),
    "call": _call,
    "ge": _sign,
    "gt": _sign,
    "pick": _pick,
    "only": _only,
    "allows": _allows,
    "meets": _meets,
    "within": _within,
    "single": _alone,
    "and": _rising(_chain(np.logical_and)),
    "or": _rising(_chain(np.logical_or)),
    "not": _opposite,
    "true": lambda n, a: _one(np.asarray(True)),
    "false": lambda n, a: _one(np.asarray(False)),
}
_GENEROUS = _TAKEN | {
    "ge": lambda n, a: _rising(lambda margin: margin >= -abs(slack(n)))(n, a),
    "gt": _rising(lambda margin: margin > 0),
}
