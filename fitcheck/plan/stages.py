"""The works among which a plan chooses: operations at groups of places, and parts on offer."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from fitcheck.check import BuildCheck
from fitcheck.check.bind import Binding
from fitcheck.knowledge import Knowledge, Operation, Rule
from fitcheck.language import YES_NO
from fitcheck.language.tree import Apply
from fitcheck.model import LEVELS, SIDES, Position
from fitcheck.plan.course import Stage
from fitcheck.plan.prices import Offer, Prices, hours_of
from fitcheck.plan.search import Bound, Choice, Clause, Cost
from fitcheck.plan.work import (
    Work,
    amount_of,
    covers,
    fits_part,
    looks,
    most_steps,
    order_of,
    removes_metal,
    steps_for,
)

Objective = Literal["price", "hours", "metal", "parts"]
OBJECTIVES: tuple[Objective, ...] = ("price", "hours", "metal", "parts")
# With more groups of places than this the places are told apart less finely.
MOST_GROUPS = 8
_NONE = Fraction(0)


@dataclass(frozen=True, slots=True)
class Costs:
    """What a work costs in each way; `price` is None where nobody told it.

    `metal` is what is cut, each cut as a share of the most that its operation takes.
    """

    price: Fraction | None
    hours: Fraction
    metal: Fraction
    parts: int

    def by(self, objective: Objective) -> Cost:
        """The cost as an objective counts it; of what costs the same the cheaper is better."""
        price = self.price or _NONE
        counted = {
            "price": price,
            "hours": self.hours,
            "metal": self.metal,
            "parts": Fraction(self.parts),
        }
        return counted[objective], price, self.hours


NOTHING: Cost = (_NONE, _NONE, _NONE)


def costs_of(operation: Operation, places: int, amount: Fraction | None, prices: Prices) -> Costs:
    """What an operation costs at some places."""
    price, hours, metal = prices.of(operation), hours_of(operation), _NONE
    if removes_metal(operation):
        metal = (
            Fraction(places)
            if amount is None or operation.amount is None
            else places * amount / operation.amount.range.upper
        )
    return Costs(
        None if price is None else price * places,
        hours * places,
        metal,
        places if fits_part(operation) else 0,
    )


def remedies(knowledge: Knowledge, rules: Iterable[Rule]) -> list[Operation]:
    """The operations that some rules name as remedies; to look at a thing mends nothing."""
    names = dict.fromkeys(fix.operation for rule in rules for fix in rule.fixes)
    operations = [knowledge.operations[name] for name in names if name]
    return [operation for operation in operations if not looks(operation)]


def _followers(knowledge: Knowledge, operations: Iterable[Operation]) -> dict[str, Operation]:
    """What has to follow some operations, and what has to follow that."""
    followers: dict[str, Operation] = {}
    waiting = list(operations)
    for operation in waiting:  # grows as it is gone through
        for name in map(str, operation.file.then):
            if name not in followers:
                followers[name] = knowledge.operations[name]
                waiting.append(followers[name])
    return followers


def whole_library(knowledge: Knowledge) -> list[Operation]:
    """Every operation that can change an answer: by an effect, or as somebody's remedy."""
    named = {operation.id for operation in remedies(knowledge, knowledge.rules.values())}
    return [
        operation
        for operation in knowledge.operations.values()
        if operation.effects or operation.id in named
    ]


def same_work(stage: Stage) -> object:
    """The same for the same work in another library; the parts on offer always come first."""
    return stage.number if stage.operation is None else (stage.operation.id, stage.positions)


def opposite(one: Operation, other: Operation) -> bool:
    """Whether one operation gives a part just what the other takes from it."""
    of_part = f"{one.file.on}."
    names = {name for name in one.effects if name.startswith(of_part)}
    if one.file.on != other.file.on or not names:
        return False
    return names == {name for name in other.effects if name.startswith(of_part)} and all(
        (_added(one, name, "+") and _added(other, name, "-"))
        or (_added(one, name, "-") and _added(other, name, "+"))
        for name in names
    )


def _added(operation: Operation, name: str, op: str) -> bool:
    """Whether an operation adds its amount to a figure, or takes it from it."""
    node = operation.effects[name]
    return (
        isinstance(node, Apply)
        and node.op == op
        and [getattr(arg, "name", "") for arg in node.args] == [name, "amount"]
    )


