"""Random figures for the numeric rules, as each engine reads them."""

from __future__ import annotations

import random
from dataclasses import dataclass
from fractions import Fraction

from fitcheck.knowledge import Knowledge
from fitcheck.language import Compiled
from fitcheck.quantity import Interval, read_quantity
from tests.benchmarks.numeric_rules import ATTRIBUTES

Ends = dict[str, float]
# The share of a figure's span that one step of it is. Coarse steps, as typed from a gauge, meet
# limits exactly now and then; fine ones never do.
COARSE, FINE = Fraction(1, 100), Fraction(1, 10_000_019)


@dataclass(frozen=True)
class RandomBuild:
    """The exact interval of every attribute."""

    intervals: dict[str, Interval]

    def ends(self) -> Ends:
        """Both ends of every figure as floats, by short name, in the order of the attributes."""
        found: Ends = {}
        for name, short, _ in ATTRIBUTES:
            interval = self.intervals[name]
            found[f"{short}_lo"] = float(interval.lower)
            found[f"{short}_hi"] = float(interval.upper)
        return found

    def values(self, compiled: Compiled) -> list[float]:
        """The floats that a compiled function reads, in its order."""
        return [float(end) for end in self.exact_values(compiled)]

    def exact_values(self, compiled: Compiled) -> list[Fraction]:
        """The same as fractions."""
        return [getattr(self.intervals[name], which) for name, which in compiled.inputs]


def random_build(chance: random.Random, knowledge: Knowledge, step: Fraction) -> RandomBuild:
    """Figures around the limits: some exact, most toleranced, one in thirty not measured."""
    intervals = {}
    for name, _, around in ATTRIBUTES:
        attribute = knowledge.attributes[name]
        assert attribute.kind is not None and attribute.plausible is not None
        span = read_quantity(around, attribute.kind).interval
        middle = span.lower + chance.randint(0, int(1 / step)) * step * span.width
        half = chance.choice([0, 1, 1, 5, 20]) * span.width / 400
        given = Interval(middle - half, middle + half)
        intervals[name] = attribute.plausible if chance.random() < 1 / 30 else given
    return RandomBuild(intervals)
