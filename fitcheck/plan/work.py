"""Work on a build: an operation at some places, or a part put in another's stead."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from fitcheck.knowledge import Knowledge, Operation
from fitcheck.language import variables
from fitcheck.model import LEVELS, Attribute, Position, Statement
from fitcheck.quantity import Interval, show
from fitcheck.source import BadInput, Place, Problem


@dataclass(frozen=True, slots=True)
class Swap:
    """A part that can take the place of the one in its slot, for all places or one side.

    What it `keeps` was found on the head, not on the part, or is as it was with such a part too;
    all else that such a part decides is undone, and what it `undoes` beside that; what it `shifts`
    becomes more or less by so much.
    """

    slot: str
    side: str
    name: str
    seller: str
    statements: tuple[Statement, ...]
    keeps: frozenset[str] = frozenset()
    undoes: frozenset[str] = frozenset()
    shifts: Mapping[str, Interval] = field(default_factory=dict)
    place: Place | None = field(default=None, repr=False)


@dataclass(frozen=True, slots=True)
class Work:
    """An operation at some places, by an amount where it takes one; or a swap."""

    operation: Operation | None
    positions: tuple[Position, ...]
    amount: Fraction | None = None
    swap: Swap | None = None

    @property
    def title(self) -> str:
        """What is done."""
        if self.swap is not None:
            return f"get {self.swap.name or self.swap.slot}"
        assert self.operation is not None
        return str(self.operation.file.title)

    @property
    def spread(self) -> Interval | None:
        """The amount with the tolerance to which it is done."""
        if self.amount is None or self.operation is None or self.operation.amount is None:
            return None
        held = self.operation.amount.tolerance
        return Interval(self.amount - held, self.amount + held)


def removes_metal(operation: Operation) -> bool:
    """Whether an operation takes metal off."""
    return "removes_metal" in map(str, operation.file.sort)


def fits_part(operation: Operation) -> bool:
    """Whether an operation puts in a part that was not there."""
    return "fits" in map(str, operation.file.sort)


def looks(operation: Operation) -> bool:
    """Whether an operation only looks at what there is: a test, a measurement."""
    return "looks" in map(str, operation.file.sort)


def step_of(operation: Operation) -> Fraction:
    """One step of the amount of an operation that takes one."""
    assert operation.amount is not None
    return operation.amount.step.interval.middle


def least_of(operation: Operation) -> Fraction:
    """The least amount in whole steps."""
    assert operation.amount is not None
    step = step_of(operation)
    return -(-operation.amount.range.lower // step) * step


def most_steps(operation: Operation) -> int:
    """How many amounts there are to choose from; one where the operation takes none."""
    if operation.amount is None:
        return 1
    return int((operation.amount.range.upper - least_of(operation)) // step_of(operation)) + 1


def amount_of(operation: Operation, steps: int) -> Fraction | None:
    """The amount number `steps`, counted from 1."""
    if operation.amount is None:
        return None
    return least_of(operation) + (steps - 1) * step_of(operation)


def steps_for(operation: Operation, amount: Fraction | None) -> int:
    """The least number of steps that gives an amount; more than there are where none does."""
    if amount is None or operation.amount is None:
        return 1
    beyond = amount - least_of(operation)
    return max(1, int(-(-beyond // step_of(operation))) + 1)


def order_of(knowledge: Knowledge) -> dict[str, int]:
    """The place of each operation in the machining order of the whole library.

    Of operations that do not wait for each other those that only fit parts come last.
    """
    waiting = {
        name: {str(other) for other in operation.file.after}
        for name, operation in knowledge.operations.items()
    }
    rank = {
        name: (fits_part(operation) and not removes_metal(operation), number)
        for number, (name, operation) in enumerate(knowledge.operations.items())
    }
    order: dict[str, int] = {}
    while waiting:
        free = [name for name, others in waiting.items() if others <= order.keys()]
        chosen = min(free, key=rank.__getitem__)
        order[chosen] = len(order)
        del waiting[chosen]
    return order


def check_work(works: Sequence[Work], knowledge: Knowledge) -> None:
    """Refuse amounts off their step or out of range, and effects that cannot be read."""
    problems: list[Problem] = []
    for work in works:
        operation = work.operation
        if operation is None:
            continue
        place = operation.file.title.place if hasattr(operation.file.title, "place") else None
        if operation.amount is None:
            if work.amount is not None:
                problems.append(Problem(f"'{operation.id}' takes no amount", place, "leave it out"))
            continue
        problem = _amount_problem(operation, work.amount)
        if problem:
            problems.append(Problem(problem, place, _amounts(operation)))
    problems += effect_problems(knowledge)
    if problems:
        raise BadInput(problems)


def _amount_problem(operation: Operation, amount: Fraction | None) -> str:
    assert operation.amount is not None
    if amount is None:
        return f"'{operation.id}' needs an amount"
    shown = show(Interval.point(amount), operation.amount.kind)
    span = operation.amount.range
    if not span.lower <= amount <= span.upper:
        return f"{shown} is outside the range of '{operation.id}'"
    if (amount - least_of(operation)) % step_of(operation):
        return f"{shown} is off the step of '{operation.id}'"
    return ""


def _amounts(operation: Operation) -> str:
    assert operation.amount is not None
    kind = operation.amount.kind
    step = show(Interval.point(step_of(operation)), kind)
    return f"it is done in steps of {step}, within {show(operation.amount.range, kind)}"


def effect_problems(knowledge: Knowledge) -> list[Problem]:
    """Effects that read a figure which differs within the place they change."""
    problems = []
    for operation in knowledge.operations.values():
        for target, node in operation.effects.items():
            at = max(LEVELS.index(operation.each), LEVELS.index(knowledge.attributes[target].each))
            for name in variables(node):
                attribute = knowledge.attributes.get(name)
                if attribute is not None and LEVELS.index(attribute.each) > at:
                    problems.append(
                        Problem(
                            f"the effect of '{operation.id}' on {target} reads {name}, which is "
                            f"one figure for each {attribute.each}",
                            attribute.place,
                            "read a figure of the same place",
                        )
                    )
    return problems


def covers(outer: Position, inner: Position) -> bool:
    """Whether one place holds another, or is it."""
    return (
        (outer.bank is None or outer.bank == inner.bank)
        and (outer.cylinder is None or outer.cylinder == inner.cylinder)
        and (outer.side is None or outer.side == inner.side)
    )


def places_at(
    operation: Operation, positions: Sequence[Position], attribute: Attribute, position: Position
) -> tuple[Position, ...]:
    """Where the operation changes the attribute's figure at a position; empty where it does not.

    Work on a head reaches every chamber of it. Work at two valves adds up in the chamber they
    share. A figure of the whole engine is changed once by work that all banks get alike.
    """
    if LEVELS.index(operation.each) <= LEVELS.index(attribute.each):
        return (position,) if any(covers(place, position) for place in positions) else ()
    places = tuple(place for place in positions if covers(position, place))
    return places if (operation.each, attribute.each) == ("valve", "cylinder") else places[:1]


def swap_covers(swap: Swap, position: Position) -> bool:
    """Whether a swap changes what holds at a position."""
    return not swap.side or position.side in (None, swap.side)


def merged(works: Sequence[Work], order: Mapping[str, int]) -> list[Work]:
    """Works in machining order, swaps first; those alike in operation and amount as one."""
    groups: dict[tuple[str, Fraction | None], list[Position]] = {}
    for work in works:
        if work.operation is not None:
            key = (work.operation.id, work.amount)
            groups.setdefault(key, []).extend(work.positions)
    works_merged = [work for work in works if work.swap is not None]
    operations = {work.operation.id: work.operation for work in works if work.operation}
    for (name, amount), positions in sorted(groups.items(), key=lambda item: order[item[0][0]]):
        placed = tuple(sorted(dict.fromkeys(positions), key=Position.order))
        works_merged.append(Work(operations[name], placed, amount))
    return works_merged
