"""Figures measured in part: what is sure of a spread, how many more, what follows elsewhere."""

from fractions import Fraction
from itertools import permutations

import pytest
from rich.console import Console

from fitcheck.check import Verdict, check_build, read_build
from fitcheck.check.bind import spread_between
from fitcheck.check.records.samples import chance_all_within, samples, tolerance_factor
from fitcheck.quantity import Interval
from fitcheck.report.samples import percent, samples_data, write_samples

HEAD = 'build: b\ncylinders: "4"\nparts:\n  engine: {measured: {use: road}}\n  head:\n'


def _build(knowledge, head, more=""):
    return read_build("b.yaml", knowledge, HEAD + head + more)


def _volumes(*volumes):
    each = ", ".join(
        f"cylinder {number}: {volume}" for number, volume in enumerate(volumes, 1) if volume
    )
    return f"    measured: {{by: me, chamber_volume: {{{each}}}}}\n"


def _one(build, knowledge):
    (sample,) = samples(build, knowledge)
    return sample


def test_the_factor_of_a_published_case():
    # NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3: 43 wafers, 90 % with 99 %: 2.217.
    assert round(tolerance_factor(43, 0.90, 0.99), 3) == 2.217


def test_the_factor_is_near_the_exact_one():
    # Exact two-sided factors, 90 % with confidence 95 %, of 10 and 20 figures: from memory.
    assert tolerance_factor(10) == pytest.approx(2.839, rel=0.01)
    assert tolerance_factor(20) == pytest.approx(2.310, rel=0.01)


@pytest.mark.parametrize(("measured", "places"), [(2, 4), (3, 4), (4, 4), (2, 6), (5, 6), (1, 5)])
def test_the_chance_is_what_counting_all_orders_gives(measured, places):
    orders = list(permutations(range(places)))
    within = sum(0 in order[:measured] and places - 1 in order[:measured] for order in orders)
    assert chance_all_within(measured, places) == Fraction(within, len(orders))


def test_a_spread_is_bounded_by_what_any_figures_within_give():
    single = [Interval(Fraction(a), Fraction(b)) for a, b in ((60, 62), (61, 65), (64, 64))]
    found = spread_between(single)
    grid = [[one.lower + (one.upper - one.lower) * step / 8 for step in range(9)] for one in single]
    spreads = [max(a, b, c) - min(a, b, c) for a in grid[0] for b in grid[1] for c in grid[2]]
    assert found == Interval(min(spreads), max(spreads))
    assert spread_between(single[:1]) == Interval(Fraction(0), Fraction(0))


def test_two_of_four_confirm_nothing(knowledge):
    # A burette read to 0.2 cc: 64.0 stands for 63.9..64.1.
    build = _build(
        knowledge, "    claimed: {chamber_volume: 64 cc}\n" + _volumes("64.0 cc", "64.4 cc")
    )
    sample = _one(build, knowledge)
    cc = 1000
    assert sample.seen == Interval(Fraction("0.2") * cc, Fraction("0.6") * cc)
    # Elsewhere 62..66 by the usual tolerance: from the seen 0.2 up to 66 - 62.
    assert sample.spread == Interval(Fraction("0.2") * cc, Fraction(4) * cc)
    assert sample.finding.verdict is Verdict.UNMEASURED
    assert [str(at) for at in sample.breaking] == ["cylinder 3", "cylinder 4"]
    assert [sample.chance(more) for more in range(3)] == [Fraction(1, 6), Fraction(1, 2), 1]
    assert sample.tolerance is None


def test_two_that_differ_too_much_are_enough(knowledge):
    build = _build(knowledge, _volumes("64.0 cc", "66.0 cc"))
    sample = _one(build, knowledge)
    assert sample.finding.verdict is Verdict.CONFLICT
    assert sample.breaking == ()
    found = [f for f in check_build(build, knowledge).conflicts if f.rule.id == "chambers_differ"]
    assert len(found) == 1


def test_all_measured_settle_the_spread_without_a_figure_of_its_own(knowledge):
    for last, verdict in (("64.3 cc", Verdict.FITS), ("65.4 cc", Verdict.CONFLICT)):
        build = _build(knowledge, _volumes("64.0 cc", "64.4 cc", "64.2 cc", last))
        assert samples(build, knowledge) == []
        (found,) = [
            f for f in check_build(build, knowledge).findings if f.rule.id == "chambers_differ"
        ]
        assert found.verdict is verdict


