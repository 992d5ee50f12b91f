"""A plan as a work order: step by step, what it shall come to, what to mind and to measure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from fitcheck.check.needs import missing
from fitcheck.check.telling import describe_fact
from fitcheck.knowledge import SEVERITIES, Caution, Procedure, Rule
from fitcheck.language import variables
from fitcheck.language.tree import Apply, Variable
from fitcheck.model import Attribute, Each, Evidence, Fact, Position
from fitcheck.plan import cautions
from fitcheck.plan.going_with import going_with, may_be, rank_in_job
from fitcheck.plan.made import Plan
from fitcheck.plan.prices import Prices
from fitcheck.plan.stages import Costs, costs_of
from fitcheck.plan.work import (
    Work,
    fits_part,
    looks,
    order_of,
    places_at,
    removes_metal,
    swap_covers,
)
from fitcheck.quantity import Interval

_LISTED = ("present", "comes_with_head")


@dataclass(frozen=True, slots=True)
class Target:
    """What a step makes of a figure, at places where it comes to the same."""

    attribute: Attribute
    positions: tuple[Position, ...]
    before: Interval
    after: Interval


@dataclass(frozen=True, slots=True)
class JobStep:
    """One step; `note` is what the rules it mends say about doing it.

    `done` is its place among the works of the plan; None of what only goes with them.
    """

    number: int
    done: int | None
    work: Work
    costs: Costs
    targets: tuple[Target, ...]
    mends: tuple[Rule, ...]
    notes: tuple[str, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class LastMeasurement:
    """A figure to measure when the work comes back, and the rules that rest on it.

    `undone` tells that it is not known any more; else it is only predicted. `step` is that of the
    work order at which it is measured or set; 0 where none does.
    """

    attribute: Attribute
    positions: tuple[Position, ...]
    undone: bool
    procedure: Procedure | None
    rules: tuple[Rule, ...]
    cautions: tuple[Caution, ...]
    step: int


@dataclass(frozen=True, slots=True)
class WorkOrder:
    """The whole job in its order, what to measure afterwards, what to ask first.

    `for_use` are the cautions that the engine's use calls for whatever is done.
    """

    plan: Plan
    steps: tuple[JobStep, ...]
    readings: tuple[LastMeasurement, ...]
    questions: tuple[str, ...]
    for_use: tuple[Caution, ...]

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """All cautions, each once, in the order in which they are met."""
        met = [self.for_use]
        for group in (self.steps, self.readings):
            met += [one.cautions for one in group]
        return tuple({caution.id: caution for told in met for caution in told}.values())

    @property
    def total(self) -> Costs:
        """What the whole job costs, the plan and what goes with it."""
        return _sum([step.costs for step in self.steps]) if self.steps else self.plan.total


def work_order(plan: Plan, prices: Prices) -> WorkOrder:
    """The work order of a plan at a shop's prices."""
    steps = tuple(_numbered(plan, prices))
    readings = tuple(_readings(plan, steps))
    return WorkOrder(
        plan,
        steps,
        readings,
        tuple(_questions(plan, steps)),
        cautions.of_use(plan.before),
    )


def cost_of_job(plan: Plan, prices: Prices) -> Costs:
    """What a plan costs with all that goes with it."""
    steps = list(_numbered(plan, prices))
    return _sum([step.costs for step in steps]) if steps else plan.total


# Steps.


def _numbered(plan: Plan, prices: Prices) -> Iterator[JobStep]:
    """All steps in the order of the job."""
    knowledge = plan.before.knowledge
    order = order_of(knowledge)
    steps = [*_steps(plan), *_going_with(plan, prices)]
    steps.sort(key=lambda one: rank_in_job(one.work, knowledge, order))
    binding = plan.before.binding
    for number, step in enumerate(steps, 1):
        told = tuple(one for one in step.cautions if may_be(one.file.where, binding))
        yield replace(step, number=number, cautions=told)


def _going_with(plan: Plan, prices: Prices) -> Iterator[JobStep]:
    """What mends nothing and has to be done all the same, at the shop's prices."""
    knowledge = plan.before.knowledge
    for work in going_with(plan.applied.works, plan.before):
        assert work.operation is not None
        yield JobStep(
            0,
            None,
            work,
            costs_of(work.operation, len(work.positions), None, prices),
            (),
            (),
            (),
            cautions.named(work.operation.file.cautions, knowledge),
        )


