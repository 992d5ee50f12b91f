"""Ten thousand random trees and more: what holds at points must lie within what is said of boxes.

The values at points come from `trees`, which shares nothing with what is tested. One miss would
mean that parts may be called fitting that do not fit.
"""

import os
from collections import Counter
from fractions import Fraction
from random import Random

import pytest

from fitcheck.language import (
    CONFLICT,
    FITS,
    NEAR,
    SILENT,
    STRADDLES,
    TRUE,
    Condition,
    ExpressionError,
    Lowering,
    Variable,
    compile_intervals,
    compile_verdicts,
    walk,
)
from fitcheck.language.tree import Apply, Call
from fitcheck.model.evidence import SUPPOSED, UNTOLD, Evidence
from fitcheck.quantity import Interval
from tests.language.trees import (
    AREA,
    CALLED,
    FORCE,
    LENGTH,
    NUMBER,
    Grower,
    box,
    is_exact,
    point,
    shown,
    value,
)
from tests.plan.long import LONG

# A third of the conditions in every run, all where CI asks.
QUANTITIES, CONDITIONS = (
    5000,
    2500 if "FITCHECK_PLANS" in os.environ else 800,
)  # a condition compares two or more trees
TOGETHER = 50  # trees that are lowered and compiled as one, as the rules of a level are
BOXES, POINTS = 2, 2  # boxes for each tree, points in each box
DEPTH = 3


class Sheaf:
    """Trees over the same variables, lowered into one forest."""

    def __init__(self, seed):
        self.grower, self.lowering = Grower(seed), Lowering()
        self.random = self.grower.random
        self._points = Random(seed)

    def grown(self, make, lower):
        """A tree that loads (its divisors and roots cannot leave their range), and its bounds."""
        while True:
            node = make()
            try:
                return node, lower(node)
            except ExpressionError:
                continue

    def quantity(self):
        dimension = self.random.choice([LENGTH, NUMBER, FORCE, AREA])
        return self.grown(lambda: self.grower.quantity(dimension, DEPTH), self.lowering.interval)

    def rule(self):
        """What a rule requires, when it applies (None: always), and both of them lowered."""
        requires, clauses = self.grown(lambda: self.grower.condition(DEPTH), self.lowering.clauses)
        if self.random.random() < 0.7:
            return requires, None, Condition((TRUE, TRUE), tuple(clauses))
        applies, truth = self.grown(lambda: self.grower.condition(1), self.lowering.truth)
        return requires, applies, Condition(truth, tuple(clauses))

    def box(self, *, points=False):
        return box(self._points, self.grower.variables, points=points)

    def points(self, ends, count=POINTS):
        return [point(self._points, ends, self.grower.variables) for _ in range(count)]


def inputs(compiled, ends):
    """What a compiled function wants of a box: ends in fractions, masks, and some evidence."""
    return [
        _rank(name, ends)
        if which == "rank"
        else ends[name]
        if which == "mask"
        else ends[name][which == "upper"]
        for name, which in compiled.inputs
    ]


def _rank(name, ends):
    """How well a variable is known in a box: any evidence will do, as both ways hold the point."""
    drawn = Random(f"{name} {ends[name]}").choice([*Evidence, SUPPOSED, UNTOLD])
    return Fraction(int(drawn))


def in_floats(values):
    return [float(end) if isinstance(end, Fraction) else end for end in values]


