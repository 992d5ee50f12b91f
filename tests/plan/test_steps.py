"""The values at which a figure is tried, counted by hand: what a scale shows, and the two ends."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fitcheck.model import Attribute
from fitcheck.plan.steps import step_of, steps_of
from fitcheck.quantity import KINDS, Interval
from fitcheck.quantity.units import find_unit

# A name of a unit, from where to where, in which system: the first values, how many, the last.
CASES = [
    ("length", "in", "0.100", "0.300", "inch", ["0.100", "0.101"], 201, "0.300"),
    ("length", "in", "0.1005", "0.2505", "inch", ["0.1005", "0.101", "0.102"], 152, "0.2505"),
    ("length", "in", "0.100", "0.200", "inch", ["0.100", "0.101"], 101, "0.200"),
    # Fewer than a hundred steps are made ten times finer, and again where that is not enough.
    ("length", "in", "0.100", "0.199", "inch", ["0.100", "0.1001"], 991, "0.199"),
    ("length", "in", "0.100", "0.105", "inch", ["0.100", "0.10001"], 501, "0.105"),
    ("length", "mm", "1", "2", "metric", ["1", "1.01"], 101, "2"),
    ("count", "", "1", "4", "inch", ["1", "2"], 4, "4"),
    # A temperature has its own zero: whole degrees of the scale it is shown in.
    ("temperature", "degF", "32.5", "212", "inch", ["32.5", "33", "34"], 181, "212"),
    ("temperature", "degC", "0", "100", "metric", ["0", "1"], 101, "100"),
]


@pytest.mark.parametrize(("kind", "unit", "low", "high", "system", "first", "count", "last"), CASES)
def test_steps_are_what_a_scale_shows(kind, unit, low, high, system, first, count, last):
    scale = find_unit(unit, KINDS[kind])

    def value(text):
        return (Fraction(text) + scale.offset) * scale.factor

    attribute = Attribute(
        "x.y", "a figure", "valve", kind=KINDS[kind], plausible=Interval(value(low), value(high))
    )
    values = steps_of(attribute, system)
    assert values[: len(first)] == [value(text) for text in first]
    assert (len(values), values[-1]) == (count, value(last))
    assert step_of(attribute, system) == values[2] - values[1]


def test_options_are_masks():
    options = ("straight", "conical", "beehive")
    assert steps_of(Attribute("x.y", "a shape", "valve", options=options), "inch") == [1, 2, 4]
