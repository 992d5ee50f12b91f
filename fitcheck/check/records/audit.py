"""Holds what was claimed or ordered against what was measured, figure by figure.

A reading stands for all values within half of the instrument's resolution, a claim for all within
the tolerance that its seller states or that is usual for such a figure. What is measured is
outside only when the two have no value in common.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum

from fitcheck.check.records.history import strongest
from fitcheck.model import Attribute, EngineBuild, Evidence, Part, Position, Statement
from fitcheck.quantity import Interval, Quantity
from fitcheck.source import frozen


class ClaimOutcome(Enum):
    """How a claimed or ordered figure stands against its measurement."""

    OUTSIDE = "outside"
    OPEN = "cannot be told"
    WITHIN = "within"
    UNMEASURED = "not measured"


@frozen
class Audited:
    """A claimed or ordered figure at the places where the same was said and measured.

    `off` is by how much the measurement is outside, at least and at most: below zero where it is
    too small, above where too large; None where it is not outside, or no quantity.
    """

    part: Part
    said: Statement
    measured: Statement | None
    positions: tuple[Position, ...]
    outcome: ClaimOutcome
    off: Interval | None = None

    @property
    def attribute(self) -> Attribute:
        """What it is about."""
        return self.said.attribute


def audit(build: EngineBuild, slots: tuple[str, ...] = ()) -> list[Audited]:
    """Each claimed figure, then each ordered one, against its measurement; the worst first."""
    wanted = [
        parts
        for slot, parts in build.parts.items()
        if not slots or slot in slots or parts[0].holder in slots
    ]
    found = [
        audited
        for evidence in (Evidence.CLAIMED, Evidence.PREDICTED)
        for parts in wanted
        for audited in _of_slot(parts, evidence, build)
    ]
    order = list(ClaimOutcome)
    return sorted(found, key=lambda one: order.index(one.outcome))


def _of_slot(parts: tuple[Part, ...], evidence: Evidence, build: EngineBuild) -> Iterator[Audited]:
    said = [
        (statement, part)
        for part in parts
        for statement in part.statements
        if statement.evidence is evidence
    ]
    measured = [
        statement
        for part in parts
        for statement in part.statements
        if statement.evidence is Evidence.MEASURED
    ]
    attributes = {statement.attribute.name: statement.attribute for statement, _ in said}
    for attribute in attributes.values():
        own = [statement for statement, _ in said if statement.attribute is attribute]
        readings = [statement for statement in measured if statement.attribute is attribute]
        groups: dict[tuple[int, int], list[Position]] = {}
        pairs: dict[tuple[int, int], tuple[Statement, Statement | None]] = {}
        for position in build.layout.positions(attribute.each):
            claim = strongest(own, position)
            if claim is None:
                continue
            reading = strongest([one for one in readings if _counts(one, claim)], position)
            key = id(claim), id(reading)
            groups.setdefault(key, []).append(position)
            pairs[key] = claim, reading
        for key, positions in groups.items():
            claim, reading = pairs[key]
            part = next(part for statement, part in said if statement is claim)
            yield _audited(part, claim, reading, tuple(positions))


def _counts(reading: Statement, said: Statement) -> bool:
    """Whether a reading tells of what was said: work ordered later than it makes it void."""
    if said.evidence is Evidence.CLAIMED:
        return True
    before, ordered = reading.origin.when, said.origin.when
    return before is None or ordered is None or before >= ordered


def _audited(
    part: Part, said: Statement, measured: Statement | None, positions: tuple[Position, ...]
) -> Audited:
    outcome, off = (ClaimOutcome.UNMEASURED, None) if measured is None else compared(said, measured)
    return Audited(part, said, measured, positions, outcome, off)


def compared(said: Statement, measured: Statement) -> tuple[ClaimOutcome, Interval | None]:
    """How a measurement stands to what was said, and by how much it is outside."""
    claim, reading = said.value, measured.value
    if not isinstance(claim, Quantity) or not isinstance(reading, Quantity):
        if isinstance(claim, int) and isinstance(reading, int):
            # Of a set everything claimed is there; of a choice the reading is one of those claimed.
            same = not (claim & ~reading if said.attribute.several else reading & ~claim)
        else:
            same = claim == reading
        return ClaimOutcome.WITHIN if same else ClaimOutcome.OUTSIDE, None
    allowed, found = claim.interval, reading.interval
    if found.within(allowed):
        return ClaimOutcome.WITHIN, None
    if found.meets(allowed):
        return ClaimOutcome.OPEN, None
    if found.lower > allowed.upper:
        return ClaimOutcome.OUTSIDE, Interval(
            found.lower - allowed.upper, found.upper - allowed.upper
        )
    return ClaimOutcome.OUTSIDE, Interval(found.lower - allowed.lower, found.upper - allowed.lower)
