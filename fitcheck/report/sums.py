"""The subtraction behind a clash, line by line, so that it adds up with the digits shown."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction

from fitcheck.check import RuleFinding
from fitcheck.language import Node, Step
from fitcheck.language.tree import Apply
from fitcheck.quantity import Interval, Kind, System
from fitcheck.quantity.units import find_unit
from fitcheck.source import frozen

MOST_TERMS = 4
# How far a sum of what is shown may lie from the figure itself, in last digits.
_NEAR = 3


@frozen
class SumLine:
    """A figure of a subtraction, its ends as shown, with as many decimals as all others."""

    words: str
    low: str
    high: str


@frozen
class Sum:
    """A subtraction in one unit: what is, what is wanted, what is missing."""

    unit: str
    lines: tuple[SumLine, ...]


def sum_of(finding: RuleFinding, system: System) -> Sum | None:
    """How the figure of a clash comes about and what it lacks; None where that is no subtraction.

    Each figure is rounded to one digit finer than is usual, and what follows is reckoned from
    what is shown. Where a figure stands in two of the terms, its ends go together and plain
    subtraction would tell too much: there is no table then.
    """
    demand = finding.demands[0] if finding.demands else None
    if demand is None or not isinstance(demand.node.left, Step):
        return None
    terms = _terms(demand.node.left.inner, 1)
    if not 1 < len(terms) <= MOST_TERMS or not all(getattr(t, "name", "") for _, t in terms):
        return None
    shown = _Shown(demand.kind, system)
    lines, total = [], Interval(Fraction(0), Fraction(0))
    for sign, term in terms:
        figure = shown.rounded(finding.values[id(term)])
        total = _plus(total, figure) if sign > 0 else _less(total, figure)
        lines.append(shown.line(f"{'' if sign > 0 else 'less '}{finding.title(term)}", figure))
    if not shown.near(total, demand.actual):
        return None
    wanted = shown.rounded(demand.wanted)
    at_least = demand.node.op[0] == ">"
    missing = _less(wanted, total) if at_least else _less(total, wanted)
    missing = Interval(max(Fraction(0), missing.lower), max(Fraction(0), missing.upper))
    lines += [
        shown.line(f"leaves {finding.title(demand.node.left)}", total),
        shown.line(f"wanted, at {'least' if at_least else 'most'}", wanted),
        shown.line("short by" if at_least else "over by", missing),
    ]
    return Sum(shown.unit, tuple(lines))


def _plus(one: Interval, other: Interval) -> Interval:
    return Interval(one.lower + other.lower, one.upper + other.upper)


def _less(one: Interval, other: Interval) -> Interval:
    return Interval(one.lower - other.upper, one.upper - other.lower)


def _terms(node: Node, sign: int) -> list[tuple[int, Node]]:
    """What a figure is a sum or difference of, each with its sign."""
    if isinstance(node, Apply) and node.op in ("+", "-") and len(node.args) == 2:
        first, second = node.args
        return [*_terms(first, sign), *_terms(second, sign if node.op == "+" else -sign)]
    return [(sign, node)]


class _Shown:
    """Figures of a kind, in the unit and with the decimals in which they are shown."""

    def __init__(self, kind: Kind, system: System) -> None:
        self.unit, decimals = kind.inch if system == "inch" else kind.metric
        found = find_unit(self.unit, kind)
        assert found is not None
        self.factor, self.offset = found.factor, found.offset
        self.step = Decimal(1).scaleb(-decimals - 1)

    def rounded(self, interval: Interval) -> Interval:
        """The interval in the unit, each end to the nearest last digit."""
        return Interval(self._round(interval.lower), self._round(interval.upper))

    def _round(self, value: Fraction) -> Fraction:
        own = (value - self.offset) / self.factor
        decimal = Decimal(own.numerator) / Decimal(own.denominator)
        return Fraction(decimal.quantize(self.step, ROUND_HALF_EVEN))

    def near(self, total: Interval, figure: Interval) -> bool:
        """Whether a sum of what is shown is the figure, but for its last digits."""
        own, most = self.rounded(figure), _NEAR * Fraction(self.step)
        return abs(total.lower - own.lower) <= most and abs(total.upper - own.upper) <= most

    def line(self, words: str, figure: Interval) -> SumLine:
        """A line of the table."""
        low, high = (
            str((Decimal(end.numerator) / Decimal(end.denominator)).quantize(self.step))
            for end in (figure.lower, figure.upper)
        )
        return SumLine(words, low, high)
