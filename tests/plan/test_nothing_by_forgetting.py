"""What work does to figures that it only brushes, by hand: nothing is mended by forgetting it.

Lengths along the bore count by the cosine of the valve's angle; the rest is plain sums. An invented
engine of one cylinder, fully measured where it matters.
"""

from __future__ import annotations

from fractions import Fraction
from math import cos, radians

import pytest

from fitcheck.check import Verdict, check_build, read_build
from fitcheck.model import Position
from fitcheck.plan.apply import apply
from fitcheck.plan.asked import asked_plan, read_works
from fitcheck.plan.planner import make_plan
from fitcheck.plan.prices import NO_PRICES, read_prices
from fitcheck.plan.work import Work

ENGINE = """
build: one cylinder (invented)
cylinders: "1"
parts:
  engine: {measured: {use: road}}
  rod: {measured: {material: forged_steel}}
  cam: {measured: {lobe_lift: 0.3000 in}}
  rocker: {measured: {ratio: "1.500", height_above_rail: 2.100 in}}
  valve_cover: {measured: {gap_to_rockers: 0.150 in}}
  lifter: {measured: {type: solid_roller, lash: 0.010 in}}
  piston: {measured: {axial_gap: 0.108 in, radial_gap: 0.100 in, deck_clearance: 0.000 in,
                      quench_pad: "yes", clearance_checked: "yes"}}
  head_gasket: {measured: {thickness: 0.040 in}}
  head:
    measured: {valve_angle: 20.0 deg, height: 3.000 in, is_new: "no"}
    contains:
      valve: {measured: {stem_diameter: 0.3410 in, head_diameter: 1.600 in}}
      seat: {measured: {sunk: 0.070 in}}
      shim: {measured: {thickness: 0.030 in}}
      spring: {measured: {installed_height: 1.640 in, coil_bind_height: 1.170 in, rate: 300 lbf/in,
                          seat_load: 120 lbf}}
      retainer: {measured: {gap_to_seal: 0.600 in, gap_to_rocker: 0.060 in, tip_stand: 0.100 in}}
"""
INCH = Fraction(254, 10)
EXHAUST = Position(None, 1, "exhaust")
NEAR = {"rocker.height_above_rail", "valve_cover.gap_to_rockers", "lifter.lash"}


@pytest.fixture(scope="module")
def engine(knowledge):
    return read_build("one.yaml", knowledge, ENGINE)


def after(engine, knowledge, work, name):
    """What a figure comes to, in inches; None where it is not known any more."""
    applied = apply(engine, knowledge, read_works([work], engine.layout, knowledge))
    fact = applied.run.at(name, EXHAUST)
    return float(fact.interval.middle / INCH) if fact.given else None


@pytest.mark.parametrize(
    "work", ["mill_deck=0.010 in", "deck_block=0.010 in", "fit_thinner_gasket=0.010 in"]
)
def test_head_and_piston_come_nearer(engine, knowledge, work):
    """0.108 less 0.010 by the cosine of 20 degrees: 0.0986 is left, and no fit is made of it."""
    left = after(engine, knowledge, work, "piston.axial_gap")
    assert left == pytest.approx(0.108 - 0.010 * cos(radians(20)), abs=1e-5)


def test_a_valve_that_comes_back_comes_nearer_to_the_piston(engine, knowledge):
    """Sunk by 0.070, it ends 0 to 0.010 deep: 0.065 nearer, and the rocker is not where it was."""
    left = after(engine, knowledge, "replace_insert", "piston.axial_gap")
    assert left == pytest.approx(0.108 - 0.065, abs=1e-4)
    for name in ("retainer.gap_to_rocker", "rocker.height_above_rail"):
        assert after(engine, knowledge, "replace_insert", name) is None


@pytest.mark.parametrize("work", ["fit_higher_retainer=0.050 in", "fit_offset_locks_up=0.050 in"])
def test_a_raised_retainer_comes_nearer_to_the_rocker_by_as_much(engine, knowledge, work):
    """0.060 less 0.050 is 0.010, which a rocker does not clear; the tip stands 0.050 less above."""
    assert after(engine, knowledge, work, "retainer.gap_to_rocker") == pytest.approx(0.010)
    assert after(engine, knowledge, work, "retainer.tip_stand") == pytest.approx(0.050)
    applied = apply(engine, knowledge, read_works([work], engine.layout, knowledge))
    found = check_build(
        applied.build, knowledge, [knowledge.rules["rocker_touches_retainer"]]
    ).findings
    assert [one.verdict for one in found] == [Verdict.CONFLICT]


