"""The cheapest point by HiGHS: it keeps all reasons known so far, the judge gives more."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from fitcheck.plan.planner import Planner
from fitcheck.plan.questions import Questions
from fitcheck.plan.search import Bound, Clause


def by_solver(planner: Planner, questions: Questions) -> tuple[Fraction, int]:
    """The least price and how many points were put to the judge."""
    choices = planner.stages.choices()
    clauses: list[Clause] = list(planner.stages.clauses)
    clauses += [
        Clause((Bound(one, 0, most=True), Bound(other, 0, most=True)))
        for group in planner.stages.rivals
        for i, one in enumerate(group)
        for other in group[:i]
    ]
    asked = 0
    while True:
        point = _cheapest(choices, clauses)
        asked += 1
        known = frozenset(clause.reason for clause in clauses if not clause.holds(point))
        learned = list(questions.judge(point, known))
        if not learned:
            cost = sum((choices[c].cost(steps)[0] for c, steps in point.items()), Fraction(0))
            return cost, asked
        clauses += learned


def _cheapest(choices, clauses: list[Clause]) -> dict[int, int]:
    """One variable for each threshold that a reason speaks of: whether so many steps are done."""
    marks: dict[int, set[int]] = {}
    for clause in clauses:
        for bound in clause.bounds:
            marks.setdefault(bound.choice, set()).add(bound.steps + bound.most)
    # Past the last threshold of a choice there is no variable; a bound beyond it always holds.
    at = {
        (choice, steps): 0
        for choice, found in marks.items()
        for steps in sorted(found)
        if 0 < steps <= choices[choice].most
    }
    at = {key: number for number, key in enumerate(at)}
    cost = np.zeros(len(at))
    rows, low = [], []
    for (choice, steps), number in at.items():
        below = [s for c, s in at if c == choice and s < steps]
        before = choices[choice].cost(max(below))[0] if below else Fraction(0)
        cost[number] = float(choices[choice].cost(steps)[0] - before)
        if below:  # so many steps are done only if fewer are
            row = np.zeros(len(at))
            row[at[choice, max(below)]], row[number] = 1, -1
            rows.append(row)
            low.append(0)
    for clause in clauses:
        row, least = np.zeros(len(at)), 1
        for bound in clause.bounds:
            key = bound.choice, bound.steps + bound.most
            if key not in at:
                least -= bound.most or bound.steps <= 0
            elif bound.most:
                row[at[key]] -= 1
                least -= 1
            else:
                row[at[key]] += 1
        rows.append(row)
        low.append(least)
    if not at:
        return {}
    answer = milp(
        cost,
        constraints=LinearConstraint(np.array(rows), np.array(low, float) - 1e-7, np.inf),
        bounds=Bounds(0, 1),
        integrality=np.ones(len(at)),
        options={"mip_rel_gap": 0},
    )
    assert answer.success, answer.message
    point: dict[int, int] = {}
    for (choice, steps), number in at.items():
        if answer.x[number] > 0.5:
            point[choice] = max(point.get(choice, 0), steps)
    return point
