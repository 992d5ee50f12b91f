"""The values an attribute is tried at: its options, or the steps in which it is shown."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor

from fitcheck.model import Attribute
from fitcheck.quantity import System
from fitcheck.quantity.units import find_unit

FEWEST = 100


def step_of(attribute: Attribute, system: System) -> Fraction:
    """One in the last digit shown; finer where that would leave too few steps."""
    kind, plausible = attribute.kind, attribute.plausible
    assert kind is not None and plausible is not None
    name, decimals = kind.inch if system == "inch" else kind.metric
    unit = find_unit(name, kind)
    assert unit is not None
    step = unit.factor / Fraction(10) ** decimals
    while kind.name != "count" and plausible.width < FEWEST * step:
        step /= 10
    return step


def steps_of(attribute: Attribute, system: System) -> list[Fraction]:
    """All values, in order: whole steps within what is plausible, and its two ends.

    Options are given as masks.
    """
    if attribute.kind is None:
        return [Fraction(1 << i) for i in range(len(attribute.options))]
    plausible = attribute.plausible
    assert plausible is not None
    step = step_of(attribute, system)
    name, _ = attribute.kind.inch if system == "inch" else attribute.kind.metric
    unit = find_unit(name, attribute.kind)
    assert unit is not None
    zero = unit.offset * unit.factor  # steps count from the unit's own zero
    first, last = ceil((plausible.lower - zero) / step), floor((plausible.upper - zero) / step)
    inner = [zero + number * step for number in range(first, last + 1)]
    return sorted({plausible.lower, *inner, plausible.upper})