@pytest.mark.parametrize(
    ("work", "more"),
    [
        ("cut_seat=0.005 in", set()),
        ("sink_valve=0.010 in", set()),
        ("grind_valve_face=0.004 in", set()),
        ("grind_valve_tip=0.002 in", set()),
        ("mill_deck=0.010 in", {"piston.radial_gap"}),
        ("deck_block=0.010 in", {"piston.radial_gap"}),
        ("fit_thicker_gasket=0.010 in", {"piston.radial_gap"}),
        ("fit_thinner_gasket=0.010 in", {"piston.radial_gap"}),
        ("fit_lash_cap", set()),
    ],
)
def test_nothing_round_the_rocker_stays_as_it_was_measured(engine, knowledge, work, more):
    for name in {*NEAR, *more}:
        assert after(engine, knowledge, work, name) is None, name


PRICES = "prices: a shop (invented)\nhour: 60 EUR\n{more}"


def planned(knowledge, text, rules, more=""):
    own = knowledge.with_rules({name: knowledge.rules[name] for name in rules})
    build = read_build("one.yaml", own, text)
    prices = read_prices("prices.yaml", own, build.layout, PRICES.format(more=more))
    return make_plan(check_build(build, own), prices, "price", seconds=20)


def test_another_valve_has_a_stem_of_its_own(knowledge):
    """The old stem's figure is not kept for a valve that nobody has measured."""
    offer = "parts:\n  - {fits: valve, price: 40 EUR, part: {name: new, claimed: {head_diameter: 1.600 in}}}"
    build = read_build("one.yaml", knowledge, ENGINE)
    prices = read_prices("prices.yaml", knowledge, build.layout, PRICES.format(more=offer))
    swap = prices.offers[0].swap
    applied = apply(
        build, knowledge, [Work(None, tuple(build.layout.positions("valve")), None, swap)]
    )
    assert not applied.run.at("valve.stem_diameter", EXHAUST).given
    # Nor is what was measured with the old one in its place.
    for name in ("spring.installed_height", "piston.axial_gap", "retainer.gap_to_seal"):
        assert not applied.run.at(name, EXHAUST).given, name


def test_shims_come_out_before_a_seat_is_cut(knowledge):
    """0.020 is left to solid where 0.050 to 0.060 is wanted, and a shim of 0.030 to 0.050 lies there."""
    text = ENGINE.replace(
        "thickness: 0.030 in}}\n      spring", "thickness: 0.060 in}}\n      spring"
    )
    outcome = planned(knowledge, text, ["coil_bind"], "operations: {cut_spring_seat: 9 EUR}")
    assert outcome.proven
    assert {work.operation.id for work in outcome.plan.works} == {"remove_shims"}


def test_a_cheaper_retainer_is_found_beside_cut_seats(knowledge):
    """Two retainers at 12 against two seats at 36: proven over both."""
    text = ENGINE.replace("      shim: {measured: {thickness: 0.030 in}}\n", "      shim: none\n")
    more = "operations: {cut_spring_seat: 36 EUR, fit_higher_retainer: 12 EUR}"
    outcome = planned(knowledge, text, ["coil_bind"], more)
    assert outcome.proven and outcome.plan.total.price == 24


def test_one_degree_of_the_cam_is_no_cure_for_a_short_gap(knowledge):
    """What only makes a gap unknown leaves it short: the pocket or the gasket has to give it."""
    text = ENGINE.replace("axial_gap: 0.108 in", "axial_gap: 0.070 in")
    outcome = planned(knowledge, text, ["valve_near_piston"])
    done = {work.operation.id for work in outcome.plan.works if work.operation}
    assert "notch_piston" in done and not done & {"retard_cam", "advance_cam"}


def test_one_clash_without_a_cure_stops_nothing_else(knowledge):
    """Clay was never pressed, which no work mends; the coils are given their room all the same."""
    text = ENGINE.replace('clearance_checked: "yes"', 'clearance_checked: "no"')
    more = "operations: {cut_spring_seat: 9 EUR}"
    outcome = planned(knowledge, text, ["coil_bind", "clearance_not_measured"], more)
    assert [one.title for one in outcome.given_up] == ["clearance_not_measured"]
    assert outcome.plan.works and all(
        one.rule.id != "coil_bind" for one in outcome.plan.after.conflicts
    )


def test_what_fitted_and_may_not_after_the_work_is_a_condition(knowledge):
    """0.040 at the pad fits; 0.005 off the block leaves 0.035 less what its tolerance takes: told."""
    own = knowledge.with_rules({"quench_tight": knowledge.rules["quench_tight"]})
    build = read_build("one.yaml", own, ENGINE)
    check = check_build(build, own)
    assert [one.verdict for one in check.findings] == [Verdict.FITS]
    works = read_works(["deck_block=0.005 in"], build.layout, own)
    plan = asked_plan(check, NO_PRICES, works)
    assert {one.rule.id for one in plan.conditions} == {"quench_tight"}
