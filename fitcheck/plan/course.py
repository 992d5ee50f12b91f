"""How a figure changes as works follow each other, asked for one name at one place.

The same walk serves exact facts at chosen amounts (`ExactRun`) and the reach of facts while
amounts are known within bounds only (`ReachRun`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from fitcheck.check.bind import Binding
from fitcheck.check.figures import Figures
from fitcheck.knowledge import Knowledge, Operation
from fitcheck.language import YES_NO, variables
from fitcheck.model import Attribute, Build, Evidence, Fact, Part, Position
from fitcheck.plan.reach import Range, Reach, Walk, padded
from fitcheck.plan.work import Swap, amount_of, least_of, places_at, step_of, swap_covers
from fitcheck.quantity import Interval

V = TypeVar("V")
_YES, _NO = YES_NO.bit("yes"), YES_NO.bit("no")
PREDICTED = "as predicted"
_LISTED = ("present", "comes_with_head")


@dataclass(frozen=True, slots=True)
class Stage:
    """A work that may be done: an operation at some positions, or a swap."""

    number: int
    operation: Operation | None
    positions: tuple[Position, ...]
    swap: Swap | None = None


@dataclass(frozen=True, slots=True)
class Touch:
    """How a stage changes a figure: swap, shift, effect, undo, fit (the part is new), listed."""

    stage: Stage
    how: str
    places: tuple[Position, ...]


class Effect:
    """An effect of an operation, with what is needed again and again to work it out."""

    def __init__(self, knowledge: Knowledge, operation: Operation, name: str) -> None:
        self.node = operation.effects[name]
        self.reads = tuple(other for other in variables(self.node) if other != "amount")
        self.walk = Walk(knowledge.lowering.interval(self.node))
        self.figures = Figures(knowledge, [self.node], ("effect", operation.id, name))
        plausible = knowledge.attributes[name].plausible
        assert plausible is not None
        self.bottom, self.top = float(plausible.lower), float(plausible.upper)
        self._amount = operation.amount is not None
        if self._amount:
            self._least, self._step = float(least_of(operation)), float(step_of(operation))

    def amount(self, least: int, most: int) -> Reach | None:
        """The amount from one number of steps to another, each done to half a step."""
        if not self._amount:
            return None
        low = self._least + (max(1, least) - 1) * self._step
        high = self._least + (max(1, most) - 1) * self._step
        half = self._step / 2
        return Reach((low - half, high - half), (low + half, high + half))


class Course:
    """A build and the stages that may change it, in the order in which they are done."""

    def __init__(self, binding: Binding, stages: Sequence[Stage]) -> None:
        self.binding = binding
        self.knowledge: Knowledge = binding.knowledge
        self.stages = list(stages)
        self.numbers = {stage.number: i for i, stage in enumerate(self.stages)}
        self._by_name: dict[str, list[tuple[int, str]]] = {}
        for i, stage in enumerate(self.stages):
            for name, how in self._touched(stage).items():
                self._by_name.setdefault(name, []).append((i, how))
        self._touches: dict[tuple[str, Position], list[tuple[int, Touch]]] = {}
        self._swapped: dict[int, Binding] = {}
        self._effects: dict[tuple[int, str], Effect] = {}
        self._reaches: dict[int, Reach] = {}
        self._kept: list[Fact] = []

    def _touched(self, stage: Stage) -> dict[str, str]:
        """What the stage changes, by name."""
        knowledge, swap = self.knowledge, stage.swap
        if swap is not None:
            own = knowledge.classes[swap.slot].attributes
            kept = {f"{swap.slot}.{name}" for name in swap.keeps}
            return {name: "undo" for name in swap.undoes} | \
                {name: "swap" for name in own if name not in kept} | \
                {name: "shift" for name in swap.shifts}  # fmt: skip
        operation = stage.operation
        assert operation is not None
        parts, slot = self.binding.build.parts, str(operation.file.on)
        found: dict[str, str] = {}
        if slot not in parts and knowledge.classes[slot].optional:
            for name, attribute in knowledge.classes[slot].attributes.items():
                found[name] = "listed" if name.partition(".")[2] in _LISTED else \
                    "fit" if attribute.absent or name in operation.file.undoes else ""  # fmt: skip
        for undone in map(str, operation.file.undoes):
            if undone.partition(".")[0] in parts:
                found.setdefault(undone, "undo")
        for name in operation.effects:
            target = name.partition(".")[0]
            if target in parts or target == slot or not knowledge.classes[target].optional:
                found[name] = "effect"
        return {name: how for name, how in found.items() if how}

    @property
    def names(self) -> list[str]:
        """Every figure that a stage can change."""
        return list(self._by_name)

    def touching(self, name: str, position: Position) -> list[tuple[int, Touch]]:
        """The stages that change a figure at a position, in order."""
        key = (name, position)
        found = self._touches.get(key)
        if found is None:
            found = self._touches[key] = list(self._find_touches(name, position))
        return found

    def _find_touches(self, name: str, position: Position) -> list[tuple[int, Touch]]:
        found = []
        for i, how in self._by_name.get(name, ()):
            stage = self.stages[i]
            if stage.swap is not None:
                places = (position,) if swap_covers(stage.swap, position) else ()
            elif how == "listed":
                places = (position,)
            else:
                assert stage.operation is not None
                attribute = self.knowledge.attributes[name]
                places = places_at(stage.operation, stage.positions, attribute, position)
            if places:
                found.append((i, Touch(stage, how, places)))
        return found

    def at_level(self, attribute: Attribute, position: Position) -> Position:
        """The position of an attribute's level that holds a finer position."""
        layout = self.binding.build.layout
        if attribute.each == "engine":
            return Position()
        if attribute.each == "bank":
            return Position(bank=position.bank) if layout.banks else Position()
        if attribute.each == "cylinder":
            return Position(position.bank, position.cylinder)
        return position

    def effect(self, stage: Stage, name: str) -> Effect:
        """A stage's effect on a figure."""
        found = self._effects.get((stage.number, name))
        if found is None:
            assert stage.operation is not None
            key = ("effect of", stage.operation.id, name)
            found = self.knowledge.figures.get(key)
            if found is None:
                found = self.knowledge.figures[key] = Effect(self.knowledge, stage.operation, name)
            self._effects[stage.number, name] = found
        return found

    def reach(self, fact: Fact) -> Reach:
        """The reach of a fact as it is; the fact is kept, so that its id stays its own."""
        found = self._reaches.get(id(fact))
        if found is None:
            found = self._reaches[id(fact)] = Reach.of(fact)
            self._kept.append(fact)
        return found

    def swapped(self, stage: Stage, name: str, position: Position) -> Fact:
        """What the part put in says."""
        swap = stage.swap
        assert swap is not None
        binding = self._swapped.get(stage.number)
        if binding is None:
            build = self.binding.build
            part = Part(swap.slot, swap.name, swap.seller, swap.statements)
            alone = Build("", "", build.layout, {swap.slot: (part,)}, frozenset())
            binding = self._swapped[stage.number] = Binding(alone, self.knowledge)
        if name.endswith(".comes_with_head"):
            return self.listed(name)
        return binding.fact(name, position)

    def listed(self, name: str) -> Fact:
        """That a part newly listed is there, and did not come with the head."""
        mask = _NO if name.endswith(".comes_with_head") else _YES
        return Fact(self.knowledge.attributes[name], Evidence.MEASURED, True, mask=mask,
                    sure=mask, text="as listed")  # fmt: skip


