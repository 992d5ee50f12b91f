"""Room to a limit, by figures worked by hand: coil-bind clearance in inches, a load in pounds."""

from __future__ import annotations

from fractions import Fraction
from types import SimpleNamespace

import pytest

from fitcheck.check.room import past, room_of, well_past, well_within
from fitcheck.check.verdict import Verdict
from fitcheck.quantity import Interval
from fitcheck.report.answers import worst_place


def ends(lower, upper):
    return Interval(Fraction(lower), Fraction(upper))


def demand(margin, wanted):
    return SimpleNamespace(margin=ends(*margin), wanted=ends(*wanted))


def finding(*margin, verdict=Verdict.STRADDLES, demands=()):
    return SimpleNamespace(
        margin=ends(*margin) if margin else None, demands=demands, verdict=verdict
    )


@pytest.mark.parametrize(
    ("margin", "wanted", "room"),
    [
        (("0.030", "0.050"), ("0.060", "0.060"), 0.5),  # 0.030 in of 0.060
        (("-0.015", "0.010"), ("0.050", "0.060"), -0.25),  # of the larger limit of a band
        (("17", "20"), ("-85", "-80"), 0.2),  # the size of a limit, whatever its sign
        (("-2", "1"), ("0", "0"), -1.0),  # no limit: the margin itself is what there is
        (("1", "4"), ("0", "0"), 0.25),
        (("-1", "4"), ("0", "0"), -0.25),
        (("0", "0"), ("0", "0"), 0.0),
    ],
)
def test_room_is_the_least_margin_as_a_share_of_the_limit(margin, wanted, room):
    assert room_of(demand(margin, wanted)) == pytest.approx(room)
    assert past(finding(demands=[demand(margin, wanted)])) == pytest.approx(-room)


def test_a_finding_is_past_the_limit_that_stands_first_in_it():
    clearance, load = demand(("0.030", "0.050"), ("0.060", "0.060")), demand(("1", "2"), ("3", "4"))
    assert past(finding(demands=[clearance, load])) == pytest.approx(-0.5)


def test_a_finding_without_a_figure_is_past_nothing():
    assert past(finding()) == 0


# What is possible is 0.080 in wide; what practice allows lies anywhere within that.
WIDE = ("0", "0.080")


@pytest.mark.parametrize(
    ("lower", "upper", "beyond", "strictly", "laxly"),
    [
        ("-0.040", "0.000", False, False, False),
        ("-0.061", "-0.001", False, False, False),
        ("-0.020", "-0.020", True, False, False),  # a quarter of 0.080 past it
        ("-0.019", "-0.019", False, False, False),
        ("0.020", "0.020", False, True, True),
        ("0.019", "0.019", False, False, False),
        ("0.010", "0.030", False, False, True),  # 4 * 0.010 of 0.060 left, 4 * 0.030 of it
        ("0.015", "0.035", False, True, True),
        ("-0.036", "-0.016", True, False, False),
    ],
)
def test_well_past_and_well_within_leave_three_quarters_on_one_side(
    lower, upper, beyond, strictly, laxly
):
    possible, stated = finding(*WIDE), finding(lower, upper)
    assert well_past(possible, stated) is beyond
    assert well_within(possible, stated) is strictly
    assert well_within(possible, stated, laxest=True) is laxly


def test_where_there_is_no_figure_nothing_says_otherwise():
    for one, other in ((finding(), finding(*WIDE)), (finding(*WIDE), finding())):
        assert well_past(one, other) is well_within(one, other) is True


def test_the_worst_place_is_of_the_gravest_verdict_and_there_the_one_that_may_lack_most():
    fits, sure = finding("-9", "-8", verdict=Verdict.FITS), Verdict.CONFLICT
    slight, gross = finding("-2", "-1", verdict=sure), finding("-3", "-0.5", verdict=sure)
    unknown = finding(verdict=sure)
    assert worst_place([fits, slight, gross, unknown]) is gross
    assert worst_place([fits, unknown]) is unknown