def _steps(plan: Plan) -> Iterator[JobStep]:
    knowledge = plan.before.knowledge
    costs: dict[object, list[Costs]] = {}
    for work, cost in zip(plan.works, plan.costs, strict=True):
        costs.setdefault(_same(work), []).append(cost)
    clashing = {finding.rule.id: finding.rule for finding in plan.before.conflicts}
    for i, work in enumerate(plan.applied.works):
        name = work.operation.id if work.operation else work.swap.slot if work.swap else ""
        fixes = [
            (rule, fix)
            for rule in clashing.values()
            for fix in rule.fixes
            if name in (fix.operation, fix.replace)
        ]
        mends = tuple({rule.id: rule for rule, _ in fixes}.values())
        yield JobStep(
            0,
            i,
            work,
            _sum(costs[_same(work)]),
            tuple(_targets(plan, i, work)),
            mends,
            tuple(dict.fromkeys(fix.note for _, fix in fixes if fix.note)),
            cautions.of_work(work, mends, knowledge),
        )


def _same(work: Work) -> object:
    return (work.operation.id, work.amount) if work.operation else id(work.swap)


def _sum(costs: Iterable[Costs]) -> Costs:
    found = list(costs)
    total = found[0]
    for one in found[1:]:
        price = None if total.price is None or one.price is None else total.price + one.price
        total = Costs(
            price, total.hours + one.hours, total.metal + one.metal, total.parts + one.parts
        )
    return total


def _targets(plan: Plan, number: int, work: Work) -> Iterator[Target]:
    """What the step makes of each figure that was known."""
    knowledge, applied = plan.before.knowledge, plan.applied
    names = (
        list(work.operation.effects)
        if work.operation
        else list(work.swap.shifts)
        if work.swap
        else []
    )
    for name in names:
        attribute = knowledge.attributes[name]
        groups: dict[tuple[Interval, Interval], list[Position]] = {}
        for position in plan.before.build.layout.positions(attribute.each):
            if not _reached(work, attribute, position):
                continue
            before = applied.before(number, name, position)
            after = applied.after(number, name, position)
            if after.given and before.interval is not None and after.interval is not None:
                groups.setdefault((before.interval, after.interval), []).append(position)
        for (before_, after_), positions in groups.items():
            yield Target(attribute, tuple(positions), before_, after_)


def _reached(work: Work, attribute: Attribute, position: Position) -> bool:
    if work.swap is not None:
        return swap_covers(work.swap, position)
    assert work.operation is not None
    return bool(places_at(work.operation, work.positions, attribute, position))


# What to measure when it comes back.


def _readings(plan: Plan, steps: Iterable[JobStep]) -> Iterator[LastMeasurement]:
    knowledge, run = plan.before.knowledge, plan.applied.run
    spoken = {finding.rule.id for finding in plan.after.findings}
    mended = {finding.rule.id for finding in plan.before.conflicts}
    found: list[LastMeasurement] = []
    settled = {name: step.number for step in steps for name in _settled(step)}
    for name in sorted(plan.applied.changed):
        attribute = knowledge.attributes[name]
        if attribute.slot not in plan.after.build.parts or name.partition(".")[2] in _LISTED:
            continue
        rules = [rule for rule in knowledge.readers.get(name, ()) if rule.id in spoken]
        if not rules or attribute.text:
            continue
        rules.sort(key=lambda rule: (rule.id not in mended, SEVERITIES.index(rule.severity)))
        places: dict[bool, list[Position]] = {}
        for position in plan.after.build.layout.positions(attribute.each):
            before = run.course.binding.fact(name, position)
            after = run.at(name, position)
            if _told(before) == _told(after) or not (before.given or after.given):
                continue
            places.setdefault(not after.given, []).append(position)
        procedure = knowledge.procedures.get(attribute.measure)
        told = cautions.named(procedure.file.cautions if procedure else (), knowledge)
        found += [
            LastMeasurement(
                attribute,
                tuple(positions),
                undone,
                procedure,
                tuple(rules),
                told,
                settled.get(name, 0),
            )
            for undone, positions in places.items()
        ]
    yield from sorted(
        found,
        key=lambda one: (
            one.rules[0].id not in mended,
            SEVERITIES.index(one.rules[0].severity),
            not one.undone,
            one.attribute.name,
        ),
    )