class Stages:
    """The choices of one plan: the operations given, and all parts on offer."""

    def __init__(
        self,
        check: BuildCheck,
        prices: Prices,
        objective: Objective,
        operations: Iterable[Operation],
    ) -> None:
        self.check = check
        self.knowledge: Knowledge = check.knowledge
        self.prices = prices
        self.objective: Objective = objective
        self.unpriced: dict[str, None] = {}
        self.offers: dict[int, Offer] = {}
        self.list: list[Stage] = []
        self.clauses: list[Clause] = []
        self._rivals: dict[tuple[str, str], list[int]] = {}
        self._follows: dict[int, int] = {}  # the stages that follow others, and these
        # Work on a head that mends a clash of the engine mends what differs between the heads.
        self.unequal = {
            fix.operation
            for finding in check.conflicts
            for fix in finding.rule.fixes
            if finding.rule.each == "engine"
            and fix.operation
            and self.knowledge.operations[fix.operation].each == "bank"
        }
        binding = check.binding
        for offer in prices.offers:
            if self._priced(offer.price, offer.swap.name or offer.swap.slot):
                self._offer(offer)
        order = order_of(self.knowledge)
        chosen = {operation.id: operation for operation in operations}
        following = _followers(self.knowledge, chosen.values())
        for operation in sorted((chosen | following).values(), key=lambda one: order[one.id]):
            if self._priced(prices.of(operation), operation.id):
                if operation.id in following:
                    self._follow(operation)
                if operation.id in chosen:
                    self._operation(operation, binding)
        self._not_there_and_back()
        self._not_without_what_follows(following)

    def _priced(self, price: Fraction | None, name: str) -> bool:
        """Whether something can be chosen by its price; what has none is noted."""
        if price is None:
            self.unpriced[name] = None
        return price is not None or self.objective != "price"

    def _offer(self, offer: Offer) -> None:
        swap, number = offer.swap, len(self.list)
        positions = tuple(
            p
            for p in self.check.build.layout.positions(self.knowledge.classes[swap.slot].each)
            if not swap.side or p.side == swap.side
        )
        self.list.append(Stage(number, None, positions, swap))
        for side in [swap.side] if swap.side else SIDES:
            self._rivals.setdefault((swap.slot, side), []).append(number)
        self.offers[number] = offer

    @property
    def rivals(self) -> list[tuple[int, ...]]:
        """Groups of offers for one place, of which one at most is bought."""
        return [tuple(numbers) for numbers in self._rivals.values() if len(numbers) > 1]

    def _not_both(self, one: int, other: int) -> None:
        self.clauses.append(Clause((Bound(one, 0, most=True), Bound(other, 0, most=True))))

    def _there(self, operation: Operation, binding: Binding) -> bool:
        """Whether what an operation works on is surely there: no unseen shim comes out."""
        slot = str(operation.file.on)
        if fits_part(operation) or not self.knowledge.classes[slot].optional:
            return True
        return binding.fact(f"{slot}.present", Position()).mask == YES_NO.bit("yes")

    def _operation(self, operation: Operation, binding: Binding) -> None:
        if not self._there(operation, binding):
            return
        for positions in self._groups(operation):
            self.list.append(Stage(len(self.list), operation, positions))
        alone = self._alone(operation, binding)
        if alone is not None:
            self._not_both(len(self.list) - 1, len(self.list))
            self.list.append(Stage(len(self.list), operation, (alone,)))

    def _not_there_and_back(self) -> None:
        """Nobody fits a thicker gasket and then a thinner one in the same place."""
        worked = [stage for stage in self.list if stage.operation is not None]
        for i, stage in enumerate(worked):
            for other in worked[i + 1 :]:
                assert stage.operation is not None and other.operation is not None
                if not set(stage.positions).isdisjoint(other.positions) and opposite(
                    stage.operation, other.operation
                ):
                    self._not_both(stage.number, other.number)

    def _follow(self, operation: Operation) -> None:
        """The least of an operation wherever another asks for it, and there alone."""
        for stage in list(self.list):
            if stage.operation is not None and operation.id in stage.operation.file.then:
                number = len(self.list)
                self.list.append(Stage(number, operation, stage.positions))
                self._follows[number] = stage.number
                self.clauses.append(Clause((Bound(number, 0, most=True), Bound(stage.number, 1))))

    def _not_without_what_follows(self, following: Mapping[str, Operation]) -> None:
        """A guide that is lined asks for its seat to be cut, unless that is done there anyway."""
        for number, leader in self._follows.items():
            first = self.list[number]
            anyway = [
                Bound(one.number, 1)
                for one in self.list
                if one.operation is first.operation
                and one.number not in self._follows
                and set(first.positions) <= set(one.positions)
            ]
            bounds = Bound(leader, 0, most=True), Bound(number, 1), *anyway
            self.clauses.append(Clause(bounds))
        for stage in self.list:  # what can't be had at all
            for name in stage.operation.file.then if stage.operation else ():
                if following[str(name)].id in self.unpriced and self.objective == "price":
                    self.clauses.append(Clause((Bound(stage.number, 0, most=True),)))

    # Groups of places.

    def _groups(self, operation: Operation) -> Iterator[tuple[Position, ...]]:
        """The places that get an operation alike: those at which the same things clash.

        Both heads get the same, intakes and exhausts may get different amounts; so may the chambers
        of two heads that are not alike.
        """
        positions = self.check.build.layout.positions(operation.each)
        if operation.each in ("engine", "bank"):
            yield tuple(positions)
            return
        for fineness in (2, 1, 0):
            groups: dict[object, list[Position]] = {}
            for position in positions:
                bank = position.bank if self.unequal and operation.each == "cylinder" else None
                key = (bank, position.side, self._clashes_at(operation, position, fineness))
                groups.setdefault(key, []).append(position)
            if len(groups) <= MOST_GROUPS or not fineness:
                yield from map(tuple, groups.values())
                return

    def _clashes_at(self, operation: Operation, position: Position, fineness: int) -> object:
        """What clashes at a position and can be changed there by the operation."""
        clashes = [
            finding
            for finding in self.check.conflicts
            if LEVELS.index(finding.rule.each) >= LEVELS.index("cylinder")
            and (
                not finding.rule.inputs.keys().isdisjoint(operation.effects)
                or any(fix.operation == operation.id for fix in finding.rule.fixes)
            )
            and any(covers(p, position) or covers(position, p) for p in finding.positions)
        ]
        return (
            None
            if not fineness
            else tuple(id(finding) if fineness == 2 else finding.rule.id for finding in clashes)
        )

    def _alone(self, operation: Operation, binding: Binding) -> Position | None:
        """The one head that may be worked alone, where unequal heads clash: that with least done.

        It is the head from which the figures that the operation adds its amount to are least.
        """
        banks = self.check.build.layout.positions("bank")
        if operation.each != "bank" or len(banks) < 2 or operation.id not in self.unequal:
            return None
        adding = [name for name in operation.effects if _added(operation, name, "+")]
        done = {
            bank: [
                binding.fact(name, bank).low for name in adding if binding.fact(name, bank).given
            ]
            for bank in banks
        }
        return min(banks, key=lambda bank: done[bank])

    # Costs.

    def costs(self, number: int, steps: int) -> Costs:
        """What a stage costs at a number of steps."""
        stage = self.list[number]
        count = len(stage.positions)
        if stage.operation is None:
            return Costs(self.offers[number].price, _NONE, _NONE, count)
        return costs_of(stage.operation, count, amount_of(stage.operation, steps), self.prices)

    def most(self, number: int) -> int:
        """How many steps a stage has."""
        if number in self._follows:
            return 1
        operation = self.list[number].operation
        return 1 if operation is None else most_steps(operation)

    def choices(self) -> list[Choice]:
        """The stages as choices of a search."""
        return [Choice(self.most(stage.number), self.cost_of(stage.number)) for stage in self.list]

    def cost_of(self, number: int) -> Callable[[int], Cost]:
        """What a stage costs by its number of steps, as the objective counts it."""
        known: dict[int, Cost] = {}

        def cost(steps: int) -> Cost:
            kept = known.get(steps)
            if kept is None:
                kept = known[steps] = self.costs(number, steps).by(self.objective)
            return kept

        return cost

    def work(self, number: int, steps: int) -> Work:
        """A stage at a number of steps, as work."""
        stage = self.list[number]
        amount = amount_of(stage.operation, steps) if stage.operation else None
        return Work(stage.operation, stage.positions, amount, stage.swap)

    def point_of(self, works: Iterable[Work]) -> dict[int, int]:
        """The steps of the stages that are some works."""

        def same(one: Stage | Work) -> object:
            return id(one.operation), id(one.swap), one.positions

        numbers = {same(stage): stage.number for stage in self.list}
        return {
            numbers[same(work)]: 1
            if work.operation is None
            else steps_for(work.operation, work.amount)
            for work in works
        }
