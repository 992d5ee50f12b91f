"""Figures that nobody measured where they are, and that measurements beside them disprove.

Two chambers of a head measure 3 cc less than the paper says: the other two of that head are hardly
as it says. A plan takes them for what stands beside them, and says so before anything is paid for.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from fitcheck.check import BuildCheck
from fitcheck.check.checking import recheck
from fitcheck.model import Attribute, Evidence, Fact, Origin, Position, Selector, Statement
from fitcheck.quantity import Interval, Quantity

# One reading alone may be the one that is off.
_ENOUGH = 2


@dataclass(frozen=True, slots=True)
class OnPaper:
    """What is only said of some places, and what was measured at others of the same bank.

    `taken` is what it is taken for: as far again to either side as the readings lie apart.
    """

    attribute: Attribute
    positions: tuple[Position, ...]
    said: Fact
    measured: Interval

    @property
    def taken(self) -> Interval:
        """What it is taken for, within what is plausible."""
        read, plausible = self.measured, self.attribute.plausible
        assert plausible is not None
        return Interval(read.lower - read.width, read.upper + read.width).clipped(plausible)


def as_beside(check: BuildCheck) -> tuple[BuildCheck, tuple[OnPaper, ...]]:
    """A check with what its neighbours disprove taken for what they are, and what that is."""
    found = tuple(on_paper(check))
    if not found:
        return check, ()
    said = [
        Statement(
            one.attribute,
            Selector(at.bank, at.cylinder, at.side),
            Evidence.ASSUMED,
            Quantity(one.attribute.kind, one.taken, "as measured beside it"),
            Origin(by="what was measured beside it"),
        )
        for one in found
        if one.attribute.kind is not None
        for at in one.positions
    ]
    changed = {one.attribute.name for one in found}
    return recheck(check, check.build.supposing(said), changed), found


def on_paper(check: BuildCheck) -> Iterator[OnPaper]:
    """The figures of cylinders or valves that their neighbours disprove."""
    for attribute in {
        one.attribute.name: one.attribute for one in check.build.statements()
    }.values():
        if attribute.kind is not None and attribute.each in ("cylinder", "valve"):
            yield from _of(attribute, check)


def _of(attribute: Attribute, check: BuildCheck) -> Iterator[OnPaper]:
    binding = check.binding
    groups: dict[tuple[str | None, str | None], list[tuple[Position, Fact]]] = defaultdict(list)
    for at in check.build.layout.positions(attribute.each):
        groups[at.bank, at.side].append((at, binding.fact(attribute.name, at)))
    for group in groups.values():
        read = [
            fact.interval
            for _, fact in group
            if fact.interval and fact.statement and fact.evidence is Evidence.MEASURED
        ]
        said: dict[int, tuple[Fact, list[Position]]] = {}
        for at, fact in group:
            if fact.interval and fact.statement and fact.evidence >= Evidence.CLAIMED:
                said.setdefault(id(fact), (fact, []))[1].append(at)
        for fact, positions in said.values():
            apart = all(fact.interval and not fact.interval.meets(one) for one in read)
            if len(read) >= _ENOUGH and apart:
                hull = Interval(min(one.lower for one in read), max(one.upper for one in read))
                yield OnPaper(attribute, tuple(positions), fact, hull)
