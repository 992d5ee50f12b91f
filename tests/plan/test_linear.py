"""Where figures only add up, the cheapest plan against a general-purpose solver.

The same question is put to HiGHS as a mixed-integer program through scipy.optimize.milp.
"""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from fitcheck.knowledge.load import load_anew
from fitcheck.plan.question import Goal
from fitcheck.plan.work import order_of
from tests.plan.library import CYLINDER, MOST, VALVE, random_demands, random_works, written
from tests.plan.long import LONG
from tests.plan.reckoned import SIDES, Case, aimed, asked, there_and_back, verdict
from tests.plan.test_exhaustive import planned

CASES = 40


@pytest.fixture(scope="module")
def libraries(tmp_path_factory):
    found = []
    for seed in range(100, 104):
        random = Random(seed)
        works = random_works(random, 9, most=12, linear=True)
        demands = random_demands(random, 14, works, linear=True)
        folder = written(tmp_path_factory.mktemp(f"linear{seed}"), works, demands)
        found.append((load_anew(folder), works, demands))
    return found


def solved(case: Case) -> float | None:
    """The least cost by HiGHS; x are steps, y whether a work is done at all."""
    choices = case.choices()
    count = len(choices)
    start, rows, low = case.known(), [], []
    for demand, side in asked(case):
        word, _, _ = verdict(demand, side, start)
        middle, _, _ = verdict(demand, side, {key: aimed(one) for key, one in start.items()})
        # What clashed must fit at the worst, what did not must not clash at the middle; a remark,
        # and what was doubtful at its middle before, must only not clash whatever it is.
        worst = 0 if middle != "conflict" else -1
        if word == "conflict" and demand.severity != "advice":
            worst = 1
        turn = 1 if demand.op == ">=" else -1
        row, rest = np.zeros(2 * count), 0.0
        for sign, name in demand.terms:
            least, most, *_ = start[name, side if name in VALVE else ""]
            rest += turn * sign * (least + most) / 2 - worst * (most - least) / 2
            for i, (work, where) in enumerate(choices):
                if name in work.effects and (name in CYLINDER or where == side):
                    row[i] += turn * sign * work.effects[name][0] * 2 * work.step
                    row[count + i] -= worst * work.step
        rows.append(row)
        low.append(turn * 2 * demand.limit[0] - rest)
    high = [np.inf] * len(rows)
    for i, (work, _) in enumerate(choices):
        for factor, bottom in ((1, 0), (-1.0 / work.count, 0)):  # y <= x <= count * y
            row = np.zeros(2 * count)
            row[i], row[count + i] = (1, -1) if factor == 1 else (factor, 1)
            rows.append(row)
            low.append(bottom)
            high.append(np.inf)
        for j in range(i):
            pair = tuple(int(k in (i, j)) for k in range(count))
            if there_and_back(case, pair):
                row = np.zeros(2 * count)
                row[count + i] = row[count + j] = 1
                rows.append(row)
                low.append(-np.inf)
                high.append(1)
    cost = np.array([0.0] * count + [work.hours for work, _ in choices])
    upper = [work.count for work, _ in choices] + [1] * count
    answer = milp(
        cost,
        constraints=LinearConstraint(np.array(rows), np.array(low) - 1e-7, high),
        bounds=Bounds(0, upper),
        integrality=np.ones(2 * count),
        options={"mip_rel_gap": 0},
    )
    return answer.fun if answer.success else None


@LONG
def test_same_cost_as_a_solver(libraries):
    random = Random(11)
    planned_ones = impossible = 0
    for number in range(CASES):
        knowledge, works, demands = libraries[number % len(libraries)]
        order = order_of(knowledge)
        case = linear_case(random, works, demands, order)
        _, _, found, _ = planned(knowledge, case, Goal.MENDED)
        wanted = solved(case)
        if found is None or found.point is None:
            assert wanted is None, f"case {number}"
            impossible += 1
        else:
            assert wanted is not None, f"case {number}"
            assert float(found.cost[0]) * 100 == pytest.approx(wanted), f"case {number}"
            planned_ones += bool(found.point)
    assert planned_ones > 6 and impossible > 2, "the cases say too little"


def linear_case(random: Random, works, demands, order) -> Case:
    chosen = sorted(random.sample(works, 4), key=lambda work: order[work.name])
    facts = {}
    for name in (*VALVE, *CYLINDER):
        for side in SIDES if name in VALVE else ("",):
            low = MOST // 2 + random.randint(-40, 40)
            facts[name, side] = (low, low + random.choice([0, 2, 10]))
    narrow = [demand for demand in demands if demand.limit[0] == demand.limit[1]]
    return Case(chosen, random.sample(narrow, 3), facts, {})
