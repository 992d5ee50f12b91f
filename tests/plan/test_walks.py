"""Interval arithmetic by hand: what both walks make of one operation over simple ranges.

The hulls are those of any textbook (R. E. Moore, Interval Analysis, 1966): an even power is least at
zero where its base spans it, and a divisor that spans zero leaves nothing said.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from fitcheck.language.plain import Forest
from fitcheck.language.spans import SpanWalk
from fitcheck.plan.reach import RangeWalk, Reach

FOREST = Forest()
A, B = (FOREST.make_leaf("var", (name, "lower"), 10.0) for name in "ab")
TREES = {
    "a + b": FOREST.add(A, B),
    "a - b": FOREST.subtract(A, B),
    "a * b": FOREST.multiply(A, B),
    "a / b": FOREST.divide(A, B, 1.0),
    "a ** 2": FOREST.power(A, 2),
    "a ** 3": FOREST.power(A, 3),
    "a ** 4": FOREST.power(A, 4),
    "-a": FOREST.negate(A),
    "min(a, b)": FOREST.least(A, B),
    "max(a, b)": FOREST.greatest(A, B),
    "max(a, 1)": FOREST.greatest(A, FOREST.const(Fraction(1))),
}
CASES = [
    ("a + b", (-1, 2), (3, 5), (2, 7)),
    ("a - b", (-1, 2), (3, 5), (-6, -1)),
    ("a * b", (-1, 2), (3, 5), (-5, 10)),
    ("a * b", (-2, 3), (-5, 4), (-15, 12)),
    ("a / b", (-1, 2), (4, 8), (-0.25, 0.5)),
    ("a / b", (1, 2), (-8, -4), (-0.5, -0.125)),
    ("a ** 2", (-3, 2), (0, 0), (0, 9)),
    ("a ** 2", (-3, -2), (0, 0), (4, 9)),
    ("a ** 2", (2, 3), (0, 0), (4, 9)),
    ("a ** 3", (-3, 2), (0, 0), (-27, 8)),
    ("a ** 4", (-1, 2), (0, 0), (0, 16)),
    ("-a", (-1, 2), (0, 0), (-2, 1)),
    ("min(a, b)", (-1, 6), (3, 5), (-1, 5)),
    ("max(a, b)", (-1, 4), (3, 5), (3, 5)),
    ("max(a, 1)", (-1, 4), (0, 0), (1, 4)),
]


def by_walk(tree, a, b):
    """By the walk that plans take, as it is walked first and as it is once compiled."""
    walk = RangeWalk([tree])
    facts = {"a": Reach(a, a), "b": Reach(b, b)}
    told = {tuple(walk.over(facts)[0]) for _ in range(60)}
    assert walk._compiled is not None
    (found,) = told
    return found


def by_arrays(tree, a, b):
    """By the walk over arrays, as sets of parts take it."""
    spans = {
        (name, "lower"): tuple(np.array([float(x)]) for x in one)
        for name, one in (("a", a), ("b", b))
    }
    ((low, high),) = SpanWalk([tree]).over(spans)
    return float(low[0]), float(high[0])


WALKS = pytest.mark.parametrize("walk", [by_walk, by_arrays])


@WALKS
@pytest.mark.parametrize(("text", "a", "b", "hull"), CASES)
def test_one_operation_over_ranges(walk, text, a, b, hull):
    assert walk(TREES[text], a, b) == hull


@WALKS
@pytest.mark.parametrize("b", [(-1, 2), (0, 2), (-2, 0)])
def test_over_zero_nothing_is_said_of_a_quotient(walk, b):
    low, high = walk(TREES["a / b"], (1, 2), b)
    assert low < -1e30 and high > 1e30
