"""Lowering: a typed tree becomes its lower and its upper bound, two plain trees.

A quantity's bounds hold for every choice of values inside the ends of its variables. They are
exact where each variable occurs once or pushes the result one way only; elsewhere they may be
wider, never narrower. A condition's bounds are whether it certainly and whether it possibly
holds.
"""

from __future__ import annotations

from fractions import Fraction

from fitcheck.language.differences import Differences
from fitcheck.language.plain import Forest, Plain
from fitcheck.language.ranges import Ranges, one_figure
from fitcheck.language.tree import (
    BOTH,
    FIRST,
    SECOND,
    Among,
    Apply,
    Call,
    Compare,
    Is,
    Known,
    Node,
    Number,
    Power,
    Same,
    Step,
    Truth,
    Variable,
)
from fitcheck.language.ways import Ways
from fitcheck.source import frozen

LOW, HIGH = -1, 1
_END = {LOW: "lower", HIGH: "upper"}
Pins = frozenset[tuple[str, int]]


@frozen
class LoweredDemand:
    """One demand of a rule: whether it certainly and possibly holds, and by what margin."""

    node: Node
    certain: Plain
    possible: Plain
    margin: tuple[Plain, Plain] | None


def _pinned(node: Node, end: int, pins: Pins) -> int:
    """The end of a figure that is wanted: the one it is pinned to, wherever it stands."""
    name = one_figure(node)
    return next((pin for pinned, pin in pins if pinned == name), end)


