"""Claims and orders against measurements; every expectation is reckoned by hand in the test."""

from fractions import Fraction

import pytest
from rich.console import Console

from fitcheck.check import read_build
from fitcheck.check.records.audit import ClaimOutcome, audit
from fitcheck.quantity import Interval
from fitcheck.report.audit import audit_data, write_audit

INCH = Fraction("25.4")


def _audit(knowledge, claimed="", measured="", predicted="", cylinders=2):
    text = (
        f'build: b\ncylinders: "{cylinders}"\nparts:\n  spring:\n    seller: a seller (invented)\n'
    )
    for word, block in (("claimed", claimed), ("measured", measured), ("predicted", predicted)):
        text += f"    {word}: {block}\n" if block else ""
    build = read_build("b.yaml", knowledge, text)
    return build, audit(build)


def _only(knowledge, **blocks):
    _, found = _audit(knowledge, **blocks)
    (one,) = found
    return one


def _off(low, high):
    return Interval(Fraction(low) * INCH, Fraction(high) * INCH)


# Installed height: tolerance of a claim 0.020 in; the procedure reads to 0.002 in or finer.
@pytest.fixture(scope="module")
def half(knowledge):
    """Half of what the height's procedure resolves, in inches."""
    attribute = knowledge.attributes["spring.installed_height"]
    assert attribute.claim.amount == Fraction("0.020") * INCH
    return knowledge.procedures[attribute.measure].resolution.interval.middle / 2 / INCH


def test_within_the_tolerance_that_is_usual(knowledge, half):
    one = _only(
        knowledge, claimed="{installed_height: 1.700 in}", measured="{installed_height: 1.715 in}"
    )
    assert (one.outcome, one.off) == (ClaimOutcome.WITHIN, None)
    assert one.measured.value.interval == _off(Fraction("1.715") - half, Fraction("1.715") + half)


@pytest.mark.parametrize(
    ("said", "reading", "sign"), [("1.700 in", "1.740 in", 1), ("1.700 in", "1.660 in", -1)]
)
def test_outside_by_how_much(knowledge, half, said, reading, sign):
    # Claimed 1.680..1.720; read 1.740 +- half: over by 0.020 less or more that half.
    one = _only(
        knowledge,
        claimed=f"{{installed_height: {said}}}",
        measured=f"{{installed_height: {reading}}}",
    )
    assert one.outcome is ClaimOutcome.OUTSIDE
    ends = sorted(sign * (Fraction("0.020") + end) for end in (-half, half))
    assert one.off == _off(*ends)


def test_the_resolution_leaves_it_open_at_the_edge(knowledge, half):
    # 1.720 is the end of the tolerance: the reading reaches past it by half of the resolution.
    one = _only(
        knowledge, claimed="{installed_height: 1.700 in}", measured="{installed_height: 1.720 in}"
    )
    assert (one.outcome, one.off) == (ClaimOutcome.OPEN, None)
    just = Fraction("1.720") + half
    outside = _only(
        knowledge,
        claimed="{installed_height: 1.700 in}",
        measured=f"{{installed_height: {float(just + Fraction(1, 10000)):.5f} in}}",
    )
    assert outside.outcome is ClaimOutcome.OUTSIDE
    assert outside.off.lower == Fraction(1, 10000) * INCH


def test_a_tolerance_that_the_seller_states_counts_instead(knowledge):
    one = _only(
        knowledge,
        claimed="{installed_height: 1.700 +-0.005 in}",
        measured="{installed_height: 1.715 in}",
    )
    assert one.outcome is ClaimOutcome.OUTSIDE


def test_a_metric_reading_of_an_inch_claim(knowledge):
    # 43.18 mm are 1.700 in.
    one = _only(
        knowledge, claimed="{installed_height: 1.700 in}", measured="{installed_height: 43.18 mm}"
    )
    assert one.outcome is ClaimOutcome.WITHIN


