"""Figures that a card or a sheet prints, and what follows from them by a sum on paper."""

from __future__ import annotations

import pytest

from fitcheck.check import check_build, read_build
from fitcheck.model import Position
from fitcheck.quantity import show
from fitcheck.report.drawings.numbers import Numbers


def read(knowledge, parts: str):
    text = f"build: from paper (invented)\ncylinders: '1'\nparts:\n{parts}"
    return check_build(read_build("paper.yaml", knowledge, text), knowledge)


def figure(check, name: str, side: str = "intake") -> tuple[float, float]:
    """A figure in the unit of inch drawings, as its least and its most."""
    found = Numbers(check, "inch").of(name, Position(side=side, cylinder=1))
    assert found.known, found.lacks
    low, _, high = show(found.interval, found.kind, "inch").split(" ")[0].partition("..")
    return float(low), float(high or low)


def clashes(check) -> set[str]:
    return {found.rule.id for found in check.findings if found.verdict.value == "conflict"}


# The intake opens 28 degrees before top dead centre and stays open for 279, so closes 71 after
# bottom dead centre; the exhaust closes 45 after, an overlap of 73 (US Army TM 9-8000, figs 2-54
# and 2-55). Where the exhaust opens is invented.
CARD = """\
  cam: {measured: {by: me, IVO: 28 BTDC @ .006, IVC: 71 ABDC @ .006, EVO: 65 BBDC @ .006,
        EVC: 45 ATDC @ .006}}
"""


def test_events_make_durations_centres_and_separation(knowledge):
    check = read(knowledge, CARD)
    assert figure(check, "advertised_duration") == pytest.approx((279, 279), abs=1.1)
    assert figure(check, "advertised_duration", "exhaust") == pytest.approx((290, 290), abs=1.1)
    assert figure(check, "overlap_by_events") == pytest.approx((73, 73), abs=1.1)
    # Half way: 90 + (71 - 28) / 2, and 90 + (65 - 45) / 2; half of both is the separation.
    assert figure(check, "intake_centreline") == pytest.approx((111.5, 111.5), abs=0.6)
    assert figure(check, "lobe_separation") == pytest.approx((105.75, 105.75), abs=0.6)
    assert not clashes(check)


def test_an_opening_past_the_dead_centre_counts_below_nothing(knowledge):
    # 40 + 180 - 4 = 216 from opening to closing at 0.050 in.
    check = read(
        knowledge,
        "  cam: {measured: {by: me, intake_opens_at_050: 4 ATDC, intake_closes_at_050: 40 ABDC}}\n",
    )
    assert figure(check, "duration_at_050") == pytest.approx((216, 216), abs=1.1)


@pytest.mark.parametrize(
    ("said", "rule"),
    [
        ("duration_advertised: 262 deg", "advertised_duration_contradicts"),
        ("LSA: 112", "lobe_separation_contradicts"),
        ("installed_centreline: 104 deg", "intake_centreline_contradicts"),
        ("overlap: 55 deg", "overlap_contradicts_events"),
    ],
)
def test_a_card_that_contradicts_its_own_events_is_told(knowledge, said, rule):
    check = read(knowledge, CARD.replace("by: me,", f"by: me, {said},"))
    assert rule in clashes(check)


def test_what_is_measured_holds_over_the_events_of_a_card(knowledge):
    claimed = CARD.replace("measured", "claimed")
    check = read(
        knowledge, claimed.replace("}}", "}, measured: {by: me, duration_advertised: 262 deg}}")
    )
    assert figure(check, "advertised_duration") == pytest.approx((262, 262), abs=1.1)
    assert "advertised_duration_off_claim" in clashes(check)


# A card that gives the lash for both states (TM 5-6115-400-35, table 1: exhaust 0.023 in cold, 0.020
# in with the coolant at running temperature).
LASH = """\
  cam: {{claimed: {{by: sheet, lash_type: solid, hot lash: .020, cold lash: .023}}}}
  lifter: {{measured: {{by: me, type: solid_flat, lash: {lash} in, lash_state: {state}}}}}
"""


