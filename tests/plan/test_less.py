"""Of what a plan asks less where it can't have all: what matters least first."""

from __future__ import annotations

import pytest

from fitcheck.model import Position
from fitcheck.plan.less import to_ask_less
from fitcheck.plan.planner import Planner
from fitcheck.plan.prices import NO_PRICES
from fitcheck.plan.question import Goal, Question, Strictness
from fitcheck.plan.stages import remedies

BORE = Position("left", 1)


def asked(knowledge, rule, asks, *, clashed):
    return Question(knowledge.rules[rule], "", (BORE,), clashed, asks, (), ())


@pytest.fixture
def tight(knowledge):
    """A piston that meets the head: that shall surely be mended."""
    return asked(knowledge, "quench_tight", Strictness.FITS, clashed=True)


@pytest.mark.parametrize("asks", [Strictness.AIMED, Strictness.CLEAR])
def test_what_work_makes_worth_a_remark_does_not_stand_against_a_sure_mend(knowledge, tight, asks):
    wide = asked(knowledge, "quench_wide", asks, clashed=False)
    assert to_ask_less([tight, wide], give_up=True) == [wide]


def test_a_fault_that_work_brings_stands_against_a_sure_mend(knowledge, tight):
    near = asked(knowledge, "valve_near_piston", Strictness.AIMED, clashed=False)
    assert to_ask_less([tight, near], give_up=True) == [tight]


def test_among_remarks_alone_the_one_that_clashed_is_asked_less(knowledge):
    wide = asked(knowledge, "quench_wide", Strictness.CLEAR, clashed=True)
    assert to_ask_less([wide], give_up=False) == []
    assert to_ask_less([wide], give_up=True) == [wide]


def test_one_step_less_is_one_step_at_every_place(knowledge, demos):
    """Valves of four bores too near their pistons: asked less together, each by one step only."""
    check = demos.check("hill_climb_four")
    rules = [finding.rule for finding in check.conflicts]
    questions = Planner(check, NO_PRICES, "hours", remedies(knowledge, rules)).questions(
        Goal.MENDED
    )
    near = [one for one in questions.clashing if one.title == "valve_near_piston"]
    assert len(near) == 4 and {one.asks for one in near} == {Strictness.FITS}
    questions.ask_less(near)
    assert {one.asks for one in near} == {Strictness.AIMED}
