"""The invented builds and their shops' prices, with the plans made for them, each once a run."""

from __future__ import annotations

from functools import cache

from fitcheck.check import Check, check_build, read_build
from fitcheck.cli.demo import demo_folder
from fitcheck.knowledge import Knowledge, default_rules
from fitcheck.knowledge.load import load_anew
from fitcheck.plan.planner import Outcome, make_plan
from fitcheck.plan.prices import Prices, read_prices
from fitcheck.plan.stages import Objective

NAMES = ("work_truck", "service_boat", "hill_climb_four")


@cache
def known() -> Knowledge:
    return load_anew(default_rules())


@cache
def checked(name: str) -> Check:
    return check_build(read_build(demo_folder() / name / "build.yaml", known()), known())


@cache
def priced(name: str) -> Prices:
    layout = checked(name).build.layout
    return read_prices(demo_folder() / name / "prices.yaml", known(), layout)


@cache
def planned(name: str, objective: Objective = "price") -> Outcome:
    return make_plan(checked(name), priced(name), objective)