@pytest.mark.parametrize(
    ("lash", "state", "told"),
    [
        ("0.023", "cold", set()),
        ("0.020", "hot", set()),
        ("0.023", "hot", set()),  # builders try up to 0.003 in more
        ("0.026", "hot", {"lash_great"}),
        ("0.018", "cold", {"lash_small"}),
    ],
)
def test_lash_is_held_to_the_state_it_was_set_in(knowledge, lash, state, told):
    check = read(knowledge, LASH.format(lash=lash, state=state))
    assert clashes(check) & {"lash_great", "lash_small", "lash_set_in_other_state"} == told


def test_a_clearance_needs_no_sizes(knowledge):
    # The worst limit of wear is 0.009 in, 0.23 mm, on lifters of 1.31 in (TM 5-3810-206-35).
    sheet = "  lifter: {{measured: {{by: me, bore clearance: {} mm}}}}\n"
    assert "lifter_loose_in_bore" in clashes(read(knowledge, sheet.format("0.25")))
    assert not clashes(read(knowledge, sheet.format("0.034")))


def test_a_diesel_is_asked_for_no_plug_and_no_octane(knowledge):
    parts = "  fuel: {claimed: {kind: diesel}}\n  engine: {claimed: {induction: natural}}\n"
    check = read(knowledge, parts)
    named = {found.rule.id for found in check.findings}
    assert not [name for name in named if name.startswith(("plug_", "quench_"))]
    asked = {fact.attribute.name for found in check.findings for fact in found.missing}
    assert not [name for name in asked if name.startswith(("spark_plug.", "fuel.octane"))]


def test_a_diesels_own_compression_fits_it(knowledge):
    # 716.6 cc swept over 34.9 cc of clearance: 21.5 to 1 (the volumes of the rule's examples).
    parts = (
        "  fuel: {{claimed: {{kind: {}}}}}\n"
        "  engine: {{claimed: {{induction: natural}}}}\n"
        "  head: {{measured: {{by: me, material: iron, chamber_volume: 16.1 cc}}}}\n"
        "  block: {{measured: {{by: me, bore: 4.000 in}}}}\n"
        "  crankshaft: {{measured: {{by: me, stroke: 3.480 in}}}}\n"
        "  piston: {{measured: {{by: me, deck_clearance: 0.025 in, crown_volume: 5.0 cc}}}}\n"
        "  head_gasket: {{measured: {{by: me, bore_round: 'yes', bore: 4.100 in,"
        " thickness: 0.040 in}}}}\n"
    )
    wrong = {"compression_high_for_fuel", "compression_low_for_fuel", "compression_far_past_fuel"}
    assert not clashes(read(knowledge, parts.format("diesel"))) & wrong
    assert clashes(read(knowledge, parts.format("petrol"))) & wrong


def test_a_pushrod_gives_by_its_load_over_its_stiffness(knowledge):
    # F L / (E A): 400 x 1.5 lbf on 7.800 in of a 5/16 x .080 tube, pi/4 (0.3125^2 - 0.1525^2) =
    # 0.0584 in2, of steel with 29 to 30 million psi: 0.0027 to 0.0028 in.
    check = read(
        knowledge,
        "  pushrod: {measured: {by: me, diameter: 0.3125 in, wall: 0.0800 in, length: 7.800 in}}\n"
        "  rocker: {measured: {by: me, ratio: '1.50'}}\n"
        "  spring: {measured: {by: me, open_load: 400 lbf}}\n",
    )
    assert figure(check, "pushrod_shortening") == pytest.approx((0.0027, 0.0028), abs=0.00015)


def test_one_mistyped_opening_is_told_once(knowledge):
    # 82 for 28: the duration, the centre and the separation that it makes are all wrong.
    card = CARD.replace("IVO: 28", "IVO: 82")
    said = "by: me, duration_advertised: 279/290, LSA: 105.75, installed_centreline: 111.5 deg,"
    found = clashes(read(knowledge, card.replace("by: me,", said)))
    assert found == {"advertised_duration_contradicts"}
