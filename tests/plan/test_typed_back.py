"""Plans of the invented builds typed back in: the planned figures as if measured after the work."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitcheck.check import check_build
from fitcheck.model import Evidence, Part
from fitcheck.quantity import Interval
from tests.plan.long import LONG

NAMES = ("work_truck", "hill_climb_four", "service_boat")


def typed_back(plan):
    """The build after the plan, each predicted figure measured at what was aimed at.

    A figure reads to a tenth of the work's tolerance, as with a finer instrument.
    """
    parts = {}
    for slot, ones in plan.applied.build.parts.items():
        parts[slot] = tuple(
            replace(one, statements=tuple(map(_read, one.statements))) for one in ones
        )
        assert all(isinstance(one, Part) for one in parts[slot])
    return replace(plan.applied.build, parts=parts)


def _read(statement):
    if statement.evidence is not Evidence.PREDICTED:
        return statement
    quantity = statement.value
    middle, half = quantity.interval.middle, quantity.interval.width / 20
    read = replace(quantity, interval=Interval(middle - half, middle + half))
    return replace(statement, evidence=Evidence.MEASURED, value=read, weakest=None)


@pytest.mark.parametrize(
    "name", [name if name == "work_truck" else pytest.param(name, marks=LONG) for name in NAMES]
)
def test_no_clash_that_was_not_announced(demos, name):
    outcome = demos.plan(name)
    plan = outcome.plan
    announced = {finding.rule.id for finding in plan.conditions}
    announced |= {question.title for question in outcome.less}
    again = check_build(typed_back(plan), demos.knowledge)
    clashes = {finding.rule.id for finding in again.conflicts}
    assert clashes <= announced, clashes - announced
