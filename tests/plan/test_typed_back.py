"""Plans of the invented builds typed back in: the printed figures as if measured after the work.

Only what is printed is read: the data of the work order, the build file and the price file.
"""

from __future__ import annotations

import json

import pytest
import yaml

from fitcheck.check import Verdict, check_build, read_build
from fitcheck.cli.demo import demo_folder
from fitcheck.plan.others import others_in_kind
from fitcheck.plan.work_order import work_order
from fitcheck.report.plan_data import asked_data
from tests.plan.long import LONG
from tests.plan.typed_in import typed_in

NAMES = ("work_truck", "hill_climb_four", "service_boat")


def printed(plan, prices):
    """The work order as `--json` gives it."""
    return json.loads(json.dumps(asked_data(work_order(plan, prices), prices, "inch")))["plan"]


def typed_back(name, order, check, knowledge):
    """The check of the demo's build file with a work order typed in."""
    build, prices = (
        yaml.safe_load((demo_folder() / name / file).read_text(encoding="utf-8"))
        for file in ("build.yaml", "prices.yaml")
    )
    tree = typed_in(build, order, prices, check.build.layout, knowledge)
    text = yaml.safe_dump(tree, sort_keys=False)
    return check_build(read_build("typed.yaml", knowledge, text), knowledge)


def holds(name, plan, demos, given_up=()):
    """What clashes once it is typed back was announced; what the order says it mends, fits."""
    order = printed(plan, demos.prices(name))
    again = typed_back(name, order, demos.check(name), demos.knowledge)
    announced = {one["rule"] for one in order["conditions"]} | set(given_up)
    clashes = {finding.rule.id for finding in again.conflicts}
    assert clashes <= announced, clashes - announced
    graver = {finding.rule.id for finding in again.conflicts if finding.rule.severity != "advice"}
    assert graver <= set(given_up)  # a condition that is not met at the very figures is a remark
    assert order["mended"]
    for finding in again.findings:
        if finding.rule.id in order["mended"]:
            assert finding.verdict is Verdict.FITS, finding.rule.id


@pytest.mark.parametrize(
    "name", [name if name == "work_truck" else pytest.param(name, marks=LONG) for name in NAMES]
)
def test_no_clash_that_was_not_announced(demos, name):
    outcome = demos.plan(name)
    holds(name, outcome.plan, demos, {question.title for question in outcome.given_up})


@LONG
@pytest.mark.parametrize("name", NAMES)
def test_nor_in_the_plans_to_choose_between(demos, name):
    others = others_in_kind(demos.plan(name))
    assert others
    for plan in others:
        holds(name, plan, demos)


@LONG
@pytest.mark.parametrize("objective", ["hours", "parts"])
def test_nor_in_those_of_another_aim(demos, objective):
    holds("work_truck", demos.plan("work_truck", objective).plan, demos)
