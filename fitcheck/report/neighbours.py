"""What a plan counts on that measurements beside it disprove, in words and as data."""

from __future__ import annotations

from typing import Any

from fitcheck.check.telling import describe_fact
from fitcheck.plan.made import Plan
from fitcheck.plan.neighbours import OnPaper
from fitcheck.quantity import System, show
from fitcheck.report.plan_answer import at


def neighbours_words(plan: Plan, system: System) -> list[str]:
    """What to measure before anything is paid for, as its neighbours disprove the paper."""
    return [_words(one, plan, system) for one in plan.disproved]


def _words(one: OnPaper, plan: Plan, system: System) -> str:
    title = plan.before.knowledge.title_of(one.attribute)
    assert one.attribute.kind is not None
    measured = show(one.measured, one.attribute.kind, system)
    return (
        f"NOBODY MEASURED {title}, {at(one.positions, plan.before.build.layout)}: it is "
        f"{describe_fact(one.said)}, and where it was measured beside it, it is {measured}. "
        "The plan takes it for what stands beside it; measure it before anything is paid for."
    )


def neighbours_data(plan: Plan, system: System) -> list[dict[str, Any]]:
    """The same as data."""
    return [
        {
            "attribute": one.attribute.name,
            "where": at(one.positions, plan.before.build.layout),
            "said": describe_fact(one.said),
            "measured_beside": show(one.measured, one.attribute.kind, system)
            if one.attribute.kind
            else "",
        }
        for one in plan.disproved
    ]
