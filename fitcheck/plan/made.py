"""A plan: works, what they cost, and the build as it is after them."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.check import BuildCheck, RuleFinding, Verdict
from fitcheck.check.room import room_of
from fitcheck.plan.apply import Applied
from fitcheck.plan.neighbours import OnPaper
from fitcheck.plan.question import Goal
from fitcheck.plan.search import Cost
from fitcheck.plan.stages import NOTHING, Costs, Objective
from fitcheck.plan.work import Work, removes_metal


@dataclass(frozen=True, slots=True)
class Plan:
    """Works that reach a goal, what they cost, and the build checked again after them.

    `proven` tells that nothing cheaper does, within the operations, their steps, the groups of
    places and the parts on offer; else every plan costs at least `least`. Of what
    neighbours disproved, `beside`, the build before counts on the neighbours.
    """

    goal: Goal
    objective: Objective
    works: tuple[Work, ...]
    costs: tuple[Costs, ...]
    applied: Applied
    before: BuildCheck
    after: BuildCheck
    proven: bool
    least: Cost
    cost: Cost
    beside: tuple[OnPaper, ...] = ()

    @property
    def disproved(self) -> tuple[OnPaper, ...]:
        """What neighbours disprove of the figures that the work changes or mends by."""
        mended = {name for finding in self.before.conflicts for name in finding.rule.inputs}
        worked = {n for one in self.works if one.operation for n in one.operation.effects}
        names = self.applied.changed & (mended | worked)
        return tuple(one for one in self.beside if one.attribute.name in names)

    @property
    def waiting(self) -> tuple[RuleFinding, ...]:
        """What clashed and is not sure to fit before it is measured after the work."""
        clashed = {finding.rule.id for finding in self.before.conflicts}
        return tuple(one for one in self.after.undecided if one.rule.id in clashed)

    @property
    def conditions(self) -> tuple[RuleFinding, ...]:
        """What fits after the work only if the figures measured then say so.

        It clashed, or it is a matter of a stop or serious that was sure to fit before.
        """
        known = {
            (f.rule.id, place)
            for f in self.before.findings
            if f.verdict is Verdict.CONFLICT
            or (f.verdict is Verdict.FITS and f.rule.severity != "advice")
            for place in f.positions
        }
        return tuple(
            finding
            for finding in self.after.undecided
            if any((finding.rule.id, place) in known for place in finding.positions)
        )

    @property
    def remarks(self) -> tuple[RuleFinding, ...]:
        """What is only advice, was sure to fit and is not any more."""
        known = {
            (f.rule.id, place)
            for f in self.before.fits
            if f.rule.severity == "advice"
            for place in f.positions
        }
        return tuple(
            finding
            for finding in (*self.after.undecided, *self.after.conflicts)
            if any((finding.rule.id, place) in known for place in finding.positions)
        )

    @property
    def cuts(self) -> int:
        """At how many places it takes metal off."""
        return sum(
            len(work.positions)
            for work in self.works
            if work.operation is not None and removes_metal(work.operation)
        )

    @property
    def room(self) -> float | None:
        """The least room of what clashed before, as a share of its limit; None where none shows."""
        clashed = {finding.rule.id for finding in self.before.conflicts}
        rooms = [
            room_of(one.demands[0])
            for one in self.after.fits
            if one.rule.id in clashed and one.demands
        ]
        return min(rooms, default=None)

    @property
    def total(self) -> Costs:
        """What it costs together; no price where one of its works has none."""
        prices = [one.price for one in self.costs if one.price is not None]
        whole = len(prices) == len(self.costs)
        return Costs(
            sum(prices, start=NOTHING[0]) if whole else None,
            sum((one.hours for one in self.costs), start=NOTHING[0]),
            sum((one.metal for one in self.costs), start=NOTHING[0]),
            sum(one.parts for one in self.costs),
        )
