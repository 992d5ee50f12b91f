"""The search alone: random clauses and rivals, against every point tried."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from random import Random

from fitcheck.plan.search import Bound, Choice, Clause, Progress, WorkSearch

CASES = 300


def random_clauses(random: Random, most: list[int]) -> list[Clause]:
    clauses = []
    for _ in range(random.randint(1, 8)):
        bounds = []
        for choice in random.sample(range(len(most)), random.randint(1, min(3, len(most)))):
            if random.random() < 0.3:
                bounds.append(Bound(choice, random.randint(0, most[choice]), most=True))
            else:
                bounds.append(Bound(choice, random.randint(1, most[choice])))
        clauses.append(Clause(tuple(bounds)))
    return clauses


def test_cheapest_of_all_points():
    """The judge tells one violated clause at a time, as late as he can."""
    random, impossible = Random(5), 0
    for number in range(CASES):
        most = [random.randint(1, 4) for _ in range(random.randint(2, 5))]
        prices = [[0, *sorted(random.choices(range(1, 30), k=top))] for top in most]
        clauses = random_clauses(random, most)

        def judge(point, known, clauses=clauses):
            return [clause for clause in clauses if not clause.holds(point)][:1]

        choices = [
            Choice(top, lambda steps, own=own: (Fraction(own[steps]),))
            for top, own in zip(most, prices, strict=True)
        ]
        rivals = [random.sample(range(len(most)), 2)] if random.random() < 0.5 else []
        found = WorkSearch(choices, judge, (Fraction(0),), rivals=rivals).run()
        costs = [
            sum(own[steps] for own, steps in zip(prices, point, strict=True))
            for point in product(*(range(top + 1) for top in most))
            if all(clause.holds(dict(enumerate(point))) for clause in clauses)
            and not any(all(point[choice] for choice in group) for group in rivals)
        ]
        assert found.proven
        if found.point is None:
            assert not costs, number
            impossible += 1
        else:
            assert found.cost == (min(costs),), number
            assert all(clause.holds(found.point) for clause in clauses)
            assert not any(all(found.point.get(one) for one in group) for group in rivals)
    assert 10 < impossible < CASES - 100


def test_no_time_still_bounds_the_answer():
    """Out of time, the best found is allowed and the bound is no higher than the truth."""
    clauses = [Clause((Bound(0, 3), Bound(1, 2))), Clause((Bound(2, 1), Bound(1, 1)))]
    prices = [(0, 5, 6, 7), (0, 4, 9), (0, 3)]

    def judge(point, known):
        return [clause for clause in clauses if not clause.holds(point)]

    choices = [
        Choice(len(own) - 1, lambda steps, own=own: (Fraction(own[steps]),)) for own in prices
    ]
    some = {0: 3, 2: 1}  # kept by every clause, at 10
    found = WorkSearch(choices, judge, (Fraction(0),), seconds=-1, some=lambda: some).run()
    assert not found.proven
    assert found.point is not None and all(clause.holds(found.point) for clause in clauses)
    assert found.least <= (9,) <= found.cost  # the least is 9: the second choice at two steps


def test_says_what_it_is_doing():
    told: list[Progress] = []
    search = WorkSearch(
        [Choice(1, lambda steps: (Fraction(1),))], lambda p, k: [], (Fraction(0),), told=told.append
    )
    search._last_told -= 10
    search._tell((Fraction(1),))
    assert told == [Progress(0, 0, (1,), None)]
