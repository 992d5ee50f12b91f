"""What can be said of a tree before any value is known: its range and its slopes.

Both follow from the plausible ranges of the variables. The range tells the signs, so that
lowering does not branch; the slopes tell which variables push the result one way only, so that
a variable that occurs twice is still bounded exactly.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from math import inf, isqrt

from fitcheck.language.parsing import ExpressionError
from fitcheck.language.tree import (
    Apply,
    Call,
    Known,
    Node,
    Number,
    Power,
    Step,
    Variable,
)
from fitcheck.quantity import Interval
from fitcheck.source import frozen

End = Fraction | float  # a float is infinite
# What a figure multiplies together at most, and what it comes to: exact digits grow with the
# one, floats end with the other.
MOST_FACTORS = 60
MOST_SIZE = Fraction(10**40)


@frozen
class Range:
    """An interval whose ends may be infinite."""

    low: End
    high: End

    def __add__(self, other: Range) -> Range:
        return Range(self.low + other.low, self.high + other.high)

    def __neg__(self) -> Range:
        return Range(-self.high, -self.low)

    def __mul__(self, other: Range) -> Range:
        ends = [_times(a, b) for a in (self.low, self.high) for b in (other.low, other.high)]
        return Range(min(ends), max(ends))

    def inverse(self) -> Range:
        """One over the range, which excludes zero."""
        return Range(1 / self.high, 1 / self.low)

    def hull(self, *others: Range) -> Range:
        """The smallest range around this and the others."""
        return Range(
            min(self.low, *(o.low for o in others)), max(self.high, *(o.high for o in others))
        )

    def power(self, exponent: int) -> Range:
        """The range to a whole power."""
        ends = (self.low**exponent, self.high**exponent)
        low = Fraction(0) if exponent % 2 == 0 and self.low < 0 < self.high else min(ends)
        return Range(low, max(ends))

    def magnitude(self) -> Range:
        """The range without its signs."""
        if self.sign:
            return self if self.sign > 0 else -self
        return Range(Fraction(0), max(-self.low, self.high))

    @property
    def sign(self) -> int:
        """1 when nothing is below zero, -1 when nothing is above, else 0."""
        return 1 if self.low >= 0 else -1 if self.high <= 0 else 0

    @property
    def size(self) -> float:
        """The largest magnitude."""
        return float(self.magnitude().high)


ZERO = Range(Fraction(0), Fraction(0))
RISING = Range(Fraction(0), inf)
ANYHOW = Range(-inf, inf)


def _times(a: End, b: End) -> End:
    return Fraction(0) if a == 0 or b == 0 else a * b


def _of(interval: Interval) -> Range:
    return Range(interval.lower, interval.upper)


def _root(value: End, up: bool) -> Fraction:
    scaled = Fraction(value) * 10**24
    whole = isqrt(max(0, scaled.numerator // scaled.denominator))
    return Fraction(whole + up, 10**12)


class Ranges:
    """Ranges and slopes of the nodes of trees, each found once.

    Raises ExpressionError where a divisor or root can leave its range, a calculation can be
    asked outside the range in which it holds, or a figure can outgrow all that is measured.
    """

    def __init__(self) -> None:
        self._ranges: dict[int, Range] = {}
        self._factors: dict[int, int] = {}
        self._kept: list[Node] = []  # ids stay valid while their nodes are held

    def of(self, node: Node) -> Range:
        """The range of a quantity."""
        found = self._ranges.get(id(node))
        if found is None:
            self._factors[id(node)] = self._multiplied(node)
            found = self._range(node)
            if found.magnitude().high > MOST_SIZE:
                raise ExpressionError(
                    "this can outgrow all that is measured", "give it a plausible range", node.at
                )
            self._ranges[id(node)] = found
            self._kept.append(node)
        return found

    def _multiplied(self, node: Node) -> int:
        """How many figures are multiplied together, each counted as often as it is met."""
        inside = []
        for part in _quantities(node):
            self.of(part)
            inside.append(self._factors[id(part)])
        match node:
            case Power(exponent=exponent):
                factors = exponent * inside[0]
            case Apply(op="*" | "/"):
                factors = sum(inside)
            case Call() | Apply(op="sqrt"):  # rounded
                factors = 1
            case _:
                factors = max(inside, default=1)
        if factors > MOST_FACTORS:
            raise ExpressionError(
                f"this multiplies more than {MOST_FACTORS} figures together",
                "use lower powers",
                node.at,
            )
        return factors

    def _range(self, node: Node) -> Range:
        match node:
            case Number(value=value):
                return Range(value, value)
            case Known(interval=interval):
                return _of(interval)
            case Variable(plausible=Interval() as plausible):
                return _of(plausible)
            case Step(inner=inner, plausible=None):
                return self.of(inner)
            case Step(inner=inner, plausible=Interval() as plausible):
                clip, raw = _of(plausible), self.of(inner)
                return Range(*(min(max(end, clip.low), clip.high) for end in (raw.low, raw.high)))
            case Power(base=base, exponent=exponent):
                return self.of(base).power(exponent)
            case Call():
                return self._call(node)
            case Apply():
                return self._apply(node)
        raise TypeError(f"no quantity: {node}")

    def _apply(self, node: Apply) -> Range:
        values = [self.of(arg) for arg in node.args if isinstance(arg.type, tuple)]
        match node.op:
            case "+":
                return values[0] + values[1]
            case "-":
                return values[0] + -values[1]
            case "*":
                return values[0] * values[1]
            case "/":
                if values[1].low <= 0 <= values[1].high:
                    raise ExpressionError(
                        "the divisor can be zero within its plausible range",
                        "give the derived quantity a plausible range that excludes zero",
                        _written_at(node.args[1], node),
                    )
                return values[0] * values[1].inverse()
            case "neg":
                return -values[0]
            case "abs":
                return values[0].magnitude()
            case "sqrt":
                if values[0].low < 0:
                    raise ExpressionError(
                        "the root of what can be negative within its plausible range",
                        "give the derived quantity a plausible range",
                        _written_at(node.args[0], node),
                    )
                return Range(_root(values[0].low, False), _root(values[0].high, True))
            case "min":
                return Range(min(v.low for v in values), min(v.high for v in values))
            case "max":
                return Range(max(v.low for v in values), max(v.high for v in values))
        return values[0].hull(*values[1:])  # pick, agree

    def _call(self, node: Call) -> Range:
        lows, highs = [], []
        for arg, argument in zip(node.args, node.calculation.arguments, strict=True):
            have, (low, high) = self.of(arg), argument.base_range
            if have.low < low or have.high > high:
                raise ExpressionError(
                    f"'{argument.name}' of {node.calculation.name} can leave the range in which "
                    f"it holds, {argument.low:g}..{argument.high:g} {argument.unit.name}",
                    "give the derived quantity a plausible range inside it",
                    _written_at(arg, node),
                )
            lows.append(float(have.low))
            highs.append(float(have.high))
        try:
            low_end = node.calculation.lower(tuple(lows), tuple(highs))
            high_end = node.calculation.upper(tuple(lows), tuple(highs))
        except (ArithmeticError, ValueError, TypeError) as error:
            raise ExpressionError(
                f"{node.calculation.name} can't be computed over the range in "
                f"which it holds: {error}",
                "report this",
                node.at,
            ) from error
        return Range(Fraction(low_end), Fraction(high_end))

    def directions(self, node: Node) -> dict[str, int]:
        """1 or -1 for each figure that occurs more than once and pushes one way only."""
        counts = _occurrences(node)
        repeated = {name for name, count in counts.items() if count > 1}
        if not repeated:
            return {}
        slopes = _Slopes(self, repeated).of(node)
        found = {name: slopes.get(name, ZERO) for name in repeated}
        return {
            name: 1 if slope.low >= 0 else -1
            for name, slope in found.items()
            if slope.low >= 0 or slope.high <= 0
        }


def _quantities(node: Node) -> Iterator[Node]:
    """The nearest quantities inside a node, those that its conditions ask about included."""
    for part in node.parts:
        if isinstance(part.type, tuple):
            yield part
        else:
            yield from _quantities(part)


def _written_at(part: Node, whole: Node) -> tuple[int, int]:
    """Where a part of `whole` is written; a name's own node doesn't know where it is used."""
    return whole.at if isinstance(part, Step | Known) else part.at


def one_figure(node: Node) -> str:
    """The name of what is one figure wherever it stands; empty for what is computed.

    What two ways to a figure leave is found from their bounds, so from outside it is one too.
    """
    if isinstance(node, Variable):
        return node.name
    return f"agree {id(node)}" if isinstance(node, Apply) and node.op == "agree" else ""


def _occurrences(node: Node) -> Counter[str]:
    """How often each figure is met on the way down, shared parts counted each time."""
    memo: dict[int, Counter[str]] = {}

    def count(current: Node) -> Counter[str]:
        found = memo.get(id(current))
        if found is None:
            found = Counter()
            name = one_figure(current)
            if name:
                found[name] = 1
            for part in () if name else current.parts:
                for other, times in count(part).items():
                    found[other] = min(found[other] + times, 2)
            memo[id(current)] = found
        return found

    return count(node)


class _Slopes:
    """Bounds of the partial derivatives by the repeated figures."""

    def __init__(self, ranges: Ranges, repeated: set[str]) -> None:
        self.ranges = ranges
        self.repeated = repeated
        self.memo: dict[int, dict[str, Range]] = {}

    def of(self, node: Node) -> dict[str, Range]:
        found = self.memo.get(id(node))
        if found is None:
            found = self.memo[id(node)] = self._slopes(node)
        return found

    def _slopes(self, node: Node) -> dict[str, Range]:
        of = self.ranges.of
        if name := one_figure(node):
            return {name: Range(Fraction(1), Fraction(1))} if name in self.repeated else {}
        match node:
            case Step(inner=inner, plausible=None):
                return self.of(inner)
            case Step(inner=inner):
                return {name: slope.hull(ZERO) for name, slope in self.of(inner).items()}
            case Power(base=base, exponent=exponent):
                one = Range(Fraction(1), Fraction(1))
                rest = of(base).power(exponent - 1) if exponent > 1 else one
                return self._chain([(base, rest * Range(Fraction(exponent), Fraction(exponent)))])
            case Call(args=args, calculation=calculation):
                steep = {1: RISING, -1: -RISING, 0: ANYHOW}
                return self._chain(
                    [
                        (arg, steep[argument.direction])
                        for arg, argument in zip(args, calculation.arguments, strict=True)
                    ]
                )
            case Apply():
                return self._apply(node)
        return {}

    def _apply(self, node: Apply) -> dict[str, Range]:
        of, args = self.ranges.of, node.args
        one = Range(Fraction(1), Fraction(1))
        match node.op:
            case "+":
                return self._chain([(arg, one) for arg in args])
            case "-":
                return self._chain([(args[0], one), (args[1], -one)])
            case "neg":
                return self._chain([(args[0], -one)])
            case "*":
                return self._chain([(args[0], of(args[1])), (args[1], of(args[0]))])
            case "/":
                inverse = of(args[1]).inverse()
                return self._chain(
                    [(args[0], inverse), (args[1], -(of(args[0]) * inverse * inverse))]
                )
            case "sqrt":
                return self._chain([(args[0], RISING)])
            case "abs":
                sign = of(args[0]).sign
                slope = one if sign > 0 else -one if sign < 0 else one.hull(-one)
                return self._chain([(args[0], slope)])
            case "pick":  # whichever is taken: its condition is asked of the whole box
                return self._either(args[1:])
        return self._either(args)  # min, max

    def _chain(self, parts: list[tuple[Node, Range]]) -> dict[str, Range]:
        total: dict[str, Range] = {}
        for part, outer in parts:
            for name, slope in self.of(part).items():
                total[name] = total.get(name, ZERO) + outer * slope
        return total

    def _either(self, args: tuple[Node, ...]) -> dict[str, Range]:
        found = [self.of(arg) for arg in args]
        names = {name for slopes in found for name in slopes}
        return {
            name: ZERO.hull(*(slopes.get(name, ZERO) for slopes in found))
            if any(name not in slopes for slopes in found)
            else found[0][name].hull(*(slopes[name] for slopes in found[1:]), found[0][name])
            for name in names
        }
