"""Plans of another kind than the cheapest: without one of its works, or without cutting metal."""

from __future__ import annotations

from dataclasses import replace
from time import monotonic

from fitcheck.plan.amounts import settled
from fitcheck.plan.made import Plan
from fitcheck.plan.planner import PlanOutcome
from fitcheck.plan.search import Bound, Clause, over, time_left
from fitcheck.plan.work import Work, removes_metal

# Seconds in which the cheapest plan of one kind is sought, and then any of it.
_CHEAPEST, _ANY = 4.0, 2.0


def others_in_kind(outcome: PlanOutcome, seconds: float | None = None, most: int = 3) -> list[Plan]:
    """Plans that do without a work of the cheapest one, or without all that cuts metal.

    The cheapest come first; each is the cheapest of its kind, or what was found of it in some
    seconds.
    """
    plan, planner = outcome.plan, outcome.planner
    if plan is None:
        return []
    until = None if seconds is None else monotonic() + seconds
    questions, known = outcome.questions, dict.fromkeys(outcome.clauses)
    kinds = {_kind(work): None for work in plan.works}
    best: dict[frozenset[str], Plan] = {frozenset(kinds): plan}
    works = [planner.stages.work(number, 1) for number in range(len(planner.stages.list))]
    left_out = [[_kind(work) == kind for work in works] for kind in kinds]
    if plan.cuts:
        left_out.append([bool(one.operation and removes_metal(one.operation)) for one in works])
    point = planner.stages.point_of(plan.works)
    for left in left_out:
        without = {number for number, out in enumerate(left) if out}
        clauses = [Clause((Bound(number, 0, most=True),)) for number in without]
        seconds = min(_CHEAPEST, time_left(until) or _CHEAPEST)
        other = planner.search(questions.judge, seconds, [*known, *clauses])
        if other.point is None and not other.proven and not over(until):
            repair = planner.repair(questions, point, without)
            some = repair.run(monotonic() + _ANY)
            if some is not None:
                other = replace(other, point=some, cost=repair.cost(some))
        # What one search learns of the questions holds in all.
        known |= dict.fromkeys(one for one in other.clauses if one.reason is not None)
        if other.point is not None:
            there = settled(other.point, questions, planner.stages)
            made = planner.made(other, there, outcome.goal)
            kept = best.setdefault(frozenset(map(_kind, made.works)), made)
            if made.cost < kept.cost:
                best[frozenset(map(_kind, made.works))] = made
    return sorted((one for one in best.values() if one is not plan), key=lambda one: one.cost)[
        :most
    ]


def _kind(work: Work) -> str:
    return work.operation.id if work.operation else f"{work.swap and work.swap.name} {work.title}"
