"""How finely to measure: the coarsest reading that still settles nearly all that a fine one would.

Found by asking the rule itself: readings are drawn over what is usual, the same ones for each
fineness, and the answers are counted: a reading must be fine enough to tell that parts fit, not
only that gross misfits don't. Where hardly any readings fit in all that the figure decides, nothing
is said.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING

from fitcheck.check.measuring.settling import SettlingReadings
from fitcheck.check.measuring.trial import Trial
from fitcheck.language import FITS
from fitcheck.quantity.units import find_unit

if TYPE_CHECKING:
    from fitcheck.quantity import Kind

DRAWS, FEW = 40, 5
NEARLY_ALL = 0.9
_EVENLY = [(i + 0.5) / DRAWS for i in range(DRAWS)]
Shares = dict[str, float]
_LADDER = tuple(Fraction(n, 10**power) for power in range(1, 7) for n in (5, 2, 1))


def finely(ways: Sequence[SettlingReadings], name: str) -> Fraction | None:
    """The width that readings of a figure that these ways share may leave; None: can't be said."""
    if not ways:
        return None
    fact, random = ways[0].finding.facts[name], Random(name)
    attribute, whole = fact.attribute, fact.interval
    kind, read = attribute.kind, ways[0].finding.knowledge.resolution_of(attribute)
    if kind is None or kind.name == "count" or whole is None or read is None:
        return None
    finest = Fraction(ways[0].inputs[name].narrowest())
    names = dict.fromkeys(name for way in ways for name in way.inputs)
    places = {n: random.sample(_EVENLY, DRAWS) for n in names}
    drawn = [{n: places[n][i] for n in names} for i in range(DRAWS)]
    asked = [_CoarseTrial(way) for way in ways]
    told = [tuple(one.answer(draw, 0.0) for one in asked) for draw in drawn]
    if sum(set(answers) == {FITS} for answers in told) < FEW:
        return None

    def enough(share: Fraction) -> bool:
        return all(
            one.holds(drawn, answers, float(share))
            for one, answers in zip(asked, zip(*told, strict=True), strict=True)
        )

    steps = [share for share in _LADDER if share * whole.width > finest]
    first = bisect_left(steps, True, key=enough)
    if first == len(steps):
        return finest or None
    return max(finest, round_down(steps[first] * whole.width, kind))


class _CoarseTrial:
    """A way's rule, asked with readings of more or less fineness."""

    def __init__(self, way: SettlingReadings) -> None:
        self.inputs = way.inputs
        self.trial = Trial(way.finding.rule, way.finding.facts, way.finding.knowledge)

    def answer(self, draw: Shares, coarseness: float) -> int | None:
        """What the readings at these places tell."""
        read = {name: one.usually(draw[name], coarseness) for name, one in self.inputs.items()}
        return self.trial.answer(read)

    def holds(self, drawn: list[Shares], told: tuple[int | None, ...], coarseness: float) -> bool:
        """Whether nearly all of each answer is told by readings so coarse."""
        for answer in {one for one in told if one is not None}:
            draws = [draw for draw, one in zip(drawn, told, strict=True) if one == answer]
            kept = sum(self.answer(draw, coarseness) == answer for draw in draws)
            if len(draws) >= FEW and kept < NEARLY_ALL * len(draws):
                return False
        return True


def round_down(width: Fraction, kind: Kind) -> Fraction:
    """The width as 1, 2 or 5 of a decimal place of the kind's inch unit."""
    unit = find_unit(kind.inch[0], kind)
    assert unit is not None
    number = width / unit.factor
    place = Fraction(1)
    while place > number:
        place /= 10
    while place * 10 <= number:
        place *= 10
    return max(place * n for n in (1, 2, 5) if place * n <= number) * unit.factor