@LONG
def test_quantities_lie_within_their_bounds():
    checked = 0
    for seed in range(QUANTITIES // TOGETHER):
        sheaf = Sheaf(seed)
        grown = [sheaf.quantity() for _ in range(TOGETHER)]
        compiled = compile_intervals([bounds for _, bounds in grown])
        for _ in range(BOXES):
            ends = sheaf.box()
            bounds = compiled.function(inputs(compiled, ends))
            for values in sheaf.points(ends):
                for i, (node, _) in enumerate(grown):
                    assert bounds[2 * i] <= value(node, values) <= bounds[2 * i + 1], shown(node)
                    checked += 1
    assert checked == QUANTITIES * BOXES * POINTS


@pytest.mark.in_ci
def test_verdicts_hold_at_every_point_and_the_fast_ones_are_the_exact_ones():
    exact, fast = Counter(), Counter()
    for seed in range(CONDITIONS // TOGETHER):
        sheaf = Sheaf(seed)
        rules = [sheaf.rule() for _ in range(TOGETHER)]
        conditions = [condition for *_, condition in rules]
        quick, sure = compile_verdicts(conditions), compile_verdicts(conditions, "exact")
        for _ in range(BOXES):
            ends = sheaf.box()
            quickly = quick.function(in_floats(inputs(quick, ends)))
            surely = sure.function(inputs(sure, ends))
            exact.update(surely)
            fast.update(quickly)
            points = sheaf.points(ends)
            for (requires, applies, _), code, soon in zip(rules, surely, quickly, strict=True):
                assert soon in (code, NEAR), shown(requires)
                for values in points:
                    assert agrees(code, requires, applies, values), shown(requires)
    assert set(exact) == {FITS, CONFLICT, STRADDLES, SILENT}
    assert set(fast) == {FITS, CONFLICT, STRADDLES, SILENT, NEAR}
    # each of them was put to the proof, and most are told without the exact way
    assert min(exact.values()) > CONDITIONS * BOXES / 50
    assert fast[NEAR] < CONDITIONS * BOXES / 8


def agrees(code, requires, applies, values):
    """Whether a verdict is true of one point of its box."""
    if code == FITS:
        return value(requires, values)
    if code == CONFLICT:
        return not value(requires, values) and (applies is None or value(applies, values))
    return code == STRADDLES or not value(applies, values)


def test_of_figures_known_exactly_bounds_are_the_value_and_nothing_is_undecided():
    compared = 0
    for seed in range(12):
        sheaf = Sheaf(seed)
        grown = [
            found for found in (sheaf.quantity() for _ in range(TOGETHER)) if is_exact(found[0])
        ]
        rules = [
            rule
            for rule in (sheaf.rule() for _ in range(TOGETHER))
            if is_exact(rule[0]) and (rule[1] is None or is_exact(rule[1]))
        ]
        intervals = compile_intervals([bounds for _, bounds in grown])
        verdicts = compile_verdicts([condition for *_, condition in rules], "exact")
        for _ in range(5):
            ends = sheaf.box(points=True)
            (values,) = sheaf.points(ends, 1)
            bounds = intervals.function(inputs(intervals, ends))
            for i, (node, _) in enumerate(grown):
                assert bounds[2 * i] == bounds[2 * i + 1] == value(node, values), shown(node)
            codes = verdicts.function(inputs(verdicts, ends))
            for (requires, applies, _), code in zip(rules, codes, strict=True):
                wanted = FITS if value(requires, values) else CONFLICT
                if applies is not None and not value(applies, values):
                    wanted = SILENT
                assert code == wanted, shown(requires)
            compared += len(grown) + len(rules)
    assert compared > 2400


def test_floats_are_off_by_no_more_than_is_said():
    off = 0
    for seed in range(20):
        sheaf = Sheaf(seed)
        # a choice made otherwise is no rounding; that is for the verdicts to see
        ends_of = [
            end
            for node, bounds in (sheaf.quantity() for _ in range(TOGETHER))
            if all(getattr(part, "op", "") not in ("pick", "agree") for part in walk(node))
            for end in bounds
        ]
        pairs = list(zip(ends_of[::2], ends_of[1::2], strict=True))
        quick, sure = compile_intervals(pairs, "fast"), compile_intervals(pairs)
        for _ in range(5):
            ends = sheaf.box()
            found = zip(
                quick.function(in_floats(inputs(quick, ends))),
                sure.function(inputs(sure, ends)),
                ends_of,
                strict=True,
            )
            for near, exact, bound in found:
                assert abs(Fraction(near) - exact) <= bound.error
                assert abs(exact) <= bound.size * (1 + 1e-9)
                off += near != exact
    assert off > 1000


def test_a_calculation_may_be_off_by_what_its_figures_are_off():
    off = 0
    for seed, called in enumerate(CALLED):
        grower, lowering, random = Grower(seed), Lowering(), Random(seed)
        args = []
        for argument in called.arguments:
            low, high = argument.base_range
            # sums of three, so that floats come to another figure than fractions do
            names = [f"{argument.name}.{i}" for i in range(3)]
            parts = [
                grower.variables.setdefault(
                    name,
                    Variable(argument.dimension, (0, 1), name, None, Interval(low / 3, high / 3)),
                )
                for name in names
            ]
            first = Apply(argument.dimension, (0, 1), "+", (parts[0], parts[1]))
            args.append(Apply(argument.dimension, (0, 1), "+", (first, parts[2])))
        pair = lowering.interval(Call(called.dimension, (0, 1), called, tuple(args)))
        quick, sure = compile_intervals([pair], "fast"), compile_intervals([pair])
        for _ in range(100):
            ends = box(random, grower.variables)
            near = quick.function(in_floats(inputs(quick, ends)))
            exact = sure.function(inputs(sure, ends))
            for i, bound in enumerate(pair):
                assert abs(Fraction(near[i]) - exact[i]) <= bound.error, called.name
                off += near[i] != exact[i]
    assert off > 100
