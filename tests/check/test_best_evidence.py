"""Every figure from its best evidence: gross faults as sure as slight ones, claims beside gauges.

Each case carries its arithmetic. The fits are those of a machinist's sum on paper; the limits they
are held to stand with the rules. Parts are invented.
"""

from __future__ import annotations

import pytest

from fitcheck.check import BuildCheck, Verdict, check_build, read_build
from fitcheck.knowledge import Knowledge, load_knowledge

FITS, CONFLICT = Verdict.FITS, Verdict.CONFLICT


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return load_knowledge()


def checked(parts: str, knowledge: Knowledge, cylinders: int = 1) -> BuildCheck:
    text = f'build: one engine (invented)\ncylinders: "{cylinders}"\nparts:\n{parts}'
    return check_build(read_build("build.yaml", knowledge, text), knowledge)


def verdicts(check: BuildCheck, rule: str) -> set[Verdict]:
    return {finding.verdict for finding in check.all_findings if finding.rule.id == rule}


def told(check: BuildCheck, rule: str) -> str:
    (text,) = {finding.message() for finding in check.findings if finding.rule.id == rule}
    return text


# What cannot be is told as surely as what is a little short.


@pytest.mark.parametrize(
    ("parts", "rule"),
    [
        pytest.param(
            # 0.3405 - 0.3410 = -0.0005 in: the stem does not enter its guide.
            "  guide: {measured: {bore: 0.3405 in, material: phosphor_bronze}}\n"
            "  valve: {measured: {stem_diameter: 0.3410 in}}\n"
            "  head: {measured: {material: aluminium}}\n",
            "stem_tight_in_bronze",
            id="a stem thicker than its bore",
        ),
        pytest.param(
            # 9.000 - 3.480/2 - 5.700 - 1.610 = -0.050 in: out of the deck; with a gasket of 0.040
            # the piston stands 0.010 above the head's flat.
            "  block: {measured: {deck_height: 9.000 in, bore: 4.000 in}}\n"
            "  crankshaft: {measured: {stroke: 3.480 in}}\n"
            "  rod: {measured: {length: 5.700 in, material: forged_steel}}\n"
            "  piston: {measured: {compression_height: 1.610 in, quench_pad: 'yes'}}\n"
            "  head_gasket: {measured: {thickness: 0.040 in}}\n",
            "quench_tight",
            id="a piston above the head's flat",
        ),
        pytest.param(
            # 1.700 - 0.200 - 1.150 - 0.380 = -0.030 in: the retainer stands on the seal.
            "  spring: {measured: {installed_height: 1.700 in}}\n"
            "  retainer: {measured: {underside_drop: 0.200 in}}\n"
            "  guide: {measured: {protrusion: 1.150 in}}\n"
            "  seal: {measured: {height: 0.380 in}}\n"
            "  locator: none\n  shim: none\n"
            "  cam: {measured: {lobe_lift: 0.300 in}}\n  rocker: {measured: {ratio: '1.5'}}\n"
            "  lifter: {measured: {type: hydraulic_flat}}\n",
            "retainer_meets_seal",
            id="a retainer that stands on the seal",
        ),
        pytest.param(
            # 2.000 - 4.300 + (2.000 + 0.040 + 0.120) = -0.140 in: the bolt meets the bottom.
            "  head_fasteners: {measured: {type: bolts, length: 4.300 in, washers: 'yes',"
            " washer_thickness: 0.120 in}}\n"
            "  head: {measured: {bolt_grip: 2.000 in}}\n"
            "  head_gasket: {measured: {thickness: 0.040 in}}\n"
            "  block: {measured: {head_bolt_thread_depth: 2.000 in, head_bolts_wet: 'no'}}\n",
            "bolt_bottoms",
            id="a bolt too long for its hole",
        ),
        pytest.param(
            # 2.000 - (2.000 + 0.040 + 0.120) = -0.160 in: the bolt never reaches the block.
            "  head_fasteners: {measured: {type: bolts, length: 2.000 in, diameter: 0.4375 in,"
            " washers: 'yes', washer_thickness: 0.120 in}}\n"
            "  head: {measured: {bolt_grip: 2.000 in}}\n"
            "  head_gasket: {measured: {thickness: 0.040 in}}\n"
            "  block: {measured: {head_bolt_thread_depth: 2.000 in, material: iron,"
            " head_bolt_thread_start: 0.100 in}}\n",
            "too_little_thread_in_block",
            id="a bolt that does not reach the block",
        ),
    ],
)
def test_what_is_impossible_clashes(parts: str, rule: str, knowledge: Knowledge) -> None:
    assert verdicts(checked(parts, knowledge), rule) == {CONFLICT}


# A claim beside a measurement.

