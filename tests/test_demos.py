"""The three invented builds tell the stories that a machinist would read from their figures.

The arithmetic beside each expectation is done by hand from the build files; what is wanted of a
fit is common practice with no source unless the rule cited names one.
"""

from __future__ import annotations

import json
from datetime import date

import pytest

from fitcheck.check import BuildCheck, RuleFinding, Verdict, Works, check_build, read_build
from fitcheck.cli.common import CLASHES
from fitcheck.cli.demo import demo_folder
from fitcheck.cli.main import main
from fitcheck.knowledge import Knowledge
from fitcheck.model import Evidence
from fitcheck.report.phrases import places, summary
from tests.engines.twice import told_twice

DEMOS = ("work_truck", "service_boat", "hill_climb_four")
FITS, STRADDLES = Verdict.FITS, Verdict.STRADDLES
CONFLICT, UNMEASURED = Verdict.CONFLICT, Verdict.UNMEASURED


@pytest.fixture(scope="module")
def checks(knowledge: Knowledge) -> dict[str, BuildCheck]:
    return {
        name: check_build(read_build(demo_folder() / name / "build.yaml", knowledge), knowledge)
        for name in DEMOS
    }


@pytest.fixture(scope="module")
def truck(checks: dict[str, BuildCheck]) -> BuildCheck:
    return checks["work_truck"]


@pytest.fixture(scope="module")
def boat(checks: dict[str, BuildCheck]) -> BuildCheck:
    return checks["service_boat"]


@pytest.fixture(scope="module")
def four(checks: dict[str, BuildCheck]) -> BuildCheck:
    return checks["hill_climb_four"]


@pytest.mark.parametrize("demo", DEMOS)
def test_no_fault_is_told_twice(demo: str, checks: dict[str, BuildCheck]) -> None:
    assert told_twice(checks[demo].conflicts) == []


def valves(check: BuildCheck, rule: str, verdict: Verdict) -> set[str]:
    """Where a rule about valves gives a verdict, as in `3 exhaust`."""
    return {
        f"{position.cylinder} {position.side}"
        for finding in check.all_findings
        if finding.rule.id == rule and finding.verdict is verdict
        for position in finding.positions
    }


def cylinders(check: BuildCheck, rule: str, verdict: Verdict) -> set[int | None]:
    return {
        position.cylinder
        for finding in check.all_findings
        if finding.rule.id == rule and finding.verdict is verdict
        for position in finding.positions
    }


def verdicts(check: BuildCheck, rule: str) -> set[Verdict]:
    return {finding.verdict for finding in check.all_findings if finding.rule.id == rule}


def at(check: BuildCheck, rule: str, place: str) -> RuleFinding:
    """The finding of a rule at a place, as the reports name it."""
    found = [
        finding
        for finding in check.all_findings
        if finding.rule.id == rule and places(finding, check.build.layout) == place
    ]
    assert len(found) == 1, f"{rule} at {place}: {len(found)} findings"
    return found[0]


def lacks(check: BuildCheck, rule: str) -> set[str]:
    return {
        fact.attribute.name
        for finding in check.all_findings
        if finding.rule.id == rule
        for fact in finding.missing
    }


# What holds for every invented build.


@pytest.mark.parametrize("name", DEMOS)
def test_it_says_that_it_is_invented(name: str, checks: dict[str, BuildCheck]) -> None:
    text = (demo_folder() / name / "build.yaml").read_text(encoding="utf-8")
    assert text.splitlines()[1].startswith("# An invented build: no such ")
    assert checks[name].build.title.endswith("(invented)")
    assert len(checks[name].build.about) > 100


@pytest.mark.parametrize("name", DEMOS)
def test_every_rule_can_be_computed(name: str, checks: dict[str, BuildCheck]) -> None:
    assert checks[name].failures == []


@pytest.mark.parametrize("name", DEMOS)
def test_the_list_of_clashes_can_be_read_at_a_glance(
    name: str, checks: dict[str, BuildCheck]
) -> None:
    rules = {finding.rule.id for finding in checks[name].conflicts}
    assert 4 <= len(rules) <= 11
    assert summary(checks[name]).startswith("These parts do not work together as listed")


@pytest.mark.parametrize("name", DEMOS)
def test_figures_were_taken_in_the_year_told(name: str, checks: dict[str, BuildCheck]) -> None:
    days = [
        statement.origin.when
        for statement in checks[name].build.statements()
        if statement.origin.when is not None
    ]
    assert len(days) > 10
    assert date(2026, 1, 1) <= min(days) <= max(days) < date(2026, 11, 25)


