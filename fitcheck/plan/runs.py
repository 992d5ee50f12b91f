"""What a walk through works finds: exact facts at chosen amounts, or how far facts can reach."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fitcheck.check.bind import spread_of
from fitcheck.knowledge import Operation
from fitcheck.model import Attribute, Evidence, Fact
from fitcheck.model.evidence import UNTOLD
from fitcheck.plan.course import Course, Forgets, Stage
from fitcheck.plan.reach import Range, Reach, padded
from fitcheck.plan.walk import Run, Shared
from fitcheck.plan.work import amount_of
from fitcheck.quantity import Interval

PREDICTED = "as predicted"


@dataclass(frozen=True, slots=True)
class Left:
    """An effect that leaves the range plausible for the figure."""

    stage: Stage
    attribute: Attribute
    interval: Interval


class ExactRun(Run[Fact]):
    """Exact facts at chosen amounts; `steps` holds the number of steps of each stage done."""

    def __init__(
        self,
        course: Course,
        steps: Mapping[int, int],
        forgets: Forgets | None = None,
        shared: Shared[Fact] | None = None,
    ) -> None:
        done = (stage for stage, count in steps.items() if count)
        super().__init__(course, done, forgets, shared)
        self.steps = steps
        self.left: list[Left] = []  # of what this run itself found, not of what is shared

    @property
    def amounts(self) -> Mapping[int, int]:
        """The steps of each stage."""
        return self.steps

    def of(self, fact: Fact) -> Fact:
        """A fact as it is."""
        return fact

    def then(self, stage: Stage, before: Fact, after: Fact) -> Fact:
        """What holds after a stage."""
        return after

    def effect(self, stage: Stage, name: str, read: dict[str, Fact], now: Fact) -> Fact:
        """The predicted fact; what nobody knew before stays unknown."""
        if not now.given:
            return now
        operation = stage.operation
        assert operation is not None
        effect, attribute = self.course.effect(stage, name), self.knowledge.attributes[name]
        facts = dict(read)
        amount = amount_of(operation, self.steps[stage.number])
        if amount is not None:
            assert operation.amount is not None
            held = 0 if self.course.aimed else operation.amount.tolerance
            facts["amount"] = _amount_fact(operation, Interval(amount - held, amount + held))
        weakest = max(fact.rank for fact in [now, *read.values()])
        return self._predicted(stage, attribute, effect.figures.of(facts)[id(effect.node)], weakest)

    def predicted(
        self,
        stage: Stage,
        name: str,
        read: dict[str, Fact],
        now: Fact,
        undone: list[Fact],
        kept: Fact,
    ) -> Fact:
        """What an effect leaves; `kept` where a figure that the work itself sets is not known."""
        return self.effect(stage, name, read, now) if all(f.given for f in undone) else kept

    def guessed(self, read: Fact, guess: Fact) -> Fact:
        """What an effect reads, or the guess where nobody gave it."""
        return read if read.given else guess

    def shift(self, stage: Stage, name: str, now: Fact) -> Fact:
        """The figure more or less by what the part makes it."""
        if not now.given or now.interval is None or stage.swap is None:
            return now
        by = self._shift(stage, name)
        interval = Interval(now.interval.lower + by.lower, now.interval.upper + by.upper)
        return self._predicted(stage, self.knowledge.attributes[name], interval, now.rank)

    def gather(self, name: str, singles: list[Fact]) -> Fact:
        """Largest less smallest."""
        return spread_of(self.knowledge.attributes[name], singles, self.knowledge)

    def _predicted(
        self, stage: Stage, attribute: Attribute, interval: Interval, rank: float
    ) -> Fact:
        """What work predicts: as good as the weakest figure that it was reckoned from."""
        plausible = attribute.plausible
        assert plausible is not None
        if not interval.meets(plausible):
            self.left.append(Left(stage, attribute, interval))
            end = plausible.lower if interval.upper < plausible.lower else plausible.upper
            interval = Interval.point(end)
        interval = interval.clipped(plausible)
        weakest = Evidence(int(min(max(rank, Evidence.PREDICTED), Evidence.ASSUMED)))
        return Fact.quantity(
            attribute, Evidence.PREDICTED, interval, text=PREDICTED, weakest=weakest
        )


class ReachRun(Run[Reach]):
    """Reaches while the steps of each stage lie within bounds."""

    def __init__(
        self,
        course: Course,
        bounds: Mapping[int, tuple[int, int]],
        forgets: Forgets | None = None,
        shared: Shared[Reach] | None = None,
    ) -> None:
        may_be = (stage for stage, (_, most) in bounds.items() if most)
        super().__init__(course, may_be, forgets, shared)
        self.bounds = bounds

    @property
    def amounts(self) -> Mapping[int, tuple[int, int]]:
        """Within what the steps of each stage lie."""
        return self.bounds

    def of(self, fact: Fact) -> Reach:
        """The reach of a fact as it is."""
        return self.course.reach(fact)

    def then(self, stage: Stage, before: Reach, after: Reach) -> Reach:
        """What may hold after a stage."""
        if before.out and not after.out:
            after = after._replace(out=True)
        return after if self.bounds[stage.number][0] > 0 else before.joined(after)

    def effect(self, stage: Stage, name: str, read: dict[str, Reach], now: Reach) -> Reach:
        """What an effect may leave."""
        if not now.given[1]:
            return now
        effect = self.course.effect(stage, name)
        facts = dict(read)
        amount = effect.amount(*self.bounds[stage.number], aimed=self.course.aimed)
        if amount is not None:
            facts["amount"] = amount
        low, high = (
            padded(bounds, root.error)
            for bounds, root in zip(effect.walk.over(facts), effect.walk.trees, strict=True)
        )
        return self._within(stage, low, high, effect.bottom, effect.top, now, read.values())

    def predicted(
        self,
        stage: Stage,
        name: str,
        read: dict[str, Reach],
        now: Reach,
        undone: list[Reach],
        kept: Reach,
    ) -> Reach:
        """What an effect may leave; `kept` where a figure that the work itself sets is unknown."""
        if not all(reach.given[1] for reach in undone):
            return kept
        predicted = self.effect(stage, name, read, now)
        return predicted if all(reach.given[0] for reach in undone) else predicted.joined(kept)

    def guessed(self, read: Reach, guess: Fact) -> Reach:
        """What an effect reads, or the guess where nobody gave it."""
        if read.given[0]:
            return read
        guess_reach = self.of(guess)
        return read.joined(guess_reach) if read.given[1] else guess_reach

    def shift(self, stage: Stage, name: str, now: Reach) -> Reach:
        """The figure more or less by what the part makes it."""
        plausible = self.knowledge.attributes[name].plausible
        if not now.given[1] or plausible is None or stage.swap is None:
            return now
        by = self._shift(stage, name)
        low, high = (
            padded((end[0] + float(more), end[1] + float(more)), 0.0)
            for end, more in ((now.lower, by.lower), (now.upper, by.upper))
        )
        ends = float(plausible.lower), float(plausible.upper)
        return self._within(stage, low, high, *ends, now)

    def gather(self, name: str, singles: list[Reach]) -> Reach:
        """Largest less smallest, as far as either can be."""
        unknown = self.of(self.knowledge.unknown(name))
        if not any(one.given[1] for one in singles):
            return unknown
        plausible = self.knowledge.attributes[name].plausible
        assert plausible is not None
        low, high = [one.lower for one in singles], [one.upper for one in singles]
        least = tuple(max(one[i] for one in low) - min(one[1 - i] for one in high) for i in (0, 1))
        most = tuple(_widest_pair(low, high, i) for i in (0, 1))
        top = float(plausible.upper)
        spread = Reach(
            _clipped(padded((least[0], least[1]), 0.0), 0.0, top),
            _clipped(padded((most[0], most[1]), 0.0), 0.0, top),
            (False, True),
            rank=(min(one.rank[0] for one in singles), float(UNTOLD)),
        )
        return spread if any(one.given[0] for one in singles) else spread.joined(unknown)

    def _within(
        self,
        stage: Stage,
        low: Range,
        high: Range,
        bottom: float,
        top: float,
        now: Reach,
        read: Iterable[Reach] = (),
    ) -> Reach:
        """The reach cut to what is plausible, joined with that of not doing it."""
        out = now.out or (now.given[0] and (low[0] > top or high[1] < bottom))
        ranks = [one.rank for one in (now, *read)]
        least, most = float(Evidence.PREDICTED), float(Evidence.ASSUMED)
        rank = (
            min(max(least, *(one[0] for one in ranks)), most),
            min(max(least, *(one[1] for one in ranks)), most),
        )
        low, high = _clipped(low, bottom, top), _clipped(high, bottom, top)
        after = Reach(low, high, (True, True), out, rank)
        if not now.given[0]:
            after = after.joined(now)
        return self.then(stage, now, after)


def _widest_pair(low: list[Range], high: list[Range], end: int) -> float:
    """The most by which one upper end can exceed another's lower end, at an end of their ranges."""
    return max(
        (
            upper[end] - lower[1 - end]
            for i, upper in enumerate(high)
            for j, lower in enumerate(low)
            if i != j
        ),
        default=0.0,
    )


def _clipped(bounds: Range, bottom: float, top: float) -> Range:
    return min(max(bounds[0], bottom), top), min(max(bounds[1], bottom), top)


def _amount_fact(operation: Operation, interval: Interval) -> Fact:
    assert operation.amount is not None
    kind = operation.amount.kind
    attribute = Attribute(
        "amount", "amount", operation.each, kind=kind, plausible=operation.amount.range
    )
    return Fact.quantity(attribute, Evidence.PREDICTED, interval)