def test_measured_chambers_hold_over_a_claimed_spread(knowledge):
    claim = "    claimed: {chamber_spread: 0.2 cc}\n"
    build = _build(knowledge, claim + _volumes("64.0 cc", "64.4 cc", "64.2 cc", "67.4 cc"))
    (found,) = [f for f in check_build(build, knowledge).findings if f.rule.id == "chambers_differ"]
    assert found.verdict is Verdict.CONFLICT


def test_unmeasured_ones_that_a_claim_holds_close_need_no_more(knowledge):
    head = "    claimed: {chamber_volume: 64.2 +-0.1 cc}\n" + _volumes("64.0 cc", "64.4 cc")
    sample = _one(_build(knowledge, head), knowledge)
    assert sample.breaking == ()


def test_three_give_a_tolerance_interval(knowledge):
    sample = _one(_build(knowledge, _volumes("64.0 cc", "64.4 cc", "64.2 cc")), knowledge)
    # Mean 64.2, standard deviation 0.2.
    half = tolerance_factor(3) * 0.2
    assert float(sample.tolerance.lower) / 1000 == pytest.approx(64.2 - half)
    assert float(sample.tolerance.upper) / 1000 == pytest.approx(64.2 + half)


def test_compression_is_told_for_each_cylinder(knowledge):
    """Bore 100 mm, stroke 80 mm, gasket 1 mm by 100 mm, flat piston level with the deck."""
    more = """\
  block: {measured: {bore: 100.00 mm}}
  crankshaft: {measured: {stroke: 80.00 mm}}
  head_gasket: {measured: {bore_round: "yes", bore: 100.00 mm, thickness: 1.000 mm}}
  piston: {measured: {deck_clearance: 0.000 mm, crown_volume: 0.0 cc}}
"""
    head = "    claimed: {chamber_volume: 64 cc}\n" + _volumes("64.0 cc", "64.4 cc")
    sample = _one(_build(knowledge, head, more), knowledge)
    (result,) = [one for one in sample.results if one.derived.id == "static_compression"]
    swept, gasket = 628.3185, 7.853982  # pi/4 * 10^2 * 8 and * 0.1, in cubic centimetres
    for at, interval in result.at.items():
        low, high = {1: (63.9, 64.1), 2: (64.3, 64.5)}.get(at.cylinder, (62, 66))
        least, most = 1 + swept / (high + gasket), 1 + swept / (low + gasket)
        # What the gauges of the other figures leave open widens it by less than one in a hundred.
        assert interval.lower <= least and most <= interval.upper
        assert float(interval.lower) == pytest.approx(least, rel=0.01)
        assert float(interval.upper) == pytest.approx(most, rel=0.01)


def test_a_side_is_a_sample_of_its_own(knowledge):
    text = HEAD.replace("  head:\n", "") + (
        "  spring:\n    measured: {by: me, installed_height: {intake: 1.720 in, 1 exhaust: 1.700 in}}\n"
    )
    sample = _one(read_build("b.yaml", knowledge, text), knowledge)
    assert {at.side for at in (*sample.measured, *sample.open)} == {"exhaust"}
    assert (len(sample.measured), sample.places) == (1, 4)


def test_the_report_says_that_it_is_not_confirmed(knowledge, tmp_path):
    build = _build(
        knowledge,
        "    claimed: {chamber_volume: 64 cc}\n" + _volumes("64.0 cc", "64.4 cc", "64.2 cc"),
    )
    found = samples(build, knowledge)
    console = Console(width=100, record=True, file=(tmp_path / "out").open("w"))
    write_samples(found, build, knowledge, console, "inch")
    text = " ".join(console.export_text().split())
    assert "Measured at 3 of 4 places: cylinders 1, 2, 3." in text
    assert "A spread of at most 1.0 cc is NOT CONFIRMED" in text
    assert "Worst case: 1 more (cylinder 4)" in text
    assert "in 50 % of cases" in text and "With 1 more 100 %." in text
    assert "NIST/SEMATECH e-Handbook 7.2.6.3" in text
    (data,) = samples_data(found, "inch")
    assert data["more_in_the_worst_case"] == ["cylinder 4"]
    assert data["chance_all_within"] == [0.5, 1.0]


def test_a_chance_is_never_rounded_to_sure():
    assert [percent(Fraction(n, 1000)) for n in (0, 1, 500, 999, 1000)] == [
        "0 %",
        "under 1 %",
        "50 %",
        "over 99 %",
        "100 %",
    ]