@pytest.mark.parametrize("options", [["--units", "inch"], ["--units", "metric", "--all"]])
@pytest.mark.parametrize("name", DEMOS)
def test_the_command_tells_the_clashes(
    name: str, options: list[str], checks: dict[str, BuildCheck], capsys: pytest.CaptureFixture[str]
) -> None:
    path = demo_folder() / name / "build.yaml"
    assert main(["check", str(path), *options]) == CLASHES
    told = capsys.readouterr()
    assert not told.err
    if "--all" not in options:
        assert len(told.out.splitlines()) <= 80  # two screens
    for finding in checks[name].conflicts:
        assert f"[{finding.rule.id}]" in told.out


@pytest.mark.parametrize("name", DEMOS)
def test_the_data_hold_the_same_findings(
    name: str, checks: dict[str, BuildCheck], capsys: pytest.CaptureFixture[str]
) -> None:
    path = demo_folder() / name / "build.yaml"
    assert main(["check", str(path), "--json", "--units", "metric"]) == CLASHES
    data = json.loads(capsys.readouterr().out)
    check = checks[name]
    assert data["failures"] == []
    clashing = {finding.rule.id for finding in check.conflicts}
    assert data["counts"]["conflict"] == len(clashing)
    assert sorted(data["clashes"]) == sorted(clashing)
    told = [(found["rule"], found["verdict"], found["where"]) for found in data["findings"]]
    known = [
        (finding.rule.id, finding.verdict.value, places(finding, check.build.layout))
        for finding in check.findings
    ]
    assert told == known


@pytest.mark.parametrize("name", DEMOS)
def test_the_gravest_clash_can_be_explained(
    name: str, checks: dict[str, BuildCheck], capsys: pytest.CaptureFixture[str]
) -> None:
    gravest = checks[name].conflicts[0]
    path = demo_folder() / name / "build.yaml"
    assert main(["explain", str(path), gravest.rule.id]) == CLASHES
    told = " ".join(capsys.readouterr().out.split())
    figures = [fact for fact in gravest.cited.values() if fact.interval is not None]
    assert len(figures) >= 2
    for fact in figures:
        assert fact.attribute.title in told


# The work truck: a head bought for one camshaft and used with another.


def test_truck_springs_go_solid_at_the_lift_of_the_other_camshaft(truck: BuildCheck) -> None:
    # 1.720 - 0.348 x 1.52 - 1.150 = 0.041 left on the intakes, and less than 0.060 on both sides.
    assert verdicts(truck, "coil_bind") == {CONFLICT}
    intake = at(truck, "coil_bind", "all intakes")
    assert intake.demands[0].actual.lower < 25.4 * 0.041 < intake.demands[0].actual.upper
    # At the 0.480 the head is sold for there would be 1.720 - 0.480 - 1.150 = 0.090.
    # 0.565 - 0.529 = 0.036 to the seal, where 0.050 is wanted; 0.565 - 0.480 would have been enough.
    assert verdicts(truck, "retainer_meets_seal") == {CONFLICT}


def test_truck_springs_are_those_of_a_flat_tappet(truck: BuildCheck) -> None:
    # 105 lbf closed is in the band of a hydraulic flat tappet; of rollers some have 80 and others
    # want 120.
    assert verdicts(truck, "weak_seat_load") == {STRADDLES}
    assert verdicts(truck, "weak_open_load") == {STRADDLES}


def test_truck_guides_are_tight_but_for_one(truck: BuildCheck) -> None:
    # Exhausts: 0.3413 - 0.3410 = 0.0003; number 3: 0.3430 - 0.3410 = 0.0020.
    tight = {f"{number} exhaust" for number in (1, 2, 4, 5, 6)}
    assert valves(truck, "stem_tight_in_bronze", CONFLICT) == tight
    # What is tight when cold is told once: that it seizes when hot lies beneath.
    assert valves(truck, "stem_seizes_hot", CONFLICT) == tight
    clashes = {finding.rule.id for finding in truck.findings if finding.verdict is CONFLICT}
    assert "stem_tight_in_bronze" in clashes
    assert "stem_seizes_hot" not in clashes
    assert "3 exhaust" in valves(truck, "stem_tight_in_bronze", FITS)
    assert "3 exhaust" in valves(truck, "stem_seizes_hot", FITS)


