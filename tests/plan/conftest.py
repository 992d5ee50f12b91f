"""The invented builds with their shops' prices, and the plans for them, each made once a run."""

from __future__ import annotations

import pytest

from fitcheck.check import BuildCheck, check_build, read_build
from fitcheck.cli.demo import demo_folder
from fitcheck.knowledge import Knowledge
from fitcheck.plan.planner import PlanOutcome, make_plan
from fitcheck.plan.prices import Prices, read_prices
from fitcheck.plan.stages import Objective


class Demos:
    """What is made of the invented builds, kept."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self._checks: dict[str, BuildCheck] = {}
        self._outcomes: dict[tuple[str, Objective], PlanOutcome] = {}

    def check(self, name: str) -> BuildCheck:
        if name not in self._checks:
            build = read_build(demo_folder() / name / "build.yaml", self.knowledge)
            self._checks[name] = check_build(build, self.knowledge)
        return self._checks[name]

    def prices(self, name: str) -> Prices:
        layout = self.check(name).build.layout
        return read_prices(demo_folder() / name / "prices.yaml", self.knowledge, layout)

    def plan(self, name: str, objective: Objective = "price") -> PlanOutcome:
        key = name, objective
        if key not in self._outcomes:
            self._outcomes[key] = make_plan(self.check(name), self.prices(name), objective)
        return self._outcomes[key]


@pytest.fixture(scope="session")
def demos(knowledge: Knowledge) -> Demos:
    return Demos(knowledge)