class Lowering:
    """Lowers trees into one forest, so that what they share is computed once."""

    def __init__(
        self,
        forest: Forest | None = None,
        ranges: Ranges | None = None,
        differences: Differences | None = None,
    ) -> None:
        self.forest = forest or Forest()
        self.ranges = ranges or Ranges()
        self.differences = differences or Differences()
        self.ways = Ways(self.forest, self.truth)
        self._memo: dict[tuple[int, int, Pins], Plain] = {}
        self._kept: list[Node] = []  # ids stay valid while their nodes are held

    def interval(self, node: Node) -> tuple[Plain, Plain]:
        """Lower and upper bound of a quantity."""
        self.ranges.of(node)  # tells what cannot be computed before it is tried
        directions = self.ranges.directions(node)
        low = frozenset((name, LOW * direction) for name, direction in directions.items())
        high = frozenset((name, HIGH * direction) for name, direction in directions.items())
        return self._bound(node, LOW, low), self._bound(node, HIGH, high)

    def clauses(self, node: Node) -> list[LoweredDemand]:
        """The demands that a condition makes: its parts joined by `and`."""
        if isinstance(node, Apply) and node.op == "and":
            return [clause for part in node.args for clause in self.clauses(part)]
        certain, possible = self.truth(node)
        margin = self.margin(node) if isinstance(node, Compare) else None
        return [LoweredDemand(node, certain, possible, margin)]

    def margin(self, node: Compare) -> tuple[Plain, Plain] | None:
        """By how much a comparison holds; None for == and !=."""
        if node.op in ("==", "!="):
            return None
        return self.interval(self.difference(node))

    def difference(self, node: Compare) -> Node:
        """The margin of a comparison as a quantity: at least zero where it holds."""
        return self.differences.of(node)

    def truth(self, node: Node) -> tuple[Plain, Plain]:
        """Whether a condition certainly, and whether it possibly holds."""
        forest = self.forest
        match node:
            case Compare():
                return self._compare(node)
            case Apply(op="not", args=(inner,)):
                certain, possible = self.truth(inner)
                return forest.opposite(possible), forest.opposite(certain)
            case Apply(op="stated", args=(inner,)):
                stated = self.ways.stated(inner)
                return stated, stated
            case Apply(op="measured", args=(inner,)):
                measured = self.ways.measured(inner)
                return measured, measured
            case Apply(op="alike", args=(left, right)):
                alike = self.ways.alike(left, right)
                return alike, alike
            case Apply(op="and" | "or" as op, args=args):
                join = forest.both if op == "and" else forest.either
                found = [self.truth(arg) for arg in args]
                return join(*(c for c, _ in found)), join(*(p for _, p in found))
            case Is(choice=choice, mask=wanted):
                mask = self._mask(choice)
                return forest.make("only", mask, value=wanted), forest.make(
                    "allows", mask, value=wanted
                )
            case Same(left=left, right=right):
                a, b = self._mask(left), self._mask(right)
                equal = forest.both(
                    forest.make("single", a), forest.make("single", b), forest.make("meets", a, b)
                )
                return equal, forest.make("meets", a, b)
            case Among(choice=choice, among=Variable(name=name)):
                mask = self._mask(choice)
                sure, open_ = (forest.make_leaf("var", (name, end)) for end in ("lower", "upper"))
                return forest.make("within", mask, sure), forest.make("meets", mask, open_)
            case Step(inner=inner, type=Truth()):
                return self.truth(inner)
        raise TypeError(f"no condition: {node}")

    def _mask(self, node: Node) -> Plain:
        assert isinstance(node, Variable)
        return self.forest.make_leaf("var", (node.name, "mask"))

    def _compare(self, node: Compare) -> tuple[Plain, Plain]:
        forest = self.forest
        if node.op in ("==", "!="):
            low, high = self.interval(self.difference(node))
            nothing = forest.negate(high)
            certain = forest.both(forest.sign("ge", low, 1), forest.sign("ge", nothing, 1))
            possible = forest.both(
                forest.sign("ge", high, -1), forest.sign("ge", forest.negate(low), -1)
            )
            if node.op == "==":
                return certain, possible
            return forest.opposite(possible), forest.opposite(certain)
        margin = self.margin(node)
        assert margin is not None
        op = "ge" if node.op in (">=", "<=") else "gt"
        return forest.sign(op, margin[0], 1), forest.sign(op, margin[1], -1)

    def _bound(self, node: Node, end: int, pins: Pins) -> Plain:
        key = (id(node), end, pins)
        found = self._memo.get(key)
        if found is None:
            found = self._memo[key] = self._lowered(node, end, pins)
            self._kept.append(node)
        return found

    def _lowered(self, node: Node, end: int, pins: Pins) -> Plain:
        forest = self.forest
        match node:
            case Number(value=value):
                return forest.const(value)
            case Known(interval=interval):
                return forest.const(interval.lower if end == LOW else interval.upper)
            case Variable(name=name):
                which = _END[_pinned(node, end, pins)]
                return forest.make_leaf("var", (name, which), self.ranges.of(node).size)
            case Step(inner=inner, plausible=None):
                return self._bound(inner, end, pins)
            case Step(inner=inner, plausible=plausible):
                raw, whole = self._bound(inner, end, pins), self.ranges.of(inner)
                assert plausible is not None
                if whole.low < plausible.lower:
                    raw = forest.greatest(raw, forest.const(plausible.lower))
                if whole.high > plausible.upper:
                    raw = forest.least(raw, forest.const(plausible.upper))
                return raw
            case Power(base=base, exponent=exponent):
                return self._power(base, exponent, end, pins)
            case Call():
                return self._call(node, end, pins)
            case Apply():
                return self._apply(node, end, pins)
        raise TypeError(f"no quantity: {node}")

    def _apply(self, node: Apply, end: int, pins: Pins) -> Plain:
        forest, args = self.forest, node.args
        match node.op:
            case "+":
                return forest.add(self._bound(args[0], end, pins), self._bound(args[1], end, pins))
            case "-":
                return forest.subtract(
                    self._bound(args[0], end, pins), self._bound(args[1], -end, pins)
                )
            case "neg":
                return forest.negate(self._bound(args[0], -end, pins))
            case "*":
                return self._product(args[0], args[1], end, pins)
            case "/":
                return self._quotient(args[0], args[1], end, pins)
            case "sqrt":
                return forest.root(self._bound(args[0], end, pins), end)
            case "abs":
                return self._absolute(args[0], end, pins)
            case "min":
                return forest.least(*(self._bound(arg, end, pins) for arg in args))
            case "max":
                return forest.greatest(*(self._bound(arg, end, pins) for arg in args))
            case "agree":
                return self._agreed(args[0], args[1], _pinned(node, end, pins))
            case "pick":
                certain, possible = self.truth(args[0])
                yes, no = self._bound(args[1], end, pins), self._bound(args[2], end, pins)
                either = forest.pick(possible, self._outer(end, yes, no), no)
                return forest.pick(certain, yes, either)
        raise TypeError(f"no quantity: {node}")

    def _outer(self, end: int, *args: Plain) -> Plain:
        return self.forest.least(*args) if end == LOW else self.forest.greatest(*args)

    def _product(self, a: Node, b: Node, end: int, pins: Pins) -> Plain:
        signs = self.ranges.of(a).sign, self.ranges.of(b).sign
        # A factor of known sign takes one end of the other; one of unknown sign takes both.
        ends_a = (end * signs[1],) if signs[1] else (LOW, HIGH)
        ends_b = (end * signs[0],) if signs[0] else (LOW, HIGH)
        products = [
            self.forest.multiply(self._bound(a, x, pins), self._bound(b, y, pins))
            for x in ends_a
            for y in ends_b
        ]
        return self._outer(end, *products)

    def _quotient(self, a: Node, b: Node, end: int, pins: Pins) -> Plain:
        divisor, sign_a = self.ranges.of(b), self.ranges.of(a).sign
        least = float(divisor.magnitude().low)
        top = self._bound(a, end * divisor.sign, pins)
        # The magnitude grows as the divisor shrinks towards zero.
        ends_b = (-end * sign_a,) if sign_a else (LOW, HIGH)
        quotients = [self.forest.divide(top, self._bound(b, y, pins), least) for y in ends_b]
        return self._outer(end, *quotients)

    def _power(self, base: Node, exponent: int, end: int, pins: Pins) -> Plain:
        forest, sign = self.forest, self.ranges.of(base).sign
        if exponent % 2 or sign > 0:
            return forest.power(self._bound(base, end, pins), exponent)
        if sign < 0:
            return forest.power(self._bound(base, -end, pins), exponent)
        return forest.power(self._absolute(base, end, pins), exponent)

    def _absolute(self, inner: Node, end: int, pins: Pins) -> Plain:
        forest, sign = self.forest, self.ranges.of(inner).sign
        if sign > 0:
            return self._bound(inner, end, pins)
        if sign < 0:
            return forest.negate(self._bound(inner, -end, pins))
        low, high = self._bound(inner, LOW, pins), self._bound(inner, HIGH, pins)
        if end == HIGH:
            return forest.greatest(high, forest.negate(low))
        return forest.greatest(forest.const(Fraction(0)), low, forest.negate(high))

    def _agreed(self, a: Node, b: Node, end: int) -> Plain:
        """The way to a figure that holds; of two as well known what they share, or both."""
        forest = self.forest
        lows, highs = zip(self.interval(a), self.interval(b), strict=True)
        which = self.which(a, b)
        inner, outer = forest.greatest(*lows), forest.least(*lows)
        first, second = lows
        if end == HIGH:
            inner, outer = forest.least(*highs), forest.greatest(*highs)
            first, second = highs
        unequal = forest.pick(self.ways.is_way(which, FIRST), first, second)
        alike = forest.pick(self.ways.is_way(which, BOTH), outer, inner)
        return forest.pick(self.ways.is_way(which, FIRST, SECOND), unequal, alike)

    def which(self, a: Node, b: Node) -> Plain:
        """Which of two ways to a figure holds, as `ways.py` numbers it."""
        forest = self.forest
        lows, highs = zip(self.interval(a), self.interval(b), strict=True)
        both = forest.subtract(forest.least(*highs), forest.greatest(*lows))
        # Where rounding could matter the wider answer is taken, by the sureness asked for. A figure
        # well inside the other meets it, however narrow it is: what they share may be a point.
        meet = forest.either(
            forest.sign("ge", both, 1),
            self._inside(lows, highs),
            self._inside(lows[::-1], highs[::-1]),
        )
        return self.ways.which(a, b, meet)

    def _inside(self, lows: tuple[Plain, ...], highs: tuple[Plain, ...]) -> Plain:
        """Whether the first of two ranges surely lies within the second."""
        forest = self.forest
        return forest.both(
            forest.sign("ge", forest.subtract(lows[0], lows[1]), 1),
            forest.sign("ge", forest.subtract(highs[1], highs[0]), 1),
        )

    def _call(self, node: Call, end: int, pins: Pins) -> Plain:
        calculation, size = node.calculation, self.ranges.of(node).size
        if calculation.bounds is None:
            wanted = zip(node.args, calculation.arguments, strict=True)
            ends = tuple(
                self._bound(arg, end * argument.direction, pins) for arg, argument in wanted
            )
        else:
            ends = tuple(self._bound(arg, x, pins) for x in (LOW, HIGH) for arg in node.args)
        return self.forest.call(calculation, end, ends, size)