def _settled(step: JobStep) -> Iterator[str]:
    """What is measured or set at a step that mends nothing."""
    operation = step.work.operation
    if step.done is None and operation is not None and operation.file.goes_with is not None:
        yield from map(str, operation.file.undoes if looks(operation) else ())
        yield from map(str, operation.file.goes_with.undone)


def _told(fact: Fact) -> object:
    return fact.given, fact.interval, fact.mask, fact.evidence


# What a machinist would ask before he starts.


def _questions(plan: Plan, steps: Iterable[JobStep]) -> Iterator[str]:
    knowledge, fitting = plan.before.knowledge, []
    claimed: dict[str, list[int]] = {}
    changed: dict[str, list[int]] = {}
    for step in steps:
        if step.done is None:
            continue
        for fact in _claimed(plan, step):
            name = knowledge.title_of(fact.attribute)
            claimed.setdefault(f"{name}, {describe_fact(fact)}", []).append(step.number)
        unknown = ", ".join(_unknown(plan, step))
        if unknown:
            changed.setdefault(unknown, []).append(step.number)
    for told, numbers in claimed.items():
        yield (
            f"The amount at {_named(numbers)} rests on a figure that nobody has measured: "
            f"{told}. Is it so?"
        )
    for told, numbers in changed.items():
        yield (
            f"{_named(numbers).capitalize()} change{'s' * (len(numbers) < 2)} what nobody has "
            f"measured: {told}. How much is there now, and how much may be left?"
        )
    for step in steps:
        operation = step.work.operation
        if operation is None or step.done is None:
            continue
        both = len(plan.before.build.layout.banks) > 1 and len(step.work.positions) > 1
        if operation.each == "bank" and both and removes_metal(operation):
            yield f"Can the heads be cut alike, in one setting, in step {step.number}?"
        if fits_part(operation):
            fitting.append(step.number)
    if fitting:
        yield (
            f"Which part goes in at {_named(fitting)}, and do its own figures agree with the "
            "step's?"
        )


def _named(numbers: list[int]) -> str:
    """As in `step 3` and `steps 3, 4`."""
    return f"step{'s' * (len(numbers) > 1)} {', '.join(map(str, numbers))}"


def _claimed(plan: Plan, step: JobStep) -> list[Fact]:
    """The weakest figure of each clash that an amount answers, where it is only claimed."""
    if step.work.amount is None:
        return []
    ids = {rule.id for rule in step.mends}
    found = {
        fact.attribute.name: fact
        for finding in plan.before.conflicts
        if finding.rule.id in ids
        for fact in [finding.weakest]
        if fact is not None and fact.evidence >= Evidence.CLAIMED and fact.statement is not None
    }
    return list(found.values())


def _unknown(plan: Plan, step: JobStep) -> Iterator[str]:
    """The figures that a step changes somewhere where they are not known."""
    knowledge, operation = plan.before.knowledge, step.work.operation
    if operation is None:
        return
    spoken = {finding.rule.id for finding in plan.after.findings}
    for name in operation.effects:
        attribute = knowledge.attributes[name]
        asked = any(rule.id in spoken for rule in knowledge.readers.get(name, ()))
        if attribute.slot not in plan.before.build.parts or not asked:
            continue
        places = plan.before.build.layout.positions(attribute.each)
        if any(
            _reached(step.work, attribute, place)
            and not plan.applied.before(step.done or 0, name, place).given
            and not _reckoned(plan, step.done or 0, name, place)
            for place in places
        ):
            yield knowledge.title_of(attribute)


def _reckoned(plan: Plan, number: int, name: str, place: Position) -> bool:
    """Whether a figure that nobody gave follows from others that somebody did."""
    for derived in plan.before.knowledge.derived.values():
        node = derived.node.inner
        if not (isinstance(node, Apply) and node.op == "agree"):
            continue
        if any(isinstance(way, Variable) and way.name == name for way in node.args):
            read = list(variables(node))
            attributes = (plan.before.knowledge.attributes[one] for one in read)
            if any(_finer(one.each, place) for one in attributes):
                continue
            facts = {one: plan.applied.before(number, one, place) for one in read}
            if not missing(node, facts):
                return True
    return False


def _finer(each: Each, place: Position) -> bool:
    """Whether there is more than one figure of a kind at a place."""
    return (each == "valve" and place.side is None) or (
        each in ("cylinder", "valve") and place.cylinder is None
    )