def test_truck_claims_do_not_cover_what_is_done(truck: BuildCheck) -> None:
    claims = {claim.finding.rule.id: claim for claim in truck.claims}
    for rule in ("follower_outside_claim", "lift_outside_claim"):
        assert claims[rule].finding.verdict is CONFLICT
        assert claims[rule].works is Works.NO
    # Inside the claim, and yet it does not work: the guides were sold as sized to their valves.
    guides = claims["guides_sold_sized_for_other_valves"]
    assert guides.finding.verdict is FITS
    assert guides.works is Works.NO
    assert {finding.rule.id for finding in guides.against} >= {"stem_tight_in_bronze"}


def test_truck_lacks_what_only_a_trial_on_the_block_can_tell(truck: BuildCheck) -> None:
    assert lacks(truck, "valve_near_piston") >= {"piston.axial_gap"}
    assert lacks(truck, "bolt_pattern_differs") == {"head.fits_bolt_pattern"}
    assert "head.oil_routes" in lacks(truck, "rockers_not_oiled")
    assert "pushrod.wanted_length" in lacks(truck, "pushrod_of_wrong_length")
    for rule in ("valve_near_piston", "bolt_pattern_differs", "rockers_not_oiled"):
        assert verdicts(truck, rule) == {UNMEASURED}


def test_truck_has_things_that_fit(truck: BuildCheck) -> None:
    for rule in (
        "roller_cam_walks",
        "roller_without_alignment",
        "alignment_not_in_block",
        "seat_cut_in_bare_aluminium",
        "plug_thread_differs",
        "exhaust_seat_too_soft_for_sustained_load",
        "lock_angle_mismatch",
    ):
        assert verdicts(truck, rule) == {FITS}, rule
    assert verdicts(truck, "spring_on_bare_aluminium") == {CONFLICT}
    assert verdicts(truck, "iron_gear_on_steel_core") == {CONFLICT}


# The service boat: another workshop's half-done rebuild.


def test_boat_inserts_of_two_exhausts_fall_out_of_warm_aluminium(boat: BuildCheck) -> None:
    # 1.7500 less 1.7473 and 1.7476 leave 0.0027 and 0.0024 of interference. 315 F of warming cost
    # (21.5 - 11.4) um/m/K x 175 K x 1.75 in = 0.0031; the others have 0.0060 and keep half of it.
    loose = {"5 exhaust", "7 exhaust"}
    assert valves(boat, "insert_loose_when_cold", CONFLICT) == loose
    assert valves(boat, "insert_loose_when_hot", CONFLICT) == loose
    assert valves(boat, "insert_loose_when_hot", FITS) >= {"1 exhaust", "2 exhaust", "5 intake"}


def test_boat_guides_are_worn_where_they_are(boat: BuildCheck) -> None:
    # 0.3782 - 0.3704 = 0.0078 and 0.3785 - 0.3701 = 0.0084, past 0.0070; the next is 0.0043.
    assert valves(boat, "stem_loose_in_guide", CONFLICT) == {"4 exhaust", "6 exhaust"}
    assert "2 exhaust" in valves(boat, "stem_loose_in_guide", FITS)


def test_boat_exhaust_valves(boat: BuildCheck) -> None:
    assert valves(boat, "bare_stainless_in_iron", CONFLICT) == {"3 exhaust", "5 exhaust"}
    assert valves(boat, "sodium_valve_to_be_scrapped", CONFLICT) == {"2 exhaust"}
    worn = at(boat, "sodium_valve_to_be_scrapped", "cylinder 2 exhaust")
    assert "sodium_valve" in [str(caution) for caution in worn.rule.file.cautions]
    # The seats themselves stand unleaded fuel under sustained load.
    assert verdicts(boat, "exhaust_seat_too_soft_for_sustained_load") == {FITS}


def test_boat_heads_were_cut_unequally(boat: BuildCheck) -> None:
    assert verdicts(boat, "heads_cut_unequally") == {CONFLICT}
    # 65.4 - 61.2 = 4.2 cc, where 1.0 is usual.
    assert verdicts(boat, "chambers_differ") == {CONFLICT}
    # Swept 783.8 cc. Cylinder 2: 61.2 + 6.0 + 2.1 deck + 8.7 gasket = 78.0 above the piston, 11.0
    # to 1. Cylinder 1: 65.4 + 6.0 + 5.0 + 8.7 = 85.1, 10.2 to 1.
    assert cylinders(boat, "compression_high_for_fuel", CONFLICT) == {2, 4}
    assert 1 in cylinders(boat, "compression_high_for_fuel", STRADDLES)


