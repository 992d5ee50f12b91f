"""What measuring an attribute can find: how narrow it leaves it, and which readings there can be.

A measurement leaves what its procedure can tell apart. A figure from paper stays as wide as a
seller's figure of its class. What is known as well as that already is not worth measuring again.
"""

from __future__ import annotations

from fractions import Fraction
from random import Random

from fitcheck.knowledge import Knowledge
from fitcheck.model import Attribute, Evidence, Fact
from fitcheck.quantity import EXACT, Interval, Tolerance
from fitcheck.source import frozen

_FOUND = "as found"
_FROM_LISTING = ("present", "comes_with_head")
# Not worth measuring again for less than that.
_CLEARLY = 1.01


@frozen
class Outcomes:
    """The readings that a measurement of one fact can give.

    `spread` is the half-width that it leaves around a reading, or its share; for a choice or a
    set of options `choices` lists the masks that can be found.
    """

    fact: Fact
    spread: float
    relative: bool = False
    choices: tuple[int, ...] = ()

    @property
    def attribute(self) -> Attribute:
        """What is measured."""
        return self.fact.attribute

    def at(self, share: float, coarseness: float = 0.0) -> Fact:
        """The fact after a reading this share of the way through what is possible now.

        `coarseness` is the part of what is possible that the reading leaves, where that is more
        than the procedure does.
        """
        if self.choices:
            mask = self.choices[min(int(share * len(self.choices)), len(self.choices) - 1)]
            return Fact(self.attribute, Evidence.MEASURED, True, mask=mask, sure=mask, text=_FOUND)
        now, low, high = self.fact.interval, self.fact.low, self.fact.high
        assert now is not None
        reading = low + share * (high - low)
        if self.attribute.kind is not None and self.attribute.kind.name == "count":
            return self._found(Interval.point(round(reading)))
        half = max(self._around(reading), coarseness * (high - low) / 2)
        # A reading near an end lies as far inside as it is sure, so that its range stays whole.
        reading = min(max(reading, low + half), high - half)
        return self._found(Interval(_inside(reading - half, now), _inside(reading + half, now)))

    def some(self, random: Random) -> Fact:
        """A reading drawn at random, the outermost ones often."""
        return self.at(random.choice((0.0, 1.0, random.random(), random.random())))

    def narrowest(self) -> float:
        """The width that the measurement leaves at the middle of what is possible."""
        return 2 * self._around((self.fact.low + self.fact.high) / 2)

    def _around(self, reading: float) -> float:
        return self.spread * abs(reading) if self.relative else self.spread

    def _found(self, interval: Interval) -> Fact:
        return Fact.quantity(self.attribute, Evidence.MEASURED, interval, text=_FOUND)


def _inside(value: float, interval: Interval) -> Fraction:
    return min(max(Fraction(value), interval.lower), interval.upper)


def outcomes_of(fact: Fact, knowledge: Knowledge) -> Outcomes | None:
    """What measuring the attribute again can find; None where that narrows nothing."""
    attribute = fact.attribute
    name = attribute.name.partition(".")[2]
    if not fact.open or not name or name in _FROM_LISTING:
        return None
    if attribute.kind is None:
        return Outcomes(fact, 0.0, choices=_found_masks(fact))
    resolution = resolution_of(attribute, knowledge)
    if resolution is None and fact.given:
        return None
    spread = Tolerance(resolution / 2) if resolution is not None else attribute.claim or EXACT
    if attribute.kind.name == "count":
        spread = EXACT
    outcomes = Outcomes(fact, float(spread.amount), spread.relative)
    return outcomes if outcomes.narrowest() * _CLEARLY < fact.high - fact.low else None


def resolution_of(attribute: Attribute, knowledge: Knowledge) -> Fraction | None:
    """What the attribute's procedure can tell apart; None where no scale is read."""
    procedure = knowledge.procedures.get(attribute.measure)
    resolution = procedure.resolution if procedure else None
    if (
        resolution is None
        or attribute.kind is None
        or resolution.kind.dimension != attribute.kind.dimension
    ):
        return None
    return resolution.interval.middle


def _found_masks(fact: Fact) -> tuple[int, ...]:
    bits = [1 << i for i in range(len(fact.attribute.options)) if fact.mask >> i & 1]
    if not fact.attribute.several:
        return tuple(bits)
    optional = [bit for bit in bits if not fact.sure & bit]
    return tuple(dict.fromkeys((fact.mask, fact.sure, *(fact.sure | bit for bit in optional))))