class Run(Generic[V]):
    """One walk through a course with some stages done."""

    def __init__(self, course: Course, forgets: Callable[[Stage], bool] | None = None) -> None:
        self.course = course
        self.knowledge = course.knowledge
        self._forgets = forgets
        self._memo: dict[tuple[str, Position, int], V] = {}

    def at(self, name: str, position: Position, before: int | None = None) -> V:
        """What holds for a name at a position, before a stage or in the end."""
        course = self.course
        if name != "side":
            position = course.at_level(self.knowledge.attributes[name], position)
        upto = len(course.stages) if before is None else before
        key = (name, position, upto)
        found = self._memo.get(key)
        if found is None:
            found = self.start(name, position)
            for i, touch in course.touching(name, position):
                if i >= upto:
                    break
                if self.done(touch.stage):
                    found = self._step(i, touch, name, position, found)
            self._memo[key] = found
        return found

    def _step(self, i: int, touch: Touch, name: str, position: Position, now: V) -> V:
        course, stage = self.course, touch.stage
        if touch.how == "swap":
            return self.then(stage, now, self.of(course.swapped(stage, name, position)))
        if touch.how == "listed":
            return self.then(stage, now, self.of(course.listed(name)))
        if touch.how == "fit" or (touch.how == "undo" and self.forgotten(stage)):
            return self.then(stage, now, self.of(self.knowledge.unknown(name)))
        if touch.how == "undo":
            return now
        if touch.how == "shift":
            return self.shift(stage, name, now)
        reads = course.effect(stage, name).reads
        for place in touch.places:
            read = {other: now if other == name else self.at(other, place, i) for other in reads}
            now = self.effect(stage, name, read, now)
        return now

    def forgotten(self, stage: Stage) -> bool:
        """Whether what a stage undoes counts as not known any more."""
        return self._forgets is None or self._forgets(stage)

    # What differs between exact facts and reaches.

    def start(self, name: str, position: Position) -> V:
        """What holds before any work."""
        return self.of(self.course.binding.fact(name, position))

    def of(self, fact: Fact) -> V:
        """A fact as a value of this run."""
        raise NotImplementedError

    def done(self, stage: Stage) -> bool:
        """Whether a stage is done, or may be."""
        raise NotImplementedError

    def then(self, stage: Stage, before: V, after: V) -> V:
        """What holds after a stage that may have been done."""
        raise NotImplementedError

    def effect(self, stage: Stage, name: str, read: dict[str, V], now: V) -> V:
        """What an effect leaves."""
        raise NotImplementedError

    def shift(self, stage: Stage, name: str, now: V) -> V:
        """What a shift by a swapped part leaves."""
        raise NotImplementedError


