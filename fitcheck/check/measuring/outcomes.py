"""What learning a figure can find: how narrow it leaves it, and which readings there can be.

A measurement leaves what its procedure can tell apart. A figure from paper stays as wide as a
seller's figure of its class. What is known as well as that already is not worth asking for again.
"""

from __future__ import annotations

from fractions import Fraction

from fitcheck.knowledge import Knowledge
from fitcheck.model import Attribute, Evidence, Fact
from fitcheck.quantity import EXACT, Interval, Tolerance
from fitcheck.source import frozen

_FOUND = "as found"
# Told by listing a part beneath its head; whether one is fitted at all can be asked.
_FROM_LISTING = "comes_with_head"
# Not worth measuring again for less than that.
_CLEARLY = 1.01


@frozen(eq=False)
class Reading:
    """A figure as it may be found: its ends as floats, or its options as masks.

    It answers like the `Fact` that it would become, which is made only where exact arithmetic
    asks for it: readings are tried by the thousand.
    """

    of: Fact
    evidence: Evidence
    low: float
    high: float
    given: bool = True

    def end(self, which: str) -> float | int:
        """An end as a float, or a mask."""
        if which == "rank":
            return float(self.evidence)
        return self.low if which == "lower" else self.high

    def fact(self) -> Fact:
        """The fact once it is read so."""
        attribute, now = self.of.attribute, self.of.interval
        if now is None:
            sure, mask = int(self.low), int(self.high)
            return Fact(attribute, self.evidence, True, mask=mask, sure=sure, text=_FOUND)
        # Ends that were rounded to floats can lie a last digit outside.
        ends = [min(max(Fraction(end), now.lower), now.upper) for end in (self.low, self.high)]
        return Fact.quantity(attribute, self.evidence, Interval(*ends), text=_FOUND)


@frozen
class Outcomes:
    """The readings that learning one fact can give.

    `spread` is the half-width that it leaves around a reading, or its share; for a choice or a
    set of options `choices` lists the masks that can be found. `usual` is the fact if the rest is
    as usual: where readings are to be looked for first.
    """

    fact: Fact
    usual: Fact
    spread: float
    relative: bool = False
    choices: tuple[int, ...] = ()
    evidence: Evidence = Evidence.MEASURED

    @property
    def attribute(self) -> Attribute:
        """What is asked for."""
        return self.fact.attribute

    def at(self, share: float) -> Reading:
        """A reading this share of the way through all that is possible now."""
        if self.choices:
            return self._mask(self.choices, share)
        low, high = self.fact.low, self.fact.high
        return self._around(low + share * (high - low), 0.0)

    def usually(self, share: float, coarseness: float = 0.0) -> Reading:
        """A reading this share of the way through what is usual.

        `coarseness` is the part of all that is possible that the reading leaves, where that is
        more than the procedure does.
        """
        if self.choices:
            usual = self.usual.mask
            return self._mask([mask for mask in self.choices if not mask & ~usual], share)
        low, high = self.usual.low, self.usual.high
        half = coarseness * (self.fact.high - self.fact.low) / 2
        return self._around(low + share * (high - low), half)

    def narrowest(self) -> float:
        """The width that is left at the middle of what is possible."""
        return 2 * self._half((self.fact.low + self.fact.high) / 2)

    def _half(self, reading: float) -> float:
        return self.spread * abs(reading) if self.relative else self.spread

    def _mask(self, choices: tuple[int, ...] | list[int], share: float) -> Reading:
        some = choices or self.choices
        mask = some[min(int(share * len(some)), len(some) - 1)]
        return Reading(self.fact, self.evidence, mask, mask)

    def _around(self, reading: float, half: float) -> Reading:
        if self.attribute.kind is not None and self.attribute.kind.name == "count":
            whole = float(round(reading))
            return Reading(self.fact, self.evidence, whole, whole)
        low, high = self.fact.low, self.fact.high
        # A reading near an end lies as far inside as it is sure, so that its range stays whole.
        half = min(max(half, self._half(reading)), (high - low) / 2)
        reading = min(max(reading, low + half), high - half)
        ends = max(low, reading - half), min(high, reading + half)
        return Reading(self.fact, self.evidence, *ends)


def outcomes_of(fact: Fact, knowledge: Knowledge, usual: Fact | None = None) -> Outcomes | None:
    """What learning the attribute can find; None where that narrows nothing."""
    attribute = fact.attribute
    name = attribute.short_name
    if not fact.open or not name or name == _FROM_LISTING:
        return None
    usual = usual or fact
    if attribute.kind is None:
        return Outcomes(fact, usual, 0.0, choices=_found_masks(fact))
    resolution = knowledge.resolution_of(attribute)
    if resolution is None and fact.given:
        return None
    evidence = Evidence.MEASURED if resolution is not None else Evidence.CLAIMED
    # A spread is the difference of two readings.
    half = resolution if attribute.spread_of else resolution and resolution / 2
    spread = Tolerance(half) if half is not None else attribute.claim or EXACT
    if attribute.kind.name == "count":
        spread, evidence = EXACT, Evidence.MEASURED
    outcomes = Outcomes(fact, usual, float(spread.amount), spread.relative, evidence=evidence)
    return outcomes if outcomes.narrowest() * _CLEARLY < fact.high - fact.low else None


def _found_masks(fact: Fact) -> tuple[int, ...]:
    bits = [1 << i for i in range(len(fact.attribute.options)) if fact.mask >> i & 1]
    if not fact.attribute.several:
        return tuple(bits)
    optional = [bit for bit in bits if not fact.sure & bit]
    return tuple(dict.fromkeys((fact.mask, fact.sure, *(fact.sure | bit for bit in optional))))
