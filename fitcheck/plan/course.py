"""Which works change which figure at which place, and in what order."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from operator import itemgetter

from fitcheck.check.bind import Binding, gathered_places
from fitcheck.check.usual import Ordinary
from fitcheck.knowledge import Knowledge, Operation
from fitcheck.knowledge.figures import Figures
from fitcheck.language import YES_NO, variables
from fitcheck.model import Attribute, EngineBuild, Evidence, Fact, Part, Position
from fitcheck.plan.reach import RangeWalk, Reach
from fitcheck.plan.work import Swap, fits_part, least_of, places_at, step_of, swap_covers
from fitcheck.quantity import Interval

_YES, _NO = YES_NO.bit("yes"), YES_NO.bit("no")
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
    """How a stage changes a figure.

    By `effect` of an operation, by `undo`; by `swap` of its part, or `shift` by another's; as its
    part is new (`fit`) and newly `listed`; or as a spread whose single figures change (`gather`).
    """

    stage: Stage
    how: str
    places: tuple[Position, ...]


@dataclass(frozen=True, slots=True)
class Forgets:
    """Which stages make which figures that they undo count as not known any more.

    For a rule, `name`: its own remedies, `stages`, do so for what it reads, `names`.
    """

    name: str = ""
    stages: frozenset[int] = frozenset()
    names: frozenset[str] = frozenset()

    def __call__(self, stage: Stage, name: str) -> bool:
        """Whether a figure that a stage undoes counts as not known any more."""
        return name in self.names and stage.number in self.stages


class Effect:
    """An effect of an operation, with what is needed again and again to work it out."""

    def __init__(self, knowledge: Knowledge, operation: Operation, name: str) -> None:
        self.node = operation.effects[name]
        self.reads = tuple(other for other in variables(self.node) if other != "amount")
        self.walk = RangeWalk(knowledge.lowering.interval(self.node))
        self.figures = Figures(knowledge, [self.node], ("effect", operation.id, name))
        plausible = knowledge.attributes[name].plausible
        assert plausible is not None
        self.bottom, self.top = float(plausible.lower), float(plausible.upper)
        self._amount = operation.amount is not None
        if operation.amount is not None:
            self._least, self._step = float(least_of(operation)), float(step_of(operation))
            self._held = float(operation.amount.tolerance)

    def amount(self, least: int, most: int, *, aimed: bool = False) -> Reach | None:
        """The amount from one number of steps to another, held to its tolerance or as aimed at."""
        if not self._amount:
            return None
        low = self._least + (max(1, least) - 1) * self._step
        high = self._least + (max(1, most) - 1) * self._step
        held = 0.0 if aimed else self._held
        return Reach((low - held, high - held), (low + held, high + held))


class Aimed(Ordinary):
    """The facts of a build, each figure that somebody gave at the middle of what it may be.

    What work makes of a figure may hang on another that nobody gave: that is as usual then, at its
    middle, lest work count as a cure for what is not known.
    """

    def __init__(self, build: EngineBuild, knowledge: Knowledge) -> None:
        super().__init__(build, knowledge)
        self._middles: dict[Fact, Fact] = {}

    def fact(self, name: str, position: Position) -> Fact:
        """The fact that holds, at its middle; as wide as ever where nobody gave one."""
        fact = self.untold(name, position)
        return self._middle(fact) if fact.given else fact

    def guess(self, name: str, position: Position) -> Fact:
        """The same, and where nobody gave one the middle of what is usual."""
        return self._middle(super().fact(name, position))

    def _middle(self, fact: Fact) -> Fact:
        if fact.interval is None or not fact.interval.width:
            return fact
        found = self._middles.get(fact)
        if found is None:
            point = Interval.point(fact.interval.middle)
            found = self._middles[fact] = replace(
                fact, interval=point, low=float(point.lower), high=float(point.upper)
            )
        return found


def decided_by(slot: str, knowledge: Knowledge) -> set[str]:
    """What another part in a slot decides elsewhere: all that fitting one undoes by operation."""
    return {
        name
        for operation in knowledge.operations.values()
        if fits_part(operation) and operation.file.on == slot
        for name in map(str, operation.file.undoes)
        if not name.startswith(f"{slot}.")
    }


class Course:
    """A build and the stages that may change it, in the order in which they are done.

    With `aimed` facts an amount is what is aimed at, without the tolerance it is held to.
    """

    def __init__(self, binding: Binding, stages: Sequence[Stage]) -> None:
        self.binding = binding
        self.aimed = isinstance(binding, Aimed)
        self.knowledge: Knowledge = binding.knowledge
        self.stages = list(stages)
        self.numbers = {stage.number: i for i, stage in enumerate(self.stages)}
        self._by_name: dict[str, list[tuple[int, str]]] = {}
        self._by_part: dict[str, list[tuple[int, str]]] = {}
        self._by_side: set[str] = set()  # what a part on offer for one side changes
        self._decided: dict[str, set[str]] = {}
        for i, stage in enumerate(self.stages):
            by_name = self._by_name if stage.swap is None else self._by_part
            for name, how in self._touched(stage).items():
                by_name.setdefault(name, []).append((i, how))
                if stage.swap is not None and stage.swap.side:
                    self._by_side.add(name)
        self._touched_by_parts: dict[
            tuple[str, str | None],
            tuple[list[tuple[int, Touch]], frozenset[int], frozenset[int]],
        ] = {}
        self._touches: dict[tuple[str, Position], list[tuple[int, Touch]]] = {}
        self._by_place: dict[tuple[str, Position], dict[int, Touch]] = {}
        self._reached: dict[tuple[str, Position], frozenset[int]] = {}
        self._swapped: dict[int, Binding] = {}
        self._effects: dict[tuple[int, str], Effect] = {}
        self._reaches: dict[int, Reach] = {}
        self._kept: list[Fact] = []

    def _touched(self, stage: Stage) -> dict[str, str]:
        """What the stage changes, by name."""
        knowledge, swap = self.knowledge, stage.swap
        if swap is not None:
            own = knowledge.classes[swap.slot].attributes
            kept = swap.keeps
            if swap.slot not in self._decided:
                self._decided[swap.slot] = decided_by(swap.slot, knowledge)
            return (
                dict.fromkeys(self._decided[swap.slot] - kept, "undo")
                | dict.fromkeys(swap.undoes, "undo")
                | {name: "swap" for name in own if name not in kept}
                | dict.fromkeys(swap.shifts, "shift")
            )
        operation = stage.operation
        assert operation is not None
        parts, slot = self.binding.build.parts, str(operation.file.on)
        found: dict[str, str] = {}
        if slot not in parts and knowledge.classes[slot].optional:
            for name, attribute in knowledge.classes[slot].attributes.items():
                found[name] = (
                    "listed"
                    if name.partition(".")[2] in _LISTED
                    else "fit"
                    if attribute.absent or name in operation.file.undoes
                    else ""
                )
        for undone in map(str, operation.file.undoes):
            if undone.partition(".")[0] in parts:
                single = knowledge.attributes[undone].spread_of
                gathers = single in operation.effects and self._measured(single)
                found.setdefault(undone, "gather" if gathers else "undo")
        for name in operation.effects:
            target = name.partition(".")[0]
            if target in parts or target == slot or not knowledge.classes[target].optional:
                found[name] = "effect"
        return {name: how for name, how in found.items() if how}

    def _measured(self, name: str) -> bool:
        """Whether a figure is measured everywhere: else a measured spread knows better."""
        places = self.binding.build.layout.positions(self.knowledge.attributes[name].each)
        facts = [self.binding.fact(name, place) for place in places]
        return all(fact.given and fact.evidence <= Evidence.PREDICTED for fact in facts)

    @property
    def names(self) -> list[str]:
        """Every figure that a stage can change."""
        return list(self._by_name | self._by_part)

    @cached_property
    def read_by_effects(self) -> frozenset[str]:
        """What effects of the stages read."""
        worked = [(stage, stage.operation) for stage in self.stages if stage.operation is not None]
        return frozenset(
            name
            for stage, operation in worked
            for effect in operation.effects
            for name in self.effect(stage, effect).reads
        )

    def stage(self, number: int) -> Stage:
        """A stage by its number."""
        return self.stages[self.numbers[number]]

    def gathered(self, name: str, position: Position) -> list[tuple[str, Position]]:
        """The single figures that a spread is the spread of; none for any other figure."""
        attribute = self.knowledge.attributes.get(name)
        if attribute is None or not attribute.spread_of:
            return []
        of = self.knowledge.attributes[attribute.spread_of]
        places = gathered_places(attribute, of, self.binding.build.layout, position)
        return [(of.name, place) for place in places]

    def gathers(self, name: str) -> str:
        """The figure that a spread is the spread of; none for any other figure."""
        attribute = self.knowledge.attributes.get(name)
        return attribute.spread_of if attribute is not None else ""

    def touching(self, name: str, position: Position) -> list[tuple[int, Touch]]:
        """The stages that change a figure at a position, in order."""
        key = (name, position)
        found = self._touches.get(key)
        if found is None:
            found = self._touches[key] = self._find_touches(name, position)
        return found

    def touching_by_place(self, name: str, position: Position) -> dict[int, Touch]:
        """The same by their place in the order, for finding few among many."""
        key = (name, position)
        found = self._by_place.get(key)
        if found is None:
            found = self._by_place[key] = dict(self.touching(name, position))
        return found

    def _find_touches(self, name: str, position: Position) -> list[tuple[int, Touch]]:
        found = []
        for i, how in self._by_name.get(name, ()):
            stage = self.stages[i]
            places: tuple[Position, ...]
            if how == "listed":
                places = (position,)
            else:
                assert stage.operation is not None
                attribute = self.knowledge.attributes[name]
                places = places_at(stage.operation, stage.positions, attribute, position)
            if places:
                found.append((i, Touch(stage, how, places)))
        return sorted([*self._parts(name, position), *found], key=itemgetter(0))

    def _parts(self, name: str, position: Position) -> list[tuple[int, Touch]]:
        """The parts on offer that change a figure: there may be a thousand of them."""
        key = self._parts_key(name, position)
        found = self._touched_by_parts.get(key)
        if found is None:
            touches = [
                (i, Touch(self.stages[i], how, ()))
                for i, how in self._by_part.get(name, ())
                if swap_covers(self._swap(i), position)
            ]
            found = self._touched_by_parts[key] = (
                touches,
                frozenset(touch.stage.number for _, touch in touches if touch.how != "undo"),
                frozenset(touch.stage.number for _, touch in touches if touch.how == "undo"),
            )
        return found[0]

    def _parts_key(self, name: str, position: Position) -> tuple[str, str | None]:
        return name, position.side if name in self._by_side else None

    def _swap(self, i: int) -> Swap:
        swap = self.stages[i].swap
        assert swap is not None
        return swap

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

    def reached(self, name: str, position: Position) -> frozenset[int]:
        """The stages that change a figure at a position, or one that effects on it read."""
        key = (name, position)
        found = self._reached.get(key)
        if found is None:
            found = self._reached[key] = frozenset(self.acting([name], position))
        return found

    def acting(
        self, names: Iterable[str], position: Position, forgets: Forgets | None = None
    ) -> set[int]:
        """The stages that change figures at a position, or such as effects on them read.

        With `forgets`, those that merely undo a figure count only where it is forgotten then.
        """
        found: set[int] = set()
        seen: set[tuple[str, Position]] = set()
        stack = [(name, position) for name in names]
        while stack:
            name, at = stack.pop()
            if name != "side":
                at = self.at_level(self.knowledge.attributes[name], at)
            if (name, at) in seen:
                continue
            seen.add((name, at))
            stack += self.gathered(name, at)
            parts = self._parts(name, at)
            if parts:
                _, brings, undo = self._touched_by_parts[self._parts_key(name, at)]
                found |= brings
                if forgets is None:
                    found |= undo
                elif name in forgets.names:
                    found |= undo & forgets.stages
            for _, touch in self.touching(name, at)[len(parts) :]:
                if forgets is not None and touch.how == "undo" and not forgets(touch.stage, name):
                    continue
                found.add(touch.stage.number)
                if touch.how == "effect" and touch.stage.operation is not None:
                    for other in self.effect(touch.stage, name).reads:
                        if other != name:
                            stack += [(other, place) for place in touch.places]
        return found

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
            alone = EngineBuild("", "", build.layout, {swap.slot: (part,)}, frozenset())
            binding = self._swapped[stage.number] = type(self.binding)(alone, self.knowledge)
        if name.endswith(".comes_with_head"):
            return self.listed(name)
        return binding.fact(name, position)

    def listed(self, name: str) -> Fact:
        """That a part newly listed is there, and did not come with the head."""
        mask = _NO if name.endswith(".comes_with_head") else _YES
        return Fact(
            self.knowledge.attributes[name],
            Evidence.MEASURED,
            True,
            mask=mask,
            sure=mask,
            text="as listed",
        )