FLAT_LOBES = (
    "  lifter: {measured: {type: hydraulic_flat}}\n"
    "  cam: {measured: {lobe_type: flat, lobe_lift: 0.300 in, is_new: 'no'}}\n"
    "  rocker: {measured: {ratio: '1.5'}}\n"
)


def test_a_claim_does_not_excuse_a_measured_load(knowledge: Knowledge) -> None:
    """600 lbf measured on flat lobes; the seller's 120 + 300 x 0.450 = 255 lbf would be fine."""
    measured = FLAT_LOBES + "  spring:\n    measured: {open_load: 600 lbf}\n"
    alone = checked(measured, knowledge)
    assert verdicts(alone, "flat_lobe_overloaded") == {CONFLICT}
    claimed = "    claimed: {by: seller's page, seat_load: 120 lbf, rate: 300 lbf/in}\n"
    both = checked(measured + claimed, knowledge)
    assert verdicts(both, "flat_lobe_overloaded") == {CONFLICT}
    # And that they part is told: by 600 - 255 = 345 lbf, and 8 % of 600 is 48.
    assert verdicts(both, "open_load_fitted_off_claim_1") == {CONFLICT}
    text = told(both, "open_load_fitted_off_claim_1")
    assert "seller's page" in text
    assert "Measure again first" in text


def test_a_claim_does_not_cast_doubt_on_a_measured_load(knowledge: Knowledge) -> None:
    """130 lbf measured is enough for a hydraulic roller (120); the seller's 105 is not asked."""
    roller = "  lifter: {measured: {type: hydraulic_roller}}\n"
    measured = (
        roller + "  spring:\n    measured: {seat_load: 130 lbf, installed_height: 1.800 in}\n"
    )
    assert verdicts(checked(measured, knowledge), "weak_seat_load") == {FITS}
    claimed = (
        "    claimed: {by: seller, load_1: 105 lbf, load_1_height: 1.800 in, rate: 300 lbf/in}\n"
    )
    both = checked(measured + claimed, knowledge)
    assert verdicts(both, "weak_seat_load") == {FITS}
    # 105 lbf within a tenth is at most 115.5; 129 less that is 13, and 8 % of 131 is 10.5.
    assert verdicts(both, "seat_load_fitted_off_claim") == {CONFLICT}


def test_claimed_lengths_do_not_move_a_piston_measured_in_place(knowledge: Knowledge) -> None:
    """-0.030 in measured and a gasket of 0.040: 0.010 in of quench, whatever the lengths say."""
    measured = (
        "  piston:\n    measured: {deck_clearance: -0.030 in, quench_pad: 'yes'}\n"
        "    claimed: {by: card, compression_height: 1.540 in}\n"
        "  rod: {measured: {material: forged_steel}, claimed: {by: card, length: 5.700 in}}\n"
        "  crankshaft: {claimed: {by: card, stroke: 3.480 in}}\n"
        "  block: {claimed: {by: card, deck_height: 9.025 in}}\n"
        "  head_gasket: {measured: {thickness: 0.040 in}}\n"
    )
    check = checked(measured, knowledge)
    assert verdicts(check, "quench_tight") == {CONFLICT}
    # 9.025 - 1.740 - 5.700 - 1.540 = 0.045 in by the card: 0.075 in apart.
    assert verdicts(check, "below_deck_off_claim") == {CONFLICT}


def test_two_measurements_that_part_are_told_as_such(knowledge: Knowledge) -> None:
    """0.3440 - 0.3415 = 0.0025 in by bore and stem; 0.0010 in as a pair."""
    check = checked(
        "  guide: {measured: {by: me, clearance: 0.0010 in, bore: 0.3440 in}}\n"
        "  valve: {measured: {by: shop, stem_diameter: 0.3415 in}}\n",
        knowledge,
    )
    assert verdicts(check, "stem_clearance_contradicts") == {CONFLICT}
    assert verdicts(check, "stem_clearance_off_claim") == set()
    assert "by shop" in told(check, "stem_clearance_contradicts")


def test_two_rates_read_at_one_tester_are_held_closer_than_two_of_a_seller(
    knowledge: Knowledge,
) -> None:
    """Loads of 120 and 300 lbf, 0.500 in apart: 360 lbf/in. The rate given is 305.

    55 of 360 is 15 in 100: as a seller rounds, but no reading to 2 in 100 of each load is off by
    more than (120 + 300) * 0.02 / 180, 5 in 100.
    """
    spring = (
        "load_1: 120 lbf, load_1_height: 1.800 in, load_2: 300 lbf, load_2_height: 1.300 in, "
        "rate: 305 lbf/in"
    )
    read = checked(f"  spring: {{measured: {{by: bench, {spring}}}}}\n", knowledge)
    assert verdicts(read, "rate_fitted_misread") == {CONFLICT}
    assert "305 lbf/in" in told(read, "rate_fitted_misread")
    sold = checked(f"  spring: {{claimed: {{by: seller, {spring}}}}}\n", knowledge)
    assert verdicts(sold, "rate_fitted_misread") == set()
    assert verdicts(sold, "rate_fitted_contradicts") == set()


