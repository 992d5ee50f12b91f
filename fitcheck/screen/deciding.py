"""What can be said of one candidate: it fits, likely fits, may, likely does not, or is ruled out.

A sure answer is that of a check of the build with the candidate in place. What is open there is
asked once more with usual figures, as a check asks it, and then at the very figures that are
listed. What stays open for want of another part's figure says nothing of the candidate, and is
told once for all of them, unless it leaves clearly less room than the part that is there now.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Set
from dataclasses import dataclass, field, replace
from enum import IntEnum
from functools import cached_property

from fitcheck.check import BuildCheck, RuleFinding, Verdict
from fitcheck.check.checking import check_build
from fitcheck.check.finding import Demand, at_its_middle, half_as_wide
from fitcheck.check.likely import Likelihoods, Likely
from fitcheck.check.room import room_of, well_past, well_within
from fitcheck.check.verdict import verdict_on
from fitcheck.knowledge import Rule
from fitcheck.model import EngineBuild, Fact, Part, Position
from fitcheck.quantity import Interval
from fitcheck.screen.opening import Frame, by_rule


class Standing(IntEnum):
    """What can be said of a candidate, the best first."""

    FITS = 0
    LIKELY = 1
    MAY = 2
    UNLIKELY = 3
    OUT = 4

    @property
    def words(self) -> str:
        """As it is told of one candidate."""
        return ("fits", "likely fits", "may fit", "likely does not fit", "is ruled out")[self]

    @property
    def of_many(self) -> str:
        """As it is told of several."""
        return ("fit", "likely fit", "may fit", "likely do not", "are ruled out")[self]


@dataclass
class Decided:
    """One candidate: what clashes, surely or likely, and what is open, by what it waits for.

    `asks` waits for the candidate's own figures, or is too close to tell; `waits` is open whichever
    candidate it is; on `disputed` practice disagrees. `likely` holds likely clashes as they would
    be. `tightest` is the demand of a finding that leaves least room of its limit, where something
    fits by a figure. Remarks rule nothing out: `remarks` clash, on `disputed_remarks` practice
    disagrees.
    """

    check: BuildCheck
    clashes: list[RuleFinding] = field(default_factory=list)
    likely: list[RuleFinding] = field(default_factory=list)
    asks: list[RuleFinding] = field(default_factory=list)
    waits: list[RuleFinding] = field(default_factory=list)
    disputed: list[RuleFinding] = field(default_factory=list)
    remarks: list[RuleFinding] = field(default_factory=list)
    disputed_remarks: list[RuleFinding] = field(default_factory=list)
    tightest: tuple[RuleFinding, Demand] | None = None
    room: float | None = None
    presumed: bool = False

    @property
    def standing(self) -> Standing:
        """What can be said of it."""
        if self.clashes:
            return Standing.OUT
        if self.likely:
            return Standing.UNLIKELY
        if self.asks:
            return Standing.MAY
        presumed = self.presumed or self.waits or self.disputed
        return Standing.LIKELY if presumed else Standing.FITS

    @property
    def disagreed(self) -> int:
        """On how many questions practice disagrees, where it fits or likely does."""
        if self.standing > Standing.LIKELY:
            return 0
        return len({one.rule.id for one in [*self.disputed, *self.disputed_remarks]})


class Decider:
    """Decides candidates of a frame; of rules only those count that depend on what is open.

    `present` is the build with what is in the open slots now; `told` are the attributes that any
    candidate tells, and what none tells is found out of whichever is bought.
    """

    def __init__(self, frame: Frame, present: EngineBuild, told: Set[str]) -> None:
        self.frame = frame
        self._present = present
        self._told = told
        self.rules: list[Rule] = []
        self._places: dict[str, set[Position]] = {}
        for id_, factors in by_rule(frame.factors).items():
            self.rules.append(factors[0].rule)
            self._places[id_] = {p for factor in factors for p in factor.positions}

    def of(self, *parts: tuple[str, Sequence[Part]]) -> Decided:
        """What can be said of candidates, each for its slot."""
        build = self.frame.build
        for slot, own in parts:
            build = self.frame.openings[slot].fitted(build, *own)
        return self.decided(build)

    def decided(self, build: EngineBuild) -> Decided:
        """The same of a build with candidates in all open slots."""
        check = check_build(build, self.frame.knowledge, self.rules)
        likely = Likelihoods(build, check.knowledge, self.rules)
        found = Decided(check)
        disputed = check.disputed
        for finding in self._mine(check):
            if finding.rule.severity == "advice":
                self._remark(found, finding, likely, finding.rule.id in disputed)
            elif finding.verdict is Verdict.CONFLICT:
                found.clashes.append(finding)
            elif finding.verdict is Verdict.FITS:
                self._room(found, finding)
            elif finding.rule.id in disputed:
                found.disputed.append(finding)
            else:
                self._open(found, finding, likely)
        return found

    def _mine(self, check: BuildCheck) -> Iterable[RuleFinding]:
        """The findings that depend on a candidate."""
        for one in check.findings:
            if not self._places[one.rule.id].isdisjoint(one.positions):
                yield one

    @staticmethod
    def _remark(found: Decided, finding: RuleFinding, likely: Likelihoods, disputed: bool) -> None:
        """A remark as it is or, where that is open, at the very figures stated."""
        at = finding if disputed or not finding.verdict.undecided else None
        at = at or finding.as_stated(likely.follows)
        if at is not None and at.verdict is Verdict.CONFLICT:
            found.remarks.append(at)
        elif at is not None and at.disputed:
            found.disputed_remarks.append(at)

    def _open(self, found: Decided, finding: RuleFinding, likely: Likelihoods) -> None:
        standing = likely.standing(finding)
        usual = likely.as_usual(finding) if standing is not None else []
        if standing is Likely.CLASHES:
            found.likely += [one for one in usual if one.verdict is Verdict.CONFLICT]
            return
        if standing is Likely.FITS:
            found.presumed = True
            for one in usual:
                if one.verdict is Verdict.FITS and self._held_against_told(one):
                    self._room(found, one)
            return
        told = [(one, one.as_stated(likely.follows)) for one in usual or [finding]]
        stated = [(one, at) for one, at in told if at is not None]
        past = [
            at
            for one, at in stated
            if at.verdict is Verdict.CONFLICT and well_past(one, at)
            if self._held_against_told(one) or self._clashes_as_listed(one)
        ]
        if past:
            found.likely += past
        elif len(stated) == len(told) and all(
            at.verdict is Verdict.FITS and well_within(one, at) for one, at in stated
        ):
            found.presumed = True
            for _, at in stated:
                self._room(found, at)
        elif len(stated) == len(told) and all(
            (at.disputed or at.verdict is Verdict.FITS) and well_within(one, at, laxest=True)
            for one, at in stated
        ):
            found.disputed.append(finding)
        elif (
            self._waits(finding)
            and not any(map(self._clashes_as_listed, usual))
            and not self._less_than_now(finding)
        ):
            found.waits.append(finding)
        else:
            found.asks.append(finding)

    def _room(self, found: Decided, finding: RuleFinding) -> None:
        """Remember the least room that is left, where a figure that the candidate tells counts."""
        place = finding.positions[0]
        demand = min(finding.demands, key=room_of, default=None)
        if demand is None or (found.room is not None and room_of(demand) >= found.room):
            return
        if any(fact.given and self._own(name, place) for name, fact in finding.cited.items()):
            found.room, found.tightest = room_of(demand), (finding, demand)

    def _held_against_told(self, finding: RuleFinding) -> bool:
        """Whether all that other parts have to say was told.

        Room to what is presumed is none, and being past the middle of it is no clash.
        """
        place = finding.positions[0]
        return all(one.given or self._own(name, place) for name, one in finding.cited.items())

    def _own(self, name: str, position: Position) -> bool:
        return self.frame.opening_of(name, position) is not None

    def _waits(self, finding: RuleFinding) -> bool:
        """Whether a figure of another part is lacking, or one that no candidate tells."""
        place = finding.positions[0]
        lacking = [fact.attribute.name for fact in finding.missing]
        return any(not self._own(name, place) or name not in self._told for name in lacking)

    def _clashes_as_listed(self, usual: RuleFinding) -> bool:
        """Whether it clashes near the figures listed, with the rest anywhere that is usual.

        Near is the nearer half of what they may be: at the very figures it could be by a hair.
        """
        place = usual.positions[0]
        facts = {
            name: half_as_wide(fact) if fact.given and self._own(name, place) else fact
            for name, fact in usual.facts.items()
        }
        return verdict_on(usual.rule, facts, usual.knowledge) is Verdict.CONFLICT

    def _less_than_now(self, finding: RuleFinding) -> bool:
        """Whether it leaves clearly less room than what is there now, which does not clash."""
        now = self._now.get((finding.rule.id, finding.positions[0]))
        if now is None or now.verdict is Verdict.CONFLICT:
            return False
        here, there = self._own_room(finding), self._own_room(now)
        return here is not None and there is not None and here.upper < there.lower

    def _own_room(self, finding: RuleFinding) -> Interval | None:
        """The margin with the figures of other parts at the middle of what they may be."""
        place = finding.positions[0]

        def pinned(name: str, fact: Fact) -> Fact:
            return fact if self._own(name, place) else at_its_middle(fact)

        known = {name: pinned(name, fact) for name, fact in finding.known.items()}
        own = {name: known[name] for name in finding.facts}
        return replace(finding, facts=own, beside=known).margin

    @cached_property
    def _now(self) -> dict[tuple[str, Position], RuleFinding]:
        there = [slot for slot in self.frame.openings if slot in self._present.parts]
        if len(there) < len(self.frame.openings):
            return {}
        check = check_build(self._present, self.frame.knowledge, self.rules)
        return {(one.rule.id, at): one for one in check.findings for at in one.positions}
