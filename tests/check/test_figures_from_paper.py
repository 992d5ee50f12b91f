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