# Said, said to be absent, not said.

SEAL_NOT_NAMED = (
    "  spring: {measured: {installed_height: 1.700 in}}\n"
    "  retainer: {measured: {underside_drop: 0.200 in}}\n"
    "  guide: {measured: {protrusion: 0.600 in}}\n"
    "  cam: {measured: {lobe_lift: 0.300 in}}\n  rocker: {measured: {ratio: '1.5'}}\n"
    "  lifter: {measured: {type: hydraulic_flat}}\n  locator: none\n  shim: none\n"
)


def test_no_finding_rests_on_silence(knowledge: Knowledge) -> None:
    """A seal that nobody named may take up to 0.800 in of the 1.700 - 0.200 - 0.600 - 0.450."""
    open_ = checked(SEAL_NOT_NAMED, knowledge)
    assert verdicts(open_, "retainer_meets_seal") == {Verdict.UNMEASURED}
    # 1.700 - 0.200 - 0.600 - 0.450 = 0.450 in over the bare guide.
    bare = checked(SEAL_NOT_NAMED + "  seal: none\n", knowledge)
    assert verdicts(bare, "retainer_meets_seal") == {FITS}


def test_a_lone_cam_card_stops_nothing(knowledge: Knowledge) -> None:
    card = "  cam: {claimed: {by: card, lobe_type: roller}}\n"
    assert verdicts(checked(card, knowledge), "roller_cam_walks") == {Verdict.UNMEASURED}
    listed = "  cam: {claimed: {by: card, lobe_type: roller}, complete: 'yes'}\n"
    assert verdicts(checked(listed, knowledge), "roller_cam_walks") == {CONFLICT}


def test_a_head_sold_complete_brings_what_it_is_sold_with(knowledge: Knowledge) -> None:
    head = "  head: {claimed: {by: seller, sold_complete: 'yes', material: aluminium}}\n"
    check = checked(head, knowledge)
    assert verdicts(check, "complete_head_lacks_parts") == {FITS}
    # Of a cup under the spring it says nothing.
    assert verdicts(check, "spring_on_bare_aluminium") == {Verdict.UNMEASURED}
    # That its springs' figures stand in a slot of their own says nothing of who brings them.
    spring = "  spring: {SELLER claimed: {by: page, load_1: 105 lbf}}\n"
    for seller, verdict in (("", FITS), ("seller: a spring shop,", CONFLICT)):
        check = checked(head + spring.replace("SELLER", seller), knowledge)
        assert verdicts(check, "complete_head_lacks_parts") == {verdict}


# What follows from the card.


def test_the_card_s_valve_lift_gives_the_lobe_s(knowledge: Knowledge) -> None:
    """0.480 in at 1.5 is a lobe of 0.320 in; with a rocker of 1.6 it lifts 0.512 in."""
    check = checked(
        "  cam: {claimed: {by: card, rated_valve_lift: 0.480 in, rated_ratio: '1.5'}}\n"
        "  rocker: {measured: {ratio: '1.60'}}\n  lifter: {measured: {type: hydraulic_flat}}\n"
        "  spring: {measured: {installed_height: 1.700 in, coil_bind_height: 1.200 in}}\n",
        knowledge,
    )
    (finding,) = [f for f in check.findings if f.rule.id == "coil_bind"]
    # 1.700 - 0.512 - 1.200 = -0.012 in: the coils touch before full lift.
    assert finding.verdict is CONFLICT
    assert "0.5" in finding.message()


# Figures that are the name of a size.


def test_a_named_size_is_not_widened_by_half_a_digit(knowledge: Knowledge) -> None:
    """A card's 1.5 is 1.5; a rocker stamped 1.5 is as good as such rockers are, not 1.45 to 1.55."""
    check = checked(
        "  cam: {claimed: {rated_ratio: '1.5'}}\n  rocker: {claimed: {ratio: '1.5'}}\n"
        "  locks: {claimed: {angle: 10.0 deg}}\n",
        knowledge,
    )
    said = {s.attribute.name: s for s in check.build.statements()}
    assert said["cam.rated_ratio"].value.interval.width == 0
    for name in ("rocker.ratio", "locks.angle"):
        claim = said[name].attribute.claim
        assert said[name].value.interval.width == 2 * claim.amount
