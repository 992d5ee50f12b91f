"""How a figure changes as works follow each other, asked for one name at one place.

The same walk serves exact facts at chosen amounts and the reach of facts while amounts are known
within bounds only.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from bisect import bisect_left
from collections.abc import Iterable, Mapping
from typing import Generic, TypeVar

from fitcheck.knowledge import Knowledge
from fitcheck.model import Fact, Position
from fitcheck.plan.course import Aimed, Course, Forgets, Stage, Touch
from fitcheck.quantity import Interval

V = TypeVar("V")
# What walks through one course found, by name, place, what is forgotten and the stages done that
# bear on it, each with how much of it: none needs to find that again.
Shared = dict[tuple[object, ...], V]


class Run(ABC, Generic[V]):
    """One walk through a course with some stages done."""

    def __init__(
        self,
        course: Course,
        done: Iterable[int],
        forgets: Forgets | None = None,
        shared: Shared[V] | None = None,
    ) -> None:
        """`done` are the stages that are done, or may be.

        Without `forgets` all that is undone is forgotten. With `shared` what other runs through
        this course found is not found again.
        """
        self.course = course
        self._done = sorted((course.numbers[number], number) for number in set(done))
        self._places = [i for i, _ in self._done]
        self.knowledge: Knowledge = course.knowledge
        self._forgets = forgets
        self.forgetting = None if forgets is None else forgets.name
        self._shared: Shared[V] = {} if shared is None else shared
        self._memo: dict[tuple[str, Position, int], V] = {}

    def at(self, name: str, position: Position, before: int | None = None) -> V:
        """What holds for a name at a position, before a stage or in the end."""
        course = self.course
        if name != "side":
            position = course.at_level(self.knowledge.attributes[name], position)
        first = len(self._done) if before is None else bisect_left(self._places, before)
        key = (name, position, first)
        held = self._memo.get(key)
        if held is None:
            held = self._memo[key] = self._found(name, position, first)
        return held

    def _found(self, name: str, position: Position, first: int) -> V:
        """What the first stages that are done leave of a figure.

        What was found after an effect on the way is kept too: other walks part from there.
        """
        course, shared = self.course, self._shared
        upto = self._places[first] if first < len(self._done) else len(course.stages)
        touching = self._touching(name, position, upto)
        reached = course.reached(name, position)
        done = [(i, stage) for i, stage in self._done[:first] if stage in reached]
        # What a spread comes to hangs on its single figures in the end, not on the way there.
        gathers = bool(course.gathers(name))
        ends = [i for i, touch in touching if touch.how == "effect" and not gathers]
        last = upto if gathers else touching[-1][0] + 1 if touching else 0
        whole = self._key(name, position, done, last)
        held, since = shared.get(whole), last
        if held is None:
            for i in reversed(ends):
                held, since = shared.get(self._key(name, position, done, i + 1)), i + 1
                if held is not None:
                    break
            else:
                held, since = self._start(name, position, upto), 0
            for i, touch in touching:
                if i >= since:
                    held = self._step(i, touch, name, position, held, upto)
                    if touch.how == "effect" and not gathers:
                        shared[self._key(name, position, done, i + 1)] = held
            shared[whole] = held
        return held

    def _key(
        self, name: str, position: Position, done: list[tuple[int, int]], upto: int
    ) -> tuple[object, ...]:
        stages = [stage for i, stage in done if i < upto]
        forgets, amounts = self._forgets, self.amounts
        forgotten = (
            None if forgets is None else "" if forgets.stages.isdisjoint(stages) else forgets.name
        )
        return (name, position, forgotten, *((one, amounts[one]) for one in stages))

    def _touching(self, name: str, position: Position, upto: int) -> list[tuple[int, Touch]]:
        """The stages that change a figure and may be done, in order."""
        by_place = self.course.touching_by_place(name, position)
        if len(by_place) <= len(self._done):
            places = set(self._places)
            return [(i, touch) for i, touch in by_place.items() if i < upto and i in places]
        return [(i, by_place[i]) for i in self._places if i < upto and i in by_place]

    def _start(self, name: str, position: Position, upto: int) -> V:
        """What holds before any work; of a spread that nobody stated, what its figures come to."""
        fact = self.course.binding.fact(name, position)
        if fact.statement is None and self.course.gathers(name):
            return self._gathered(name, position, upto)
        return self.of(fact)

    def _gathered(self, name: str, position: Position, upto: int) -> V:
        singles = [self.at(of, at, upto) for of, at in self.course.gathered(name, position)]
        return self.gather(name, singles)

    def _step(self, i: int, touch: Touch, name: str, position: Position, now: V, upto: int) -> V:
        course, stage = self.course, touch.stage
        forgotten = touch.how == "undo" and self.forgotten(stage, name)
        if touch.how == "gather" or (forgotten and course.gathers(name)):
            return self.then(stage, now, self._gathered(name, position, upto))
        if touch.how == "swap":
            return self.then(stage, now, self.of(course.swapped(stage, name, position)))
        if touch.how == "listed":
            return self.then(stage, now, self.of(course.listed(name)))
        if touch.how == "fit" or forgotten:
            return self.then(stage, now, self.of(self.knowledge.unknown(name)))
        if touch.how == "undo":
            return now
        if touch.how == "shift":
            return self.shift(stage, name, now)
        assert stage.operation is not None
        reads = course.effect(stage, name).reads
        for place in touch.places:
            read = {other: now if other == name else self.at(other, place, i) for other in reads}
            undone = [read[other] for other in reads if other in stage.operation.effects]
            if self.forgotten(stage, name):
                kept = self.then(stage, now, self.of(self.knowledge.unknown(name)))
            else:
                kept = now
            if isinstance(course.binding, Aimed):
                for other in reads:
                    if other != name and other not in stage.operation.effects:
                        read[other] = self.guessed(read[other], course.binding.guess(other, place))
            now = self.predicted(stage, name, read, now, undone, kept)
        return now

    def forgotten(self, stage: Stage, name: str) -> bool:
        """Whether a figure that a stage undoes counts as not known any more."""
        return self._forgets is None or self._forgets(stage, name)

    def _shift(self, stage: Stage, name: str) -> Interval:
        assert stage.swap is not None
        by = stage.swap.shifts[name]
        return Interval.point(by.middle) if self.course.aimed else by

    # What differs between exact facts and reaches.

    @property
    @abstractmethod
    def amounts(self) -> Mapping[int, object]:
        """How much of each stage is done."""

    @abstractmethod
    def of(self, fact: Fact) -> V:
        """A fact as a value of this run."""

    @abstractmethod
    def then(self, stage: Stage, before: V, after: V) -> V:
        """What holds after a stage that may have been done."""

    @abstractmethod
    def effect(self, stage: Stage, name: str, read: dict[str, V], now: V) -> V:
        """What an effect leaves."""

    @abstractmethod
    def predicted(
        self, stage: Stage, name: str, read: dict[str, V], now: V, undone: list[V], kept: V
    ) -> V:
        """What an effect leaves; `kept` where a figure that the work itself sets is not known."""

    @abstractmethod
    def guessed(self, read: V, guess: Fact) -> V:
        """What an effect reads, or the guess where nobody gave it."""

    @abstractmethod
    def shift(self, stage: Stage, name: str, now: V) -> V:
        """What a shift by a swapped part leaves."""

    @abstractmethod
    def gather(self, name: str, singles: list[V]) -> V:
        """The spread of single figures."""
