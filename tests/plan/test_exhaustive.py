"""The cheapest plan against every plan tried, on small random libraries and builds."""

from __future__ import annotations

import os
from fractions import Fraction
from random import Random

import pytest

from fitcheck.check import check_build, read_build
from fitcheck.knowledge import Knowledge
from fitcheck.knowledge.load import load_anew
from fitcheck.plan.planner import Planner
from fitcheck.plan.prices import NO_PRICES
from fitcheck.plan.question import Goal
from fitcheck.plan.work import order_of
from tests.plan.library import (
    CYLINDER,
    MOST,
    VALVE,
    build_text,
    random_demands,
    random_works,
    written,
)
from tests.plan.reckoned import SIDES, Case, allowed, cheapest

pytestmark = pytest.mark.in_ci
CASES = 240 if "FITCHECK_PLANS" in os.environ else 90
LIBRARIES = 8


def random_case(random: Random, works, demands, order, share: float = 0.85) -> Case:
    chosen = sorted(random.sample(works, 3), key=lambda work: order[work.name])
    asked = random.sample(demands, random.randint(2, 4))
    facts = {}
    for name in (*VALVE, *CYLINDER):
        for side in SIDES if name in VALVE else ("",):
            if random.random() < share:
                low = MOST // 2 + random.randint(-40, 40)
                facts[name, side] = (low, low + random.choice([0, 2, 10]))
    ratios = {
        side: random.choice([(1, 1), (2, 2), (1, 2)]) for side in SIDES if random.random() < 0.7
    }
    return Case(chosen, asked, facts, ratios)


@pytest.fixture(scope="module")
def libraries(tmp_path_factory):
    found = []
    for seed in range(LIBRARIES):
        random = Random(seed)
        works = random_works(random, 8)
        demands = random_demands(random, 14, works, linear=False)
        folder = written(tmp_path_factory.mktemp(f"library{seed}"), works, demands)
        found.append((load_anew(folder), works, demands))
    return found


def planned(knowledge: Knowledge, case: Case, goal: Goal):
    """The planner's own answer to a case, with every operation of it allowed."""
    rules = {demand.name: knowledge.rules[demand.name] for demand in case.demands}
    chosen = knowledge.with_rules(rules)
    where = {"intake": "intake", "exhaust": "exhaust", "": "all"}
    facts = {(name, where[side]): value for (name, side), value in case.facts.items()}
    text = build_text(1, facts, case.ratios)
    check = check_build(read_build("case", chosen, text), chosen)
    operations = [chosen.operations[work.name] for work in case.works]
    planner = Planner(check, NO_PRICES, "hours", operations)
    questions = planner.questions(goal)
    if questions.hopeless:
        return check, planner, None, None
    some = planner.repair(questions)
    return check, planner, planner.search(questions.judge), some


@pytest.mark.parametrize("goal", list(Goal))
def test_same_cost_as_trying_all(libraries, goal):
    random = Random(7)
    planned_ones = impossible = mended = there = 0
    for number in range(CASES // 3):
        knowledge, works, demands = libraries[number % LIBRARIES]
        share = 1.0 if goal is Goal.DECIDED else 0.85
        case = random_case(random, works, demands, order_of(knowledge), share)
        _, planner, found, some = planned(knowledge, case, goal)
        wanted = cheapest(case, goal.value)
        point = some.run() if some else None
        there += wanted is not None
        if point is not None:  # mending one thing after another finds a plan, if not the cheapest
            assert wanted is not None and some.cost(point)[0] >= Fraction(wanted, 100)
            assert allowed(case, steps_of(case, planner, point), goal.value)
            mended += 1
        if found is None or found.point is None:
            assert wanted is None, f"case {number}: a plan of {wanted} exists"
            impossible += 1
            continue
        assert found.proven
        assert found.cost[0] == Fraction(wanted, 100), f"case {number}"
        assert allowed(case, steps_of(case, planner, found.point), goal.value)
        planned_ones += bool(found.point)
    assert planned_ones > 2 and impossible > 5, "the cases say too little"
    print(f"{goal.value}: {mended} of {there} plans found by mending alone")
    assert mended >= 0.8 * there


def steps_of(case: Case, planner: Planner, point) -> tuple[int, ...]:
    by_place = {
        (stage.operation.id, stage.positions[0].side or ""): point.get(stage.number, 0)
        for stage in planner.stages.list
    }
    return tuple(by_place[work.name, side] for work, side in case.choices())
