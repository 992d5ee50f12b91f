"""How much of each work is done: no more than the others make needful, the metal first."""

from __future__ import annotations

from fractions import Fraction
from types import SimpleNamespace

import pytest

from fitcheck.plan.amounts import settled

# Two works that are no cuts, as parts to be fitted; a step of the first takes twice the metal.
STAGES = SimpleNamespace(
    list=[SimpleNamespace(operation=None)] * 2,
    costs=lambda number, steps: SimpleNamespace(metal=(2 - number) * steps),
)


def allowing(allows):
    return SimpleNamespace(allows=lambda point: allows(point[0], point.get(1, 0)))


def test_an_amount_is_as_small_as_is_allowed():
    assert settled({0: 9}, allowing(lambda one, _: one >= 4), STAGES) == {0: 4}
    assert settled({0: 9}, allowing(lambda one, _: one >= 9), STAGES) == {0: 9}


def test_what_takes_most_metal_is_made_least_and_the_other_holds_what_is_left():
    together = allowing(lambda one, other: one + other >= 10)
    assert settled({0: 9, 1: 9}, together, STAGES) == {0: 1, 1: 9}


def work_of(most, *sort, cost=lambda steps: 10):
    """One work in steps of a thousandth, held to 2.2 of them, up to so many."""
    step = SimpleNamespace(interval=SimpleNamespace(middle=Fraction(1, 1000)))
    amount = SimpleNamespace(step=step, tolerance=Fraction(22, 10_000))
    operation = SimpleNamespace(amount=amount, file=SimpleNamespace(sort=sort))
    return SimpleNamespace(
        list=[SimpleNamespace(operation=operation)],
        most=lambda number: most,
        costs=lambda number, steps: SimpleNamespace(metal=steps),
        cost_of=lambda number: cost,
    )


@pytest.mark.parametrize(
    ("stages", "steps"),
    [
        pytest.param(work_of(24), 14, id="what can be undone goes to the middle of 4 to 24"),
        pytest.param(work_of(25), 14, id="of an odd stretch to the last whole step before it"),
        pytest.param(
            work_of(24, "removes_metal"),
            9,
            id="a cut goes twice its tolerance deeper, in whole steps",
        ),
        pytest.param(work_of(10, "removes_metal"), 7, id="but never past the middle"),
        pytest.param(work_of(5), 4, id="one step of room is none"),
        pytest.param(work_of(4), 4, id="at the most there is, it stays"),
        pytest.param(
            work_of(24, cost=lambda steps: steps // 7), 6, id="what would cost more is not done"
        ),
    ],
)
def test_what_costs_nothing_more_is_set_off_the_edge(stages, steps):
    assert settled({0: 4}, allowing(lambda one, _: one >= 4), stages) == {0: steps}


def test_room_is_taken_only_where_as_much_again_is_allowed():
    narrow = allowing(lambda one, _: 4 <= one <= 11)
    assert settled({0: 9}, narrow, work_of(24)) == {0: 6}
    odd = allowing(lambda one, _: one in (4, 24))  # the middle is refused
    assert settled({0: 4}, odd, work_of(24)) == {0: 4}