def test_boat_unmeasured_chambers_stay_open(boat: BuildCheck) -> None:
    # The notes say 65 cc for all; on the right bank, where two are measured, they are wrong.
    assert cylinders(boat, "compression_high_for_fuel", STRADDLES) >= {6, 8}
    for finding in boat.all_findings:
        if finding.rule.id == "compression_high_for_fuel" and finding.verdict is STRADDLES:
            volume = finding.facts["head.chamber_volume"]
            measured = finding.positions[0].cylinder in (1, 2, 3, 4)
            assert (volume.evidence is Evidence.MEASURED) == measured


def test_boat_quench_differs_by_bank(boat: BuildCheck) -> None:
    # Left 0.024 + 0.041 = 0.065, past 0.060; right 0.010 + 0.041 = 0.051, which some accept.
    assert cylinders(boat, "quench_wide", CONFLICT) == {1, 3, 5, 7}
    assert cylinders(boat, "quench_wide", STRADDLES) == {2, 4, 6, 8}
    assert cylinders(boat, "quench_tight", FITS) == {1, 2, 3, 4, 5, 6, 7, 8}


def test_boat_gear_does_not_suit_the_core(boat: BuildCheck) -> None:
    assert verdicts(boat, "steel_gear_on_iron_core") == {CONFLICT}
    assert verdicts(boat, "little_zinc_under_flat_foot") == {FITS}
    assert verdicts(boat, "coil_bind") == {FITS}


# The hill-climb four: nearly everything measured, and still not ready.


def test_four_pistons_stand_too_near_the_milled_head(four: BuildCheck) -> None:
    # Cylinder 2: 1.05 - 0.26 = 0.79 mm, cylinder 3: 0.77; the piston's maker asks for 0.035 in, or
    # 0.889 mm, where racing engines are run with 0.71. Cylinder 1 has 1.01.
    assert cylinders(four, "quench_tight", CONFLICT) == {2, 3}
    assert cylinders(four, "quench_tight", FITS) == {1, 4}


def test_four_exhaust_valves_come_too_near(four: BuildCheck) -> None:
    # 2.05 mm by the clay less the milling; 0.100 in is 2.54. The intakes have 2.80.
    assert valves(four, "valve_near_piston", CONFLICT) == {f"{n} exhaust" for n in (1, 2, 3, 4)}
    assert valves(four, "valve_near_piston", FITS) == {f"{n} intake" for n in (1, 2, 3, 4)}
    gap = at(four, "valve_near_piston", "cylinder 1 exhaust").facts["piston.axial_gap"]
    assert gap.evidence is Evidence.PREDICTED


def test_four_pushrods_are_too_long_after_milling(four: BuildCheck) -> None:
    # 192.0 against the 190.2 mm that the trial pushrod found: 1.8 mm, past 0.050 in (1.27 mm).
    assert verdicts(four, "pushrod_of_wrong_length") == {CONFLICT}
    # The mark is off the middle by 1.0 mm of a 7.96 mm tip: 13 %, between 10 and 20.
    assert verdicts(four, "contact_off_middle") == {STRADDLES}


def test_four_springs_at_speed(four: BuildCheck) -> None:
    # 21000 a minute by the seller is 5.4 times the 3900 rpm of the camshaft, and 6 is the least.
    assert verdicts(four, "spring_surges") == {CONFLICT}
    # One spring presses 112 where its neighbours press 132: 85 %, and 90 is the least.
    assert valves(four, "load_lost", CONFLICT) == {"3 exhaust"}
    # What the springs still hold down lies within what practice disagrees on.
    assert verdicts(four, "valve_leaves_lobe") == {STRADDLES}


def test_four_head_is_used_past_what_it_was_sold_for(four: BuildCheck) -> None:
    claims = {claim.finding.rule.id: claim for claim in four.claims}
    for rule in ("lift_outside_claim", "speed_outside_claim"):
        assert claims[rule].finding.verdict is CONFLICT
        assert claims[rule].works is Works.NO
    assert claims["follower_outside_claim"].finding.verdict is FITS


def test_four_fits_where_it_was_measured(four: BuildCheck) -> None:
    for rule in (
        "coil_bind",
        "retainer_meets_seal",
        "stem_tight_in_bronze",
        "seat_runs_out",
        "leaks_at_vacuum_test",
        "chambers_differ",
        "lash_small",
        "lash_great",
        "lobe_larger_than_bearing",
        "valve_meets_piston_at_tdc",
    ):
        assert verdicts(four, rule) == {FITS}, rule
    # 258 deg at 0.050 in and 162 at 0.200 are 48 deg of crankshaft for 0.150 in on each flank: 24
    # of the camshaft, 0.358 in a radian; the foot's radius is 11.2 mm, or 0.441 in.
    assert verdicts(four, "card_outruns_flat_foot") == {FITS}
