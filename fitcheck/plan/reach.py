"""What a rule may still say while the ends of its facts are known within ranges only.

A verdict is a fixed function of the ends of its facts. Over a box of amounts each end moves
within a range; the lowered trees are walked once with such ranges in place of values. Whatever
is said here to be impossible is impossible at every point of the box.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Any, NamedTuple, cast

from fitcheck.calculations import Calculation
from fitcheck.language import Condition, Plain
from fitcheck.language.operations import OVER_RANGES, written_over_ranges
from fitcheck.language.plain import in_order
from fitcheck.model import Fact

Range = tuple[float, float]
Truth = tuple[bool, bool]  # surely, possibly
NO: Truth = (False, False)
YES: Truth = (True, True)
# Farther than any figure; finite, so that it can be reckoned with.
_FAR = 1e60
# A float that is the nearest to an exact end is off by less than this share of it.
_SHARE = 1e-13
# Calculations are slow and are asked for the same ranges again and again: so many are kept.
_MOST_KEPT = 50_000
# A walk that was done so often is worth compiling.
_OFTEN = 25
_CALLED: dict[tuple[object, ...], Range] = {}


class Reach(NamedTuple):
    """Within what the two ends of a fact lie.

    A quantity has two ranges. A choice has, for `lower` and for `upper`, the options that are
    surely and those that are possibly in its mask. `given` tells whether somebody said it, `out`
    that the figure has surely left the range that is plausible for it, `rank` how good the
    evidence is, at best and at worst.
    """

    lower: tuple[Any, Any]
    upper: tuple[Any, Any]
    given: Truth = (True, True)
    out: bool = False
    rank: Range = (0.0, 0.0)

    @classmethod
    def of(cls, fact: Fact) -> Reach:
        """The reach of a fact as it is."""
        low, high = fact.end("lower"), fact.end("upper")
        rank = float(fact.rank)
        return cls((low, low), (high, high), (fact.given, fact.given), rank=(rank, rank))

    def joined(self, other: Reach) -> Reach:
        """What either of two may be."""
        given = self.given[0] and other.given[0], self.given[1] or other.given[1]
        join = _bits if isinstance(self.lower[0], int) else _hull
        return Reach(
            join(self.lower, other.lower),
            join(self.upper, other.upper),
            given,
            self.out and other.out,
            _hull(self.rank, other.rank),
        )


def _hull(a: Any, b: Any) -> Any:
    return min(a[0], b[0]), max(a[1], b[1])


def _bits(a: Any, b: Any) -> Any:
    return a[0] & b[0], a[1] | b[1]


class RangeWalk:
    """Some plain trees, ready to be walked with ranges; one that is walked often is compiled."""

    def __init__(self, roots: Sequence[Plain]) -> None:
        self.trees = list(roots)
        nodes = list(in_order(roots))
        number = {node: i for i, node in enumerate(nodes)}
        self._steps = [(node, [number[arg] for arg in node.args]) for node in nodes]
        self._roots = [number[root] for root in roots]
        self._walked = 0
        self._compiled: Callable[[Mapping[str, Reach]], list[Any]] | None = None

    def over(self, facts: Mapping[str, Reach]) -> list[Any]:
        """The range, or the truth, of each root."""
        if self._compiled is not None:
            return self._compiled(facts)
        self._walked += 1
        if self._walked >= _OFTEN:
            self._compiled = self._printed()
        reached: list[Any] = []
        for node, args in self._steps:
            values = [reached[i] for i in args]
            reached.append(_end(node, facts) if node.op == "var" else _TAKEN[node.op](node, values))
        return [reached[i] for i in self._roots]

    def _printed(self) -> Callable[[Mapping[str, Reach]], list[Any]]:
        """The same as one function: what is simple written out, the rest called."""
        lines = ["def walk(facts):"]
        for i, (node, args) in enumerate(self._steps):
            lines.append(f"    v{i} = {_written(i, node, [f'v{arg}' for arg in args])}")
        lines.append(f"    return [{', '.join(f'v{i}' for i in self._roots)}]")
        names_in_it = {"taken": _TAKEN, "end": _end, "nodes": [node for node, _ in self._steps]}
        exec("\n".join(lines), names_in_it)
        return cast(Callable[[Mapping[str, Reach]], list[Any]], names_in_it["walk"])


class Outlook:
    """The verdicts of one rule that are possible while ends lie within ranges."""

    def __init__(self, condition: Condition) -> None:
        self._clauses = len(condition.clauses)
        self._walk = RangeWalk(
            [
                *condition.applies,
                *(clause.certain for clause in condition.clauses),
                *(clause.possible for clause in condition.clauses),
            ]
        )

    def over(self, facts: Mapping[str, Reach]) -> Possible:
        """What the rule can say."""
        applies, may_apply, *demands = self._walk.over(facts)
        certain = _all(demands[: self._clauses])
        possible = _all(demands[self._clauses :])
        fits = may_apply[1] and certain[1]
        surely_conflict = applies[0] and may_apply[0] and not possible[1] and not certain[1]
        return Possible(fits, not may_apply[0], surely_conflict)


@dataclass(frozen=True, slots=True)
class Possible:
    """Whether a rule can fit, can have nothing to say, or says conflict whatever happens."""

    fits: bool
    silent: bool
    surely_conflict: bool


def _all(truths: Sequence[Truth]) -> Truth:
    return all(one[0] for one in truths), all(one[1] for one in truths)


def _any(truths: Sequence[Truth]) -> Truth:
    return any(one[0] for one in truths), any(one[1] for one in truths)


def _const(node: Plain, args: list[Any]) -> Range:
    value = float(node.value)  # type: ignore[arg-type]
    return value, value


def _end(node: Plain, facts: Mapping[str, Reach]) -> Any:
    """What a variable may be."""
    name, end = cast(tuple[str, str], node.value)
    reach = facts[name]
    return reach.rank if end == "rank" else reach.lower if end == "lower" else reach.upper


def _times(a: Range, b: Range) -> Range:
    products = (
        _product(a[0], b[0]),
        _product(a[0], b[1]),
        _product(a[1], b[0]),
        _product(a[1], b[1]),
    )
    return min(products), max(products)


def _product(a: float, b: float) -> float:
    return 0.0 if a == 0 or b == 0 else a * b


def _over(node: Plain, args: list[Any]) -> Range:
    top, bottom = args
    if bottom[0] <= 0 <= bottom[1]:
        return -_FAR, _FAR
    return _times(top, (1 / bottom[1], 1 / bottom[0]))


def _power(node: Plain, args: list[Any]) -> Range:
    low, high = args[0]
    exponent: int = node.value  # type: ignore[assignment]
    ends = sorted((low**exponent, high**exponent))
    if exponent % 2 == 0 and low < 0 < high:
        ends[0] = 0.0
    return ends[0], ends[1]


def _call(node: Plain, args: list[Any]) -> Range:
    calculation, end = cast(tuple[Calculation, int], node.value)
    key = (calculation.name, end, *args)
    bounds = _CALLED.get(key)
    if bounds is None:
        if len(_CALLED) > _MOST_KEPT:
            _CALLED.clear()
        try:
            bounds = _called(node, args)
        except (ArithmeticError, ValueError):  # a corner of the ranges where the formula fails
            bounds = -_FAR, _FAR
        _CALLED[key] = bounds
    return bounds


def _called(node: Plain, args: list[Any]) -> Range:
    calculation, end = cast(tuple[Calculation, int], node.value)
    bound = calculation.at(end)
    count = len(calculation.arguments)
    if calculation.bounds is None:
        ways = [argument.direction for argument in calculation.arguments]
        low = bound(*(arg[0] if way > 0 else arg[1] for arg, way in zip(args, ways, strict=True)))
        high = bound(*(arg[1] if way > 0 else arg[0] for arg, way in zip(args, ways, strict=True)))
        return low, high
    # A bound over a box moves outward as the box grows; the smallest box may be empty, and then
    # the bound of the other end over the whole is as far as it can come.
    lows, highs = args[:count], args[count:]
    widest = [*(low[0] for low in lows), *(high[1] for high in highs)]
    outer = bound(*widest)
    narrow = [*(low[1] for low in lows), *(high[0] for high in highs)]
    empty = any(low[1] > high[0] for low, high in zip(lows, highs, strict=True))
    inner = calculation.at(-end)(*widest) if empty else bound(*narrow)
    return (outer, inner) if end < 0 else (inner, outer)


def _sign(node: Plain, args: list[Any]) -> Truth:
    low, high = args[0]
    slack = 2 * node.args[0].error
    if node.op == "ge":
        return low - slack >= 0, high + slack >= 0
    return low - slack > 0, high + slack > 0


def _pick(node: Plain, args: list[Any]) -> Any:
    condition, yes, no = args
    if condition[0] == condition[1]:
        return yes if condition[0] else no
    return (min(yes[0], no[0]), max(yes[1], no[1]))


# One function of a node and its arguments for each operation but for a variable.
_TAKEN: dict[str, Callable[[Plain, list[Any]], Any]] = {
    **OVER_RANGES,
    "const": _const,
    "/": _over,
    "pow": _power,
    "call": _call,
    "*": lambda n, a: _times(a[0], a[1]),
    "min": lambda n, a: (min(x[0] for x in a), min(x[1] for x in a)),
    "max": lambda n, a: (max(x[0] for x in a), max(x[1] for x in a)),
    "root": lambda n, a: (sqrt(max(a[0][0], 0.0)), sqrt(max(a[0][1], 0.0))),
    "ge": _sign,
    "gt": _sign,
    "pick": _pick,
    "and": lambda n, a: _all(a),
    "or": lambda n, a: _any(a),
    "true": lambda n, a: YES,
    "false": lambda n, a: NO,
}


def _written(i: int, node: Plain, args: list[str]) -> str:
    """An operation in the function of a walk: the same, without a call where it is simple."""
    match node.op:
        case op if op in OVER_RANGES:
            return written_over_ranges(op, args, node.value)
        case "and" | "or" as op:
            ends = (f" {op} ".join(f"{arg}[{end}]" for arg in args) for end in (0, 1))
            return f"({', '.join(ends)})"
        case "min" | "max" as op if len(args) == 2:
            sign = "<" if op == "min" else ">"
            pairs = ([f"{arg}[{end}]" for arg in args] for end in (0, 1))
            return f"({', '.join(f'{a} if {a} {sign} {b} else {b}' for a, b in pairs)})"
        case "const":
            return repr(_const(node, []))
        case "var":
            return f"end(nodes[{i}], facts)"
    return f"taken[{node.op!r}](nodes[{i}], [{', '.join(args)}])"


def padded(bounds: Range, error: float) -> Range:
    """A range moved outward by what floats may be off."""
    low, high = bounds
    return low - 2 * error - abs(low) * _SHARE, high + 2 * error + abs(high) * _SHARE
