"""How much of each work is done: no more than the others make needful, the metal first."""

from __future__ import annotations

from types import SimpleNamespace

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