def test_each_place_stands_on_its_own(knowledge):
    _, found = _audit(
        knowledge,
        claimed="{installed_height: 1.700 in}",
        measured="{installed_height: {1 intake: 1.700 in, 2 exhaust: 1.800 in}}",
    )
    told = {one.outcome: [str(at) for at in one.positions] for one in found}
    assert told == {
        ClaimOutcome.OUTSIDE: ["cylinder 2 exhaust"],
        ClaimOutcome.WITHIN: ["cylinder 1 intake"],
        ClaimOutcome.UNMEASURED: ["cylinder 1 exhaust", "cylinder 2 intake"],
    }


def test_options_are_the_same_or_not(knowledge):
    for measured, outcome in (("single", ClaimOutcome.WITHIN), ("double", ClaimOutcome.OUTSIDE)):
        one = _only(knowledge, claimed="{springs: single}", measured=f"{{springs: {measured}}}")
        assert one.outcome is outcome


def test_everything_claimed_of_a_set_must_be_there(knowledge):
    options = knowledge.attributes["spring.for_followers"].options[:3]
    a, b, c = options
    for measured, outcome in (([a, b, c], ClaimOutcome.WITHIN), ([a], ClaimOutcome.OUTSIDE)):
        one = _only(
            knowledge,
            claimed=f"{{for_followers: [{a}, {b}]}}",
            measured=f"{{for_followers: [{', '.join(measured)}]}}",
        )
        assert one.outcome is outcome


def test_the_latest_measurement_is_the_one_held_against(knowledge):
    one = _only(
        knowledge,
        claimed="{installed_height: 1.700 in}",
        measured=(
            "[{when: 2026-02-01, installed_height: 1.700 in}, "
            "{when: 2026-01-01, installed_height: 1.800 in}]"
        ),
    )
    assert one.outcome is ClaimOutcome.WITHIN


ORDER = "{by: owner, when: 2026-02-01, installed_height: 1.760 +-0.005 in}"


@pytest.mark.parametrize(
    ("when", "reading", "outcome"),
    [
        ("2026-01-05", "1.700 in", ClaimOutcome.UNMEASURED),  # from before the work
        ("2026-02-01", "1.760 in", ClaimOutcome.WITHIN),
        ("2026-02-20", "1.762 in", ClaimOutcome.WITHIN),
        ("2026-02-20", "1.700 in", ClaimOutcome.OUTSIDE),  # not done at all
    ],
)
def test_work_is_held_against_what_was_ordered(knowledge, when, reading, outcome):
    one = _only(
        knowledge, predicted=ORDER, measured=f"{{when: {when}, installed_height: {reading}}}"
    )
    assert one.outcome is outcome


def test_the_text_to_send_names_part_seller_figures_and_amount(knowledge, tmp_path, half):
    build, found = _audit(
        knowledge,
        claimed="{by: catalogue, installed_height: 1.700 in, seat_load: 100 lbf}",
        measured="{by: a shop, when: 2026-03-09, with: a gauge, installed_height: 1.740 in, seat_load: 104 lbf}",
    )
    console = Console(width=100, record=True, file=(tmp_path / "out").open("w"))
    write_audit(found, build, knowledge, console, "inch")
    text = " ".join(console.export_text().split())
    letter = text[text.index("TO SEND WITH THE PART") :]
    assert "valve spring; sold by a seller (invented)" in letter
    assert "1 figure is not as stated" in letter
    assert (
        "Installed height. Stated (by catalogue): 1.700 in, 1.680..1.720 in with the tolerance"
        in letter
    )
    assert "Measured (by a shop, on 2026-03-09, with a gauge): 1.740 in" in letter
    assert "over by 0.0" in letter
    assert "eat load" not in letter  # within: nothing to complain of
    (data,) = [one for one in audit_data(found, build, "inch") if one["outcome"] == "outside"]
    assert data["off"].startswith("+0.0") and data["seller"] == "a seller (invented)"


def test_nothing_to_send_where_nothing_is_outside(knowledge, tmp_path):
    build, found = _audit(
        knowledge,
        claimed="{installed_height: 1.700 in, seat_load: 100 lbf}",
        measured="{installed_height: 1.720 in}",
    )
    console = Console(width=100, record=True, file=(tmp_path / "out").open("w"))
    write_audit(found, build, knowledge, console, "inch")
    text = console.export_text()
    assert "TO SEND" not in text
    assert "1 cannot be told, 1 not measured." in text
    assert "Not measured: 1; --all lists them" in text
