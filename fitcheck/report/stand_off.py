"""Why the amount of a plan's step is not the one that a check names."""

from __future__ import annotations

from fitcheck.check.mending import mends
from fitcheck.plan.made import Plan
from fitcheck.plan.work import Work, covers
from fitcheck.plan.work_order import JobStep
from fitcheck.quantity import Interval, System, show_safe


def notes_of(step: JobStep, plan: Plan, system: System) -> tuple[str, ...]:
    """What is to be said of a step besides what it does."""
    return tuple(filter(None, (*step.notes, _stands_off(step.work, plan, system))))


def _stands_off(work: Work, plan: Plan, system: System) -> str:
    """What a check asks of the same work, where the plan does more of it or less; else nothing."""
    operation, amount = work.operation, work.amount
    if operation is None or operation.amount is None or amount is None:
        return ""
    asked = [
        mend.amount.upper
        for finding in plan.before.conflicts
        if any(
            covers(at, to) or covers(to, at) for at in work.positions for to in finding.positions
        )
        for mend in mends(finding, system)
        if mend.operation is operation and mend.amount is not None
    ]
    if not asked or max(asked) == amount:
        return ""
    told = show_safe(Interval.point(max(asked)), operation.amount.kind, system, up=True)
    if max(asked) < amount:
        return (
            f"a check, which looks at one clash alone, asks for {told}; more keeps off the edge of "
            "the limit, or makes up for other steps"
        )
    return f"a check asks for {told} of this alone; other steps give the rest"
