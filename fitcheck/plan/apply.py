"""Applies works to a build: what is measured becomes predicted, what is undone unknown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fitcheck.check.bind import Binding
from fitcheck.knowledge import Knowledge
from fitcheck.model import (
    EVERYWHERE,
    SIDES,
    Attribute,
    EngineBuild,
    Evidence,
    Fact,
    Origin,
    Part,
    Position,
    Selector,
    Statement,
)
from fitcheck.plan.course import Course, Stage
from fitcheck.plan.runs import PREDICTED, ExactRun, Left
from fitcheck.plan.work import Work, amount_of, check_work, merged, most_steps, order_of
from fitcheck.quantity import Quantity, show
from fitcheck.source import BadInput, Problem

BY_PLAN = Origin(by="the plan")


@dataclass(frozen=True, slots=True)
class Applied:
    """A build after works, in the order in which they were done.

    `changed` names what may differ from before. `run` tells what holds for a figure at a
    position before each work and in the end.
    """

    build: EngineBuild
    works: tuple[Work, ...]
    changed: frozenset[str]
    run: ExactRun

    def before(self, number: int, name: str, position: Position) -> Fact:
        """What holds just before a work."""
        return self.run.at(name, position, number)

    def after(self, number: int, name: str, position: Position) -> Fact:
        """What holds just after a work."""
        return self.run.at(name, position, number + 1)


def apply(build: EngineBuild, knowledge: Knowledge, works: Sequence[Work]) -> Applied:
    """The build after the works, done in machining order; raises BadInput.

    Each effect is evaluated over the facts that hold when its work is done, with the tolerance to
    which the amount is held.
    """
    check_work(works, knowledge)
    ordered = merged(works, order_of(knowledge))
    stages = [Stage(i, work.operation, work.positions, work.swap) for i, work in enumerate(ordered)]
    course = Course(Binding(build, knowledge), stages)
    run = ExactRun(course, {i: _steps(work) for i, work in enumerate(ordered)})
    after = _rebuilt(course, run)
    if run.left:
        raise BadInput(dict.fromkeys(_told(left) for left in run.left))
    return Applied(after, tuple(ordered), frozenset(course.names), run)


def _steps(work: Work) -> int:
    """Which of an operation's amounts it is, counted from 1."""
    operation = work.operation
    if operation is None or operation.amount is None:
        return 1
    return next(
        steps
        for steps in range(1, most_steps(operation) + 1)
        if amount_of(operation, steps) == work.amount
    )


def _told(left: Left) -> Problem:
    operation, attribute = left.stage.operation, left.attribute
    assert operation is not None and attribute.kind is not None and attribute.plausible is not None
    shown, plausible = (
        show(left.interval, attribute.kind),
        show(attribute.plausible, attribute.kind),
    )
    return Problem(
        f"'{operation.id}' would bring {attribute.name} to {shown}, outside {plausible}, "
        "the range that is plausible for it",
        attribute.place,
        "take less, or check the figure before it",
    )


# The build's statements are written anew for every figure that a work can change.


def _rebuilt(course: Course, run: ExactRun) -> EngineBuild:
    build, knowledge = course.binding.build, course.knowledge
    names = [
        name
        for name in course.names
        if name.partition(".")[2] not in ("present", "comes_with_head")
    ]
    written: dict[str, list[Statement]] = {}
    for name in names:
        attribute = knowledge.attributes[name]
        written.setdefault(attribute.slot, []).extend(_statements(attribute, course, run))
    parts = dict(build.parts)
    gone = set(names)
    for slot, statements in written.items():
        swaps = [stage.swap for stage in course.stages if stage.swap and stage.swap.slot == slot]
        old = [
            replace(
                part, statements=tuple(s for s in part.statements if s.attribute.name not in gone)
            )
            for part in parts.get(slot, ())
        ]
        if swaps and not any(swap.side for swap in swaps):
            kept = tuple(s for part in old for s in part.statements)
            old = [Part(slot, swaps[0].name, swaps[0].seller, kept)]
        elif swaps:
            old = [Part(slot, swap.name, swap.seller, ()) for swap in swaps] + old
        fitted = any(
            stage.operation is not None and stage.operation.file.on == slot
            for stage in course.stages
        )
        if not old and not fitted and not statements:
            continue
        first, *others = old or [Part(slot, "", "", ())]
        parts[slot] = (replace(first, statements=(*first.statements, *statements)), *others)
    return replace(build, parts=parts, absent=build.absent - set(parts))


def _statements(attribute: Attribute, course: Course, run: ExactRun) -> list[Statement]:
    everywhere = course.binding.build.layout.positions(attribute.each)
    groups: dict[object, tuple[Fact, list[Position]]] = {}
    for position in everywhere:
        fact = run.at(attribute.name, position)
        key = (fact.interval, fact.rank, fact.text) if fact.statement is None else id(fact)
        groups.setdefault(key, (fact, []))[1].append(position)
    return [
        _statement(attribute, fact, selector)
        for fact, positions in groups.values()
        if fact.given and (fact.statement or not attribute.spread_of)
        for selector in _selectors(positions, everywhere)
    ]


def _selectors(positions: list[Position], everywhere: list[Position]) -> list[Selector]:
    if len(positions) == len(everywhere):
        return [EVERYWHERE]
    for side in SIDES:
        if positions == [position for position in everywhere if position.side == side]:
            return [Selector(side=side)]
    return [
        Selector(
            position.bank if position.cylinder is None else None, position.cylinder, position.side
        )
        for position in positions
    ]


def _statement(attribute: Attribute, fact: Fact, selector: Selector) -> Statement:
    if fact.statement is not None:
        return replace(fact.statement, selector=selector)
    if fact.interval is not None and attribute.kind is not None:
        text = show(fact.interval, attribute.kind) if fact.text == PREDICTED else fact.text
        value = Quantity(attribute.kind, fact.interval, text, stated=True)
        origin = BY_PLAN if fact.evidence is Evidence.PREDICTED else Origin()
        weakest = fact.weakest
        return Statement(attribute, selector, fact.evidence, value, origin, weakest=weakest)
    return Statement(attribute, selector, fact.evidence, fact.mask, Origin())
