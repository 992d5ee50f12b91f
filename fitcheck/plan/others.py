"""Plans of another kind than the cheapest: without one of its works, or without cutting metal."""

from __future__ import annotations

from time import monotonic

from fitcheck.plan.amounts import settled
from fitcheck.plan.made import Plan
from fitcheck.plan.planner import PlanOutcome
from fitcheck.plan.search import Bound, Clause, time_left
from fitcheck.plan.work import Work, removes_metal


def others_in_kind(outcome: PlanOutcome, seconds: float | None = None, most: int = 3) -> list[Plan]:
    """Plans that do without a work of the cheapest one, or without all that cuts metal.

    The cheapest come first.
    """
    plan, planner = outcome.plan, outcome.planner
    if plan is None:
        return []
    until = None if seconds is None else monotonic() + seconds
    questions, known = outcome.questions, dict.fromkeys(outcome.clauses)
    kinds = {_kind(work): None for work in plan.works}
    found: dict[frozenset[str], Plan] = {frozenset(kinds): plan}
    works = [planner.stages.work(number, 1) for number in range(len(planner.stages.list))]
    left_out = [[_kind(work) == kind for work in works] for kind in kinds]
    if plan.cuts:
        left_out.append([bool(one.operation and removes_metal(one.operation)) for one in works])
    for left in left_out:
        without = [Clause((Bound(number, 0, most=True),)) for number, out in enumerate(left) if out]
        other = planner.search(questions.judge, time_left(until), [*known, *without])
        # What one search learns of the questions holds in all.
        known |= dict.fromkeys(one for one in other.clauses if one.reason is not None)
        if other.point is not None:
            point = settled(other.point, questions, planner.stages)
            made = planner.made(other, point, outcome.goal)
            kept = found.setdefault(frozenset(map(_kind, made.works)), made)
            if made.cost < kept.cost:
                found[frozenset(map(_kind, made.works))] = made
    return sorted((one for one in found.values() if one is not plan), key=lambda one: one.cost)[
        :most
    ]


def _kind(work: Work) -> str:
    return work.operation.id if work.operation else f"{work.swap and work.swap.name} {work.title}"
