"""Decide first: one or two figures on which it hangs how much work there is.

A plan mends what clashes whatever the figures that are open turn out to be. Less work may leave
nothing that surely clashes; whether it is enough then hangs on such figures. And what the plan
leaves open may clash, and take more work. Where one or two figures settle either, read within
bounds that they may well be within, measuring them comes first.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from math import ceil, floor
from time import monotonic

from fitcheck.check import RuleFinding, Verdict, check_build
from fitcheck.check.checking import CLAIMS
from fitcheck.check.measuring.asks import asks
from fitcheck.check.measuring.places import minutes
from fitcheck.knowledge.parts import CONTRADICTIONS
from fitcheck.model import Attribute, EngineBuild, Position, Selector
from fitcheck.plan.apply import apply
from fitcheck.plan.howfar import suppose
from fitcheck.plan.made import Plan
from fitcheck.plan.planner import PlanOutcome, make_plan
from fitcheck.plan.prices import Prices
from fitcheck.plan.question import Goal
from fitcheck.plan.search import over, time_left
from fitcheck.plan.steps import step_of
from fitcheck.quantity import System
from fitcheck.source import BadInput

# How many figures are tried, those that most hangs on first, and at how many readings each.
_TRIED, _READINGS = 8, 7
# For how many figures that a plan leaves open more work is planned; the seconds for one plan.
_PLANNED, _SECONDS = 2, 5.0
RulePlaces = frozenset[tuple[str, Position]]  # rules, each at a place


@dataclass(frozen=True, slots=True)
class DecidingFigure:
    """A figure to measure at some places: read from `least` to `most` there, less work will do.

    None is no bound within what it may usually be. What a reading leaves in doubt is inside.
    """

    attribute: Attribute
    positions: tuple[Position, ...]
    minutes: int
    least: Fraction | None
    most: Fraction | None


@dataclass(frozen=True, slots=True)
class DecideFirst:
    """Figures to measure before the work: where all stand so `less` is enough, else `more`.

    `more` is None where no work mends it then. `reading` is what it was planned for, where more
    work hangs on what one figure turns out to be.
    """

    figures: tuple[DecidingFigure, ...]
    less: Plan
    more: Plan | None
    reading: Fraction | None = None

    @property
    def minutes(self) -> int:
        """What measuring them takes."""
        return sum(one.minutes for one in self.figures)


def decide_first(
    outcome: PlanOutcome, prices: Prices, seconds: float | None, system: System = "inch"
) -> DecideFirst | None:
    """What to measure before a plan is begun; None where no figure alone, or two, decide.

    Where the plan gives something up, less work is not looked for: it might give up another thing.
    """
    plan = outcome.plan
    if plan is None or outcome.goal is not Goal.MENDED:
        return None
    until = None if seconds is None else monotonic() + seconds
    found = None
    if plan.works and not outcome.given_up:
        found = _less_work(plan, prices, until, system)
    return found or _more_work(plan, prices, until, system)


def _less_work(
    more: Plan, prices: Prices, until: float | None, system: System
) -> DecideFirst | None:
    """Figures on which it hangs whether it is enough that nothing surely clashes."""
    less = make_plan(more.before, prices, more.objective, Goal.CLEAR, _some_of(until)).plan
    if less is None or less.cost[0] >= more.cost[0]:
        return None
    waits = _at(more.conditions)
    asked = [one for one in less.conditions if one.rule.severity != "advice" and _at([one]) - waits]
    figures = _Deciding(less, asked, _at(asked) - waits, system).found(until)
    return None if figures is None else DecideFirst(figures, less, more)


def _more_work(
    less: Plan, prices: Prices, until: float | None, system: System
) -> DecideFirst | None:
    """A figure on which it hangs whether something that a plan leaves open clashes."""
    planned = 0
    for ask in asks(less.after, _TRIED):
        if over(until) or planned == _PLANNED:
            break
        asked = list({id(way.finding): way.finding for way in ask.alone}.values())
        deciding = _Deciding(less, asked, _at(asked), system)
        turning = deciding.turning(ask.attribute) if asked else None
        if turning is None:
            continue
        good, bad = turning
        planned += 1
        check = check_build(deciding.read({ask.attribute: bad}), less.after.knowledge)
        other = make_plan(check, prices, less.objective, seconds=_some_of(until))
        if other.plan is None and not other.proven:
            continue
        more = other.plan
        if more is None or other.given_up or more.cost[0] > less.cost[0]:
            figures = deciding.bounded({ask.attribute: good}, until)
            return DecideFirst(figures, less, None if other.given_up else more, bad)
    return None


class _Deciding:
    """What fits after a plan that has to, by what is read beforehand."""

    def __init__(
        self, plan: Plan, asked: Iterable[RuleFinding], open_: RulePlaces, system: System
    ) -> None:
        self.plan, self.system = plan, system
        self.asked = list(asked)
        self.open = open_
        self.build: EngineBuild = plan.before.build
        self.knowledge = plan.after.knowledge
        self._left = _at(plan.after.conflicts)
        self._swapped = {work.swap.slot for work in plan.works if work.swap is not None}

    def found(self, until: float | None) -> tuple[DecidingFigure, ...] | None:
        """One figure that settles all, else two that do together; None where there are none."""
        best: dict[Attribute, tuple[Fraction, RulePlaces]] = {}
        for attribute in self._candidates()[:_TRIED]:
            if over(until):
                break
            tried = [(one, self._fits({attribute: one})) for one in self.readings(attribute)]
            value, settled = max(tried, key=lambda one: len(one[1]))
            if settled == self.open:
                return self.bounded({attribute: value}, until)
            if settled:
                best[attribute] = value, settled
        for one, other in combinations(best, 2):
            if best[one][1] | best[other][1] == self.open and not over(until):
                return self.bounded({one: best[one][0], other: best[other][0]}, until)
        return None

    def turning(self, attribute: Attribute) -> tuple[Fraction, Fraction] | None:
        """A reading at which nothing clashes, and the next at which something does.

        All that clashes at this one fits at the other; that is what is open from now on.
        """
        tried = [(one, *self._judged({attribute: one})) for one in self.readings(attribute)]
        pairs = [
            (abs(good - bad), good, bad, clash)
            for good, fits, none in tried
            if not none
            for bad, _, clash in tried
            if clash and clash <= fits
        ]
        if not pairs:
            return None
        _, good, bad, self.open = min(pairs, key=lambda pair: pair[0])
        return good, bad

    def _candidates(self) -> list[Attribute]:
        """Figures that can be read off a scale before the work, those that most hangs on first."""
        hang: Counter[Attribute] = Counter()
        for finding in self.asked:
            for name, fact in finding.facts.items():
                if name != "side" and self.readings(fact.attribute):
                    hang[fact.attribute] += len(finding.positions)
        return sorted(hang, key=lambda one: (-hang[one], self._minutes(one)))

    def readings(self, attribute: Attribute) -> list[Fraction]:
        """Readings that may well be found at all places, the lowest first; none of a known one.

        Nor of one that no scale tells, that nobody told and of which nothing is usual, or of a part
        that the plan puts in.
        """
        if attribute.kind is None or attribute.slot in self._swapped:
            return []
        if not self.knowledge.resolution_of(attribute):
            return []
        usual = self.plan.before.likelihoods
        facts = [usual.fact(attribute.name, place) for place in self._places_of(attribute)]
        spans = [one.interval for one in facts if one.interval is not None]
        half = self._half(attribute)
        low = max((one.lower for one in spans), default=half) + half
        high = min((one.upper for one in spans), default=half) - half
        if low >= high or attribute.plausible in spans:
            return []
        return [low + (high - low) * i / (_READINGS - 1) for i in range(_READINGS)]

    def _minutes(self, attribute: Attribute) -> int:
        procedure = self.knowledge.procedures.get(attribute.measure)
        return minutes(attribute, procedure, self._places_of(attribute))

    def _places_of(self, attribute: Attribute) -> tuple[Position, ...]:
        """Where a figure decides: at all places that hold one that is not settled."""
        course = self.plan.applied.run.course
        held = {course.at_level(attribute, place) for _, place in self.open}
        every = self.build.layout.positions(attribute.each)
        return tuple(one for one in every if one in held) or tuple(every)

    def _half(self, attribute: Attribute) -> Fraction:
        return (self.knowledge.resolution_of(attribute) or Fraction(0)) / 2

    def read(self, readings: Mapping[Attribute, Fraction]) -> EngineBuild:
        """The build before the plan with figures read so."""
        said = []
        for attribute, value in readings.items():
            for place in self._places_of(attribute):
                said.append(
                    suppose(attribute, value, Selector(place.bank, place.cylinder, place.side))
                )
        return self.build.supposing(said)

    def _judged(self, readings: Mapping[Attribute, Fraction]) -> tuple[RulePlaces, RulePlaces]:
        """What fits after the plan where figures were read so before it, and what clashes.

        At either end of what a reading leaves. Of a remark it is enough that it does not clash, as
        in a plan.
        """
        ends = [
            self._after({one: value + side * self._half(one) for one, value in readings.items()})
            for side in (-1, 1)
        ]
        return ends[0][0] & ends[1][0], ends[0][1] | ends[1][1]

    def _after(self, readings: Mapping[Attribute, Fraction]) -> tuple[RulePlaces, RulePlaces]:
        """The same of exact figures.

        Nothing of one that can't be: the work would leave what is plausible.
        """
        try:
            after = apply(self.read(readings), self.knowledge, self.plan.works).build
        except BadInput:
            return frozenset(), frozenset()
        rules = {one.rule.id: one.rule for one in self.asked}
        for attribute in readings:
            readers = self.knowledge.readers.get(attribute.name, ())
            rules |= {one.id: one for one in readers if one.family not in (CLAIMS, CONTRADICTIONS)}
        found = check_build(after, self.knowledge, rules.values())
        clash = _at(found.conflicts)
        fits = [
            one
            for one in found.all_findings
            if one.verdict is Verdict.FITS
            or (one.rule.severity == "advice" and one.verdict is not Verdict.CONFLICT)
        ]
        return self.open & _at(fits), clash - self._left

    def _fits(self, readings: Mapping[Attribute, Fraction]) -> RulePlaces:
        fits, clash = self._judged(readings)
        return frozenset() if clash else fits

    def bounded(
        self, values: Mapping[Attribute, Fraction], until: float | None
    ) -> tuple[DecidingFigure, ...]:
        """Figures of which some readings are enough, with the bounds of such; one by one."""
        figures = []
        for attribute, value in values.items():
            low, *_, high = self.readings(attribute)
            least = self._bound(values, attribute, value, low, until)
            most = self._bound(values, attribute, value, high, until)
            figures.append(
                DecidingFigure(
                    attribute,
                    self._places_of(attribute),
                    self._minutes(attribute),
                    None if least == low else least,
                    None if most == high else most,
                )
            )
        return tuple(figures)

    def _bound(
        self,
        values: Mapping[Attribute, Fraction],
        attribute: Attribute,
        good: Fraction,
        end: Fraction,
        until: float | None,
    ) -> Fraction:
        """How far towards an end a reading is still enough, to one in the last digit shown."""

        def enough(value: Fraction) -> bool:
            return self._fits({**values, attribute: value}) == self.open

        if enough(end):
            return end
        step = step_of(attribute, self.system)
        down = end < good
        near = ceil(good / step) if down else floor(good / step)
        far = floor(end / step) if down else ceil(end / step)
        if not enough(near * step):
            return good
        while abs(near - far) > 1 and not over(until):
            middle = (near + far) // 2
            near, far = (middle, far) if enough(middle * step) else (near, middle)
        return near * step


def _at(findings: Iterable[RuleFinding]) -> RulePlaces:
    """What some findings are about."""
    return frozenset((one.rule.id, place) for one in findings for place in one.positions)


def _some_of(until: float | None) -> float:
    """The seconds in which another plan is sought: the whole shall not wait for it long."""
    left = time_left(until)
    return _SECONDS if left is None else min(_SECONDS, left / 2)