@dataclass(frozen=True, slots=True)
class Left:
    """An effect that leaves the range plausible for the figure."""

    stage: Stage
    attribute: Attribute
    interval: Interval


class ExactRun(Run[Fact]):
    """Exact facts at chosen amounts; `steps` holds the number of steps of each stage done."""

    def __init__(self, course: Course, steps: Mapping[int, int],
                 forgets: Callable[[Stage], bool] | None = None) -> None:  # fmt: skip
        super().__init__(course, forgets)
        self.steps = steps
        self.left: list[Left] = []

    def of(self, fact: Fact) -> Fact:
        """A fact as it is."""
        return fact

    def done(self, stage: Stage) -> bool:
        """Whether it is done."""
        return self.steps.get(stage.number, 0) > 0

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
            half = step_of(operation) / 2
            facts["amount"] = _amount_fact(operation, Interval(amount - half, amount + half))
        return self._predicted(stage, attribute, effect.figures.of(facts)[id(effect.node)])

    def shift(self, stage: Stage, name: str, now: Fact) -> Fact:
        """The figure more or less by what the part makes it."""
        if not now.given or now.interval is None or stage.swap is None:
            return now
        by = stage.swap.shifts[name]
        interval = Interval(now.interval.lower + by.lower, now.interval.upper + by.upper)
        return self._predicted(stage, self.knowledge.attributes[name], interval)

    def _predicted(self, stage: Stage, attribute: Attribute, interval: Interval) -> Fact:
        plausible = attribute.plausible
        assert plausible is not None
        if not interval.meets(plausible):
            self.left.append(Left(stage, attribute, interval))
            end = plausible.lower if interval.upper < plausible.lower else plausible.upper
            interval = Interval.point(end)
        interval = interval.clipped(plausible)
        return Fact.quantity(attribute, Evidence.PREDICTED, interval, text=PREDICTED)


class ReachRun(Run[Reach]):
    """Reaches while the steps of each stage lie within bounds."""

    def __init__(self, course: Course, bounds: Mapping[int, tuple[int, int]],
                 forgets: Callable[[Stage], bool] | None = None) -> None:  # fmt: skip
        super().__init__(course, forgets)
        self.bounds = bounds

    def of(self, fact: Fact) -> Reach:
        """The reach of a fact as it is."""
        return self.course.reach(fact)

    def done(self, stage: Stage) -> bool:
        """Whether it may be done."""
        return self.bounds.get(stage.number, (0, 0))[1] > 0

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
        amount = effect.amount(*self.bounds[stage.number])
        if amount is not None:
            facts["amount"] = amount
        low, high = (padded(found, root.error) for found, root in
                     zip(effect.walk.over(facts), effect.walk.trees, strict=True))  # fmt: skip
        return self._within(stage, low, high, effect.bottom, effect.top, now)

    def shift(self, stage: Stage, name: str, now: Reach) -> Reach:
        """The figure more or less by what the part makes it."""
        plausible = self.knowledge.attributes[name].plausible
        if not now.given[1] or plausible is None or stage.swap is None:
            return now
        by = stage.swap.shifts[name]
        low, high = (padded((end[0] + float(more), end[1] + float(more)), 0.0)
                     for end, more in ((now.lower, by.lower), (now.upper, by.upper)))  # fmt: skip
        return self._within(stage, low, high, float(plausible.lower), float(plausible.upper), now)

    def _within(self, stage: Stage, low: Range, high: Range, bottom: float, top: float,
                now: Reach) -> Reach:  # fmt: skip
        """The reach cut to what is plausible, joined with that of not doing it."""
        out = now.out or (now.given[0] and (low[0] > top or high[1] < bottom))
        after = Reach(_clipped(low, bottom, top), _clipped(high, bottom, top), (True, True), out)
        if not now.given[0]:
            after = after.joined(now)
        return self.then(stage, now, after)


def _clipped(found: Range, bottom: float, top: float) -> Range:
    return min(max(found[0], bottom), top), min(max(found[1], bottom), top)


def _amount_fact(operation: Operation, interval: Interval) -> Fact:
    assert operation.amount is not None
    kind = operation.amount.kind
    attribute: Any = Attribute("amount", "amount", operation.each, kind=kind,
                               plausible=operation.amount.range)  # fmt: skip
    return Fact.quantity(attribute, Evidence.PREDICTED, interval)
