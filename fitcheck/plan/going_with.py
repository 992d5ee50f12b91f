"""What goes with work and mends nothing: taking apart, testing, washing, putting together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fitcheck.check import BuildCheck
from fitcheck.check.bind import Binding
from fitcheck.knowledge import Knowledge, Operation
from fitcheck.model import Position
from fitcheck.plan.work import Work, covers, fits_part, looks, order_of
from fitcheck.source import Text

# What shows whether the old parts are worth any money.
_BEFORE_MONEY = ("wash_and_inspect", "crack_test", "pressure_test")


def going_with(works: Sequence[Work], check: BuildCheck) -> list[Work]:
    """The operations that go with some works, where these are done, in machining order.

    What calls for an operation stands with it, as `goes_with`; one may call for another.
    """
    knowledge, binding = check.knowledge, check.binding
    order = order_of(knowledge)
    done = {work.operation.id for work in works if work.operation}
    waiting = [
        one
        for one in knowledge.operations.values()
        if one.file.goes_with is not None
        and one.id not in done
        and may_be(one.file.goes_with.where, binding)
    ]
    found: list[Work] = []
    again = True
    while again:
        again = False
        for operation in list(waiting):
            calling = [work for work in (*works, *found) if _calls_for(work, operation)]
            if calling:
                waiting.remove(operation)
                places = _places(operation, calling, check)
                found.append(Work(operation, places))
                again = True
    return sorted(found, key=lambda work: order[work.operation.id] if work.operation else 0)


def _calls_for(work: Work, operation: Operation) -> bool:
    with_ = operation.file.goes_with
    assert with_ is not None
    if work.swap is not None:
        return work.swap.slot in with_.parts
    assert work.operation is not None
    mending = work.operation.file.goes_with is None
    return (
        work.operation.id in with_.operations
        or (mending and work.operation.file.on in with_.parts)
        or (mending and not set(with_.undone).isdisjoint(work.operation.file.undoes))
    )


def may_be(where: Mapping[Text, Sequence[Text]], binding: Binding) -> bool:
    """Whether each attribute may be one of its options somewhere: lash is set on solids alone."""
    for name, options in where.items():
        attribute = binding.knowledge.attributes[name]
        wanted = sum(1 << attribute.options.index(str(one)) for one in options)
        places = binding.build.layout.positions(attribute.each)
        if not any(binding.fact(name, place).mask & wanted for place in places):
            return False
    return True


def _places(
    operation: Operation, calling: Sequence[Work], check: BuildCheck
) -> tuple[Position, ...]:
    at = [position for work in calling for position in work.positions]
    with_ = operation.file.goes_with
    everywhere = with_ is not None and with_.everywhere == "yes"
    return tuple(
        place
        for place in check.build.layout.positions(operation.each)
        if everywhere or any(covers(place, one) or covers(one, place) for one in at)
    )


def rank_in_job(work: Work, knowledge: Knowledge, order: Mapping[str, int]) -> float:
    """The place of a work in the job, by the machining `order`.

    Parts are bought once the old ones are found sound, and what they are ordered by is found.
    """
    if work.operation is not None:
        return order[work.operation.id]
    found = [
        name
        for operation in knowledge.operations.values()
        if work.swap is not None and operation.file.on == work.swap.slot and fits_part(operation)
        for name in map(str, operation.file.after)
        if looks(knowledge.operations[name]) and knowledge.operations[name].file.goes_with
    ]
    before = [*(name for name in _BEFORE_MONEY if name in order), *found]
    return max((order[name] for name in before), default=-1) + 0.5
