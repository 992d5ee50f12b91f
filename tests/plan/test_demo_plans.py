"""The invented builds planned: what is done makes them fit, by arithmetic done here by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from fitcheck.check import Verdict, check_build
from fitcheck.check.supposing import suppose_all
from fitcheck.model import Position
from fitcheck.plan.others import others_in_kind
from fitcheck.plan.planner import make_plan
from fitcheck.plan.stages import OBJECTIVES
from fitcheck.report.plan_answer import set_apart
from tests.plan.long import LONG

INCH = Fraction(254, 10)


def conflicts(check):
    return {finding.rule.id for finding in check.conflicts}


def done(plan):
    return {
        (work.operation.id if work.operation else work.swap.slot, work.amount)
        for work in plan.works
    }


def fits_after(outcome):
    """Nothing clashes in the build after the plan; what clashed fits, or is said to wait."""
    assert outcome.proven
    plan = outcome.plan
    assert conflicts(plan.before)
    again = check_build(plan.applied.build, plan.before.knowledge)
    assert conflicts(again) == set()
    assert plan.cost == plan.least
    assert sum(cost.price for cost in plan.costs) == plan.total.price == plan.cost[0]
    waiting = {finding.rule.id for finding in plan.waiting}
    for finding in again.findings:
        if finding.rule.id in conflicts(plan.before) - waiting:
            assert finding.verdict is Verdict.FITS, finding.rule.id


@pytest.mark.parametrize("name", ["work_truck", pytest.param("hill_climb_four", marks=LONG)])
def test_applied_it_checks_clean_again(demos, name):
    fits_after(demos.plan(name))


def test_the_truck_by_hand(demos):
    """Seat cups of 0.030 take 0.030 off 1.720 +-0.003; locks 0.100 +-0.005 higher give it back.

    1.690 + 0.100 = 1.782 to 1.798. At 0.538 to 0.544 of lift 1.238 to 1.260 are left, and the new
    spring is solid at 1.120 (claimed, so a little more or less): more than 0.1 where 0.060 are
    wanted. With the locks of one step, 0.050, seal and retainer would come within 0.04 to 0.06.
    """
    plan = demos.plan("work_truck").plan
    exhaust = Position(None, 1, "exhaust")
    height = plan.applied.run.at("spring.installed_height", exhaust).interval
    assert (height.lower, height.upper) == (INCH * Fraction("1.782"), INCH * Fraction("1.798"))
    gap = plan.applied.run.at("retainer.gap_to_seal", exhaust).interval
    assert gap.lower == INCH * Fraction("0.6575")
    assert gap.lower - INCH * Fraction("0.544") > INCH * Fraction("0.060")
    assert gap.upper - INCH * Fraction("0.050") - INCH * Fraction("0.544") < INCH * Fraction(
        "0.080"
    )
    # The stems of 0.3410 have 0.0003 in guides of 0.3413. With 0.0016 +-0.0002 more they have
    # 0.0016 at least, as the good guide; twice what the hone holds past that costs nothing.
    assert ("hone_guide", INCH * Fraction("0.0020")) in done(plan)


@LONG
def test_the_boat_checks_clean_again_and_its_heads_end_alike(demos):
    """The right head lost 0.034 and the left 0.010: only the left is cut, to within 0.005."""
    outcome = demos.plan("service_boat")
    fits_after(outcome)
    plan = outcome.plan
    cut = {
        bank: plan.applied.run.at("head.height", Position(bank)).interval
        for bank in ("left", "right")
    }
    assert abs(cut["left"].middle - cut["right"].middle) < INCH * Fraction("0.003")
    assert [
        work.positions for work in plan.works if work.operation and work.operation.id == "mill_deck"
    ] == [(Position("left"),)]
    # The chambers end alike too, to the 1.0 cc of working engines at what is aimed at: 9.70 in2 less
    # 0.023 is 3.7 cc from those of 1 and 3.
    volume = {
        c: plan.applied.run.at("head.chamber_volume", Position(bank, c)).interval
        for bank, c in (("left", 1), ("right", 2), ("right", 4))
    }
    assert abs(volume[1].middle - volume[2].middle) <= 1000
    assert any(finding.rule.id == "chambers_differ" for finding in plan.waiting)
    assert abs(volume[2].middle - volume[4].middle) <= 200


def test_both_heads_get_equal_cuts_when_one_is_warped(demos):
    """Heads of one height, one of them bent by 0.010: both are cut, and by the same."""
    build = demos.check("service_boat").build
    same = [
        "head.height=3.120 in",
        "head.deck_removed=0.010 in",
        "head.chamber_volume=65.2 cc",
        "head.chamber_spread=0.2 cc",
        "head.deck_flatness_along@bank left=0.010 in",
    ]
    about_decks = {
        id_: rule
        for id_, rule in demos.knowledge.rules.items()
        if rule.family in ("deck", "chamber_and_compression")
    }
    knowledge = demos.knowledge.with_rules(about_decks)
    check = check_build(suppose_all(build, same, knowledge).build, knowledge)
    assert "head_deck_not_flat" in conflicts(check)
    plan = make_plan(check, demos.prices("service_boat")).plan
    cuts = [work for work in plan.works if work.operation and work.operation.id == "mill_deck"]
    assert [work.positions for work in cuts] == [(Position("left"), Position("right"))]


@LONG
@pytest.mark.parametrize("objective", OBJECTIVES)
def test_each_objective_is_least_by_its_own_measure(demos, objective):
    mine = demos.plan("work_truck", objective).plan
    for other in OBJECTIVES:
        theirs = demos.plan("work_truck", other).plan
        ours, least = (
            {
                "price": total.price,
                "hours": total.hours,
                "metal": total.metal,
                "parts": total.parts,
            }[objective]
            for total in (mine.total, theirs.total)
        )
        assert ours <= least


@LONG
def test_other_plans_differ_in_kind(demos):
    outcome = demos.plan("work_truck")
    others = others_in_kind(outcome)
    kinds = [{work.title for work in plan.works} for plan in [outcome.plan, *others]]
    assert others
    assert all(one != two for i, one in enumerate(kinds) for two in kinds[:i])
    for plan in others:
        assert plan.cost >= outcome.plan.cost
        assert conflicts(plan.after) == set()
    # Five guides are honed in each; what cuts more, or stands further from its limits, says so.
    plans, words = (
        [outcome.plan, *others],
        set_apart([outcome.plan, *others], demos.prices("work_truck")),
    )
    assert words[0].startswith("420.00 USD, 2.00 h (the whole job 1274.00 USD, 10.65 h), ")
    assert "metal cut at 5 places" in words[0]
    for plan, told in zip(plans, words, strict=True):
        assert ("least cut" in told) == (plan.cuts == 5)
        assert ("most room" in told) == (plan.room == max(one.room for one in plans))
        rooms = [
            one.demands[0].margin.lower / abs(one.demands[0].wanted.upper or 1)
            for one in plan.after.fits
            if one.rule.id == "coil_bind"
        ]
        assert plan.room <= float(min(rooms)) + 1e-9


@LONG
def test_of_rival_parts_the_best_is_bought(demos):
    """Of rivals for one slot the plan buys one, and costs what the cheapest plan with one does."""
    check, prices = demos.check("work_truck"), demos.prices("work_truck")
    slot = next(work.swap.slot for work in demos.plan("work_truck").plan.works if work.swap)
    others = [one for one in prices.offers if one.swap.slot != slot]
    rivals = [
        replace(one, price=one.price + more)
        for one in prices.offers
        if one.swap.slot == slot
        for more in (0, -7)
    ]
    together = make_plan(check, replace(prices, offers=(*others, *rivals))).plan
    alone = [make_plan(check, replace(prices, offers=(*others, one))).plan for one in rivals]
    assert together.cost == min(plan.cost for plan in alone)
    assert sum(work.swap is not None and work.swap.slot == slot for work in together.works) == 1
