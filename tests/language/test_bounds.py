"""Bounds of expressions: exact where they can be, and what is refused for having none."""

from fractions import Fraction
from itertools import product
from random import Random

import pytest

from fitcheck.language import (
    CONFLICT,
    FITS,
    NEAR,
    SILENT,
    STRADDLES,
    TRUE,
    Condition,
    ExpressionError,
    Lowering,
    Ranges,
    compile_intervals,
    compile_verdicts,
    parse,
    variables,
)
from fitcheck.model.evidence import SUPPOSED, UNTOLD, Evidence
from tests.language.names import QUANTITIES, bounds, interval, lookup, tree
from tests.language.trees import value

INCH = Fraction(254, 10)


def inches(text, ranks=None, **known):
    return tuple(round(float(end / INCH), 9) for end in bounds(text, ranks, **known))


# Each figure where it stands once.


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("spring.height - valve.lift", 1.0, 1.3),
        ("spring.height + valve.lift", 2.1, 2.4),
        ("-valve.lift", -0.6, -0.5),
        ("abs(shim.offset)", 0.0, 0.05),
        ("max(spring.height, valve.lift)", 1.6, 1.8),
        ("min(spring.height, valve.lift)", 0.5, 0.6),
        ("valve.lift / rocker.ratio", 0.3125, 0.48),
        ("cam.lift * rocker.ratio", 0.375, 0.48),
        ("abs(guide.wear)", 0.002, 0.003),
        ("guide.wear * rocker.ratio", -0.0048, -0.0025),
        ("sqrt(valve.lift ** 2)", 0.5, 0.6),
    ],
)
def test_the_ends_of_a_result_come_from_the_ends_of_its_figures(text, low, high):
    known = {
        "spring_height": "1.6..1.8 in",
        "valve_lift": "0.5..0.6 in",
        "cam_lift": "0.3 in",
        "shim_offset": "-0.02..0.05 in",
        "rocker_ratio": "1.25..1.6",
        "guide_wear": "-0.003..-0.002 in",
    }
    assert inches(text, **known) == (low, high)


def test_what_is_not_known_is_as_wide_as_it_is_plausible():
    assert inches("spring.height - valve.lift", valve_lift="0.5 in") == (0.5, 2.1)


def test_a_derived_figure_stays_within_its_own_range():
    # 1.000 - 1.300 is below what an open height can be
    assert inches("open_height") == (0.2, 2.5)
    assert inches("open_height", spring_height="1.8 in", valve_lift="0.5 in") == (1.3, 1.3)


def test_a_limit_in_dispute_is_a_band():
    assert inches("valve.lift - window", valve_lift="0.5 in") == (0.44, 0.45)


# A figure that stands in a formula twice is still one figure.


@pytest.mark.parametrize(
    "text",
    [
        "spring.height - (spring.height - spring.solid)",
        "spring.height - valve.lift - spring.solid + valve.lift",
        "spring.height * spring.height",
        "spring.height ** 2 * spring.solid + spring.height ** 3",
        "valve.lift * rocker.ratio - valve.lift",
        "max(spring.height, spring.solid) + spring.height",
        "min(spring.height - valve.lift, spring.height - spring.solid)",
        "abs(guide.wear) - guide.wear",
        "-guide.wear * spring.height - guide.wear * spring.solid",
        "guide.wear - 3 * guide.wear",
        "spring.height + valve.lift * 3 - spring.height",
        "spring.load + spring.rate * spring.height - spring.load / 2",
        "spring.load / spring.height - spring.rate * 2 - spring.rate * spring.height / cam.lift",
        "open_height + 2 * open_height",
        "(spring.height if spring.solid >= least else valve.lift) + spring.height",
    ],
)
def test_a_repeated_figure_that_pushes_one_way_is_bounded_exactly(text):
    node = tree(text)
    ends = [
        (found.lower, found.upper)
        for found in (interval(*QUANTITIES[name]) for name in variables(node))
    ]
    corners = [
        value(node, {"share": Fraction(0), **dict(zip(variables(node), corner, strict=True))})
        for corner in product(*ends)
    ]
    assert bounds(text) == (min(corners), max(corners))


def test_roots_and_calculations_push_one_way_too():
    assert inches("sqrt(spring.height ** 2) + spring.height / 2") == (1.5, 3.9)
    # the curtain of a valve is pi times diameter times lift
    text = "valve_curtain_area(spring.height, valve.lift) / (pi * spring.height) + valve.lift"
    low, high = inches(text, spring_height="2 in", valve_lift="0.3..0.5 in")
    assert (low, high) == pytest.approx((0.6, 1.0), rel=2e-9)  # and no wider than its accuracy


def test_a_figure_that_can_push_either_way_is_bounded_wider_never_narrower():
    assert inches("shim.offset * shim.offset / least")[0] < 0  # as if two figures
    assert inches("shim.offset ** 2 / least")[0] == 0  # as the one it is


# Two ways to one figure.


@pytest.mark.parametrize(
    ("first", "second", "common"),
    [
        ("1.7..1.9 in", "1.8..2.0 in", (1.8, 1.9)),
        ("1.7..1.9 in", "1.0..2.6 in", (1.7, 1.9)),
        ("1.80 in", "1.7..1.9 in", (1.8, 1.8)),
        ("1.80 in", "1.80 in", (1.8, 1.8)),
        ("1.7..1.8 in", "1.8..1.9 in", (1.8, 1.8)),
        ("1.70 in", "1.9..2.0 in", (1.7, 2.0)),  # they contradict: it may be either
        ("1.9..2.0 in", "1.70 in", (1.7, 2.0)),
    ],
)
def test_two_ways_to_one_figure_leave_what_they_have_in_common(first, second, common):
    found = inches("agree(spring.height, spring.solid)", spring_height=first, spring_solid=second)
    assert found == common


MEASURED, PREDICTED, CLAIMED, USUAL, ASSUMED = Evidence


@pytest.mark.parametrize(
    ("first", "second", "holds"),
    [
        (MEASURED, CLAIMED, "first"),
        (CLAIMED, MEASURED, "second"),
        (MEASURED, PREDICTED, "first"),
        (PREDICTED, CLAIMED, "first"),
        (CLAIMED, USUAL, "first"),
        (USUAL, ASSUMED, "first"),
        (ASSUMED, UNTOLD, "first"),
        (UNTOLD, ASSUMED, "second"),
        (SUPPOSED, MEASURED, "first"),
    ],
)
@pytest.mark.parametrize("other", ["1.75..1.9 in", "1.9..2.0 in"])  # meets it, stands off it
def test_of_two_ways_the_better_known_holds_alone(first, second, holds, other):
    """A claim never narrows, widens or contradicts a measurement; nor a range what was told."""
    ranks = {"spring_height": first, "spring_solid": second}
    known = {"spring_height": "1.7..1.8 in", "spring_solid": other}
    found = inches("agree(spring.height, spring.solid)", ranks, **known)
    low, high = known[f"spring_{'height' if holds == 'first' else 'solid'}"][:-3].split("..")
    assert found == (float(low), float(high))


def test_a_figure_is_known_as_well_as_the_weakest_that_it_was_reckoned_from():
    text = "agree(valve.lift, cam.lift * rocker.ratio)"
    known = {"cam_lift": "0.300 in", "rocker_ratio": "1.5", "valve_lift": "0.500 in"}
    claimed_ratio = {"valve_lift": PREDICTED, "cam_lift": MEASURED, "rocker_ratio": CLAIMED}
    assert inches(text, claimed_ratio, **known) == (0.5, 0.5)
    measured_ratio = {**claimed_ratio, "rocker_ratio": MEASURED}
    assert inches(text, measured_ratio, **known) == (0.45, 0.45)


def test_of_ways_that_lack_a_figure_and_do_not_meet_the_one_holds_that_somebody_told_more_of():
    text = "agree(valve.lift, cam.lift * rocker.ratio)"
    ranks = {"valve_lift": UNTOLD, "cam_lift": CLAIMED, "rocker_ratio": UNTOLD}
    known = {"valve_lift": "0.3..0.4 in", "cam_lift": "0.400 in", "rocker_ratio": "1.25..1.6"}
    assert inches(text, ranks, **known) == (0.5, 0.64)


def test_a_branch_that_is_not_taken_makes_nothing_weaker():
    text = (
        "agree(spring.solid, spring.height if valve.lift >= cam.lift else shim.offset + valve.lift)"
    )
    ranks = {"spring_solid": CLAIMED, "spring_height": MEASURED, "shim_offset": UNTOLD}
    known = {"spring_solid": "1.1 in", "spring_height": "1.8 in", "cam_lift": "0.5 in"}
    ranks |= {"valve_lift": MEASURED, "cam_lift": MEASURED}
    assert inches(text, ranks, valve_lift="0.5 in", **known) == (1.8, 1.8)
    assert inches(text, ranks, valve_lift="0.4 in", **known) == (1.1, 1.1)


def test_each_way_is_bounded_as_it_would_be_alone():
    text = "agree(spring.height - (spring.height - spring.solid), valve.lift)"
    known = {"spring_height": "1.7..1.9 in", "spring_solid": "1.1..1.2 in"}
    assert inches(text, valve_lift="1.15..1.3 in", **known) == (1.15, 1.2)


def test_what_two_ways_leave_is_one_figure_wherever_it_stands():
    both = parse("agree(spring.height, spring.solid)", lookup)
    node = parse("both * 3 - both", lambda name, at: both if name == "both" else lookup(name, at))
    compiled = compile_intervals([Lowering().interval(node)])
    known = {"spring.height": (17, 19), "spring.solid": (18, 20)}
    ends = [
        Fraction(0 if which == "rank" else known[name][which == "upper"])
        for name, which in compiled.inputs
    ]
    assert compiled.function(ends) == (36, 38)


def test_a_choice_between_figures():
    text = "spring.height if valve.lift >= cam.lift else spring.solid"
    known = {"spring_height": "1.8 in", "spring_solid": "1.1 in", "cam_lift": "0.5 in"}
    assert inches(text, valve_lift="0.5 in", **known) == (1.8, 1.8)
    assert inches(text, valve_lift="0.4 in", **known) == (1.1, 1.1)
    assert inches(text, valve_lift="0.4..0.5 in", **known) == (1.1, 1.8)


# What has no bounds is refused when it is loaded, at its place.


@pytest.mark.parametrize(
    ("text", "piece", "says"),
    [
        ("spring.load / shim.offset", "shim.offset", "the divisor can be zero"),
        ("spring.load / (spring.height - spring.solid)", "spring.height - spring.solid", "be zero"),
        ("spring.load / guide.wear", "guide.wear", "the divisor can be zero"),  # up to zero
        (
            "sqrt(guide.wear * spring.height)",
            "guide.wear * spring.height",
            "root of what can be neg",
        ),
        ("swept_volume(shim.offset, valve.lift)", "shim.offset", "can leave the range in which it"),
        (
            "cam.lift if spring.load / shim.offset > spring.rate else valve.lift",
            "shim.offset",
            "the divisor can be zero",
        ),  # asked in a condition inside a figure
    ],
)
def test_what_can_leave_its_range_is_refused(text, piece, says):
    with pytest.raises(ExpressionError) as caught:
        Ranges().of(tree(text))
    error = caught.value
    assert says in error.what
    assert text[error.offset : error.offset + error.width] == piece


def test_a_plausible_range_makes_it_loadable():
    assert Ranges().of(tree("spring.load / open_height")).low > 0


# Margins that meet their limit exactly, as figures typed in decimals often do.


def verdicts(text, applies=""):
    lowering = Lowering()
    when = lowering.truth(tree(applies)) if applies else (TRUE, TRUE)
    condition = Condition(when, tuple(lowering.clauses(tree(text))))
    compiled = [compile_verdicts([condition], style) for style in ("fast", "exact")]

    def of(**figures):
        """The fast and the exact verdict on figures known exactly, in base units."""
        found = []
        for function, kind in zip(compiled, (float, Fraction), strict=True):
            ends = [kind(figures[name.replace(".", "_")]) for name, _ in function.inputs]
            found.append(function.function(ends)[0])
        return tuple(found)

    return of


@pytest.mark.parametrize("step", [INCH / 1000, Fraction(1, 100)], ids=["thousandths", "hundredths"])
def test_a_margin_met_exactly_fits_and_one_last_digit_less_does_not(step):
    demand = verdicts("spring.height - valve.lift - spring.solid >= least")
    strict = verdicts("spring.height - valve.lift - spring.solid > least")
    random, limit, misread = Random(1), Fraction("0.060") * INCH, 0
    for _ in range(3000):
        lift, solid = step * random.randint(260, 900), step * random.randint(1300, 1800)
        figures = {"valve_lift": lift, "spring_solid": solid}
        height = lift + solid + limit
        assert demand(spring_height=height, **figures) in ((FITS, FITS), (NEAR, FITS))
        assert demand(spring_height=height - step, **figures) == (CONFLICT, CONFLICT)
        assert demand(spring_height=height + step, **figures) == (FITS, FITS)
        assert strict(spring_height=height, **figures) in ((CONFLICT, CONFLICT), (NEAR, CONFLICT))
        misread += not float(height) - float(lift) - float(solid) >= float(limit)
    assert misread > 300  # what floats alone would call a clash: the reason for the exact way


@pytest.mark.parametrize(
    "text",
    ["spring.load <= most", "spring.load < most", "most >= spring.load", "most > spring.load"],
)
def test_a_hair_beside_a_limit_is_not_told_by_floats(text):
    demand = verdicts(text)
    hair, limit = Fraction(1, 10**20), 400 * Fraction("4.4482216152605")
    assert demand(spring_load=limit - hair) == (NEAR, FITS)
    assert demand(spring_load=limit + hair) == (NEAR, CONFLICT)
    on_it = FITS if "=" in text else CONFLICT
    assert demand(spring_load=limit) == (NEAR, on_it)


def test_a_choice_that_hangs_on_a_hair_is_decided_exactly():
    demand = verdicts("(spring.height if valve.lift > cam.lift else spring.solid) >= open_height")
    figures = {"spring_height": 36, "spring_solid": 40, "valve_lift": 10, "cam_lift": 10}
    # a spring's height less its lift: 36 - 10
    assert demand(**figures) == (FITS, FITS)
    other = verdicts(
        "(spring.height if valve.lift > cam.lift else spring.solid) >= port.area / least"
    )
    # whether it is 36 or 40 that is to be 38 or more hangs on 10 being more than 10
    area = 38 * Fraction("0.060") * INCH
    assert other(port_area=area, **figures) == (NEAR, FITS)
    assert other(port_area=area, **{**figures, "spring_height": 40, "spring_solid": 36}) == (
        NEAR,
        CONFLICT,
    )


def test_whether_a_rule_applies_can_hang_on_a_hair():
    choice = "(spring.height if valve.lift > cam.lift else spring.solid) >= port.area / least"
    demand = verdicts("spring.load <= most", applies=choice)
    figures = {
        "spring_load": 100,
        "spring_height": 40,
        "spring_solid": 36,
        "valve_lift": 10,
        "port_area": 38 * Fraction("0.060") * INCH,
    }
    assert demand(cam_lift=10, **figures) == (NEAR, SILENT)  # it is 36, for 10 is not more than 10
    assert demand(cam_lift=9, **figures) == (FITS, FITS)


def test_a_rule_that_only_may_apply_is_not_taken_to():
    lowering = Lowering()
    applies = lowering.truth(tree("window >= least"))  # 0.050..0.060 in: only at its upper end
    requires = tuple(lowering.clauses(tree("valve.lift >= spring.solid")))
    for style in ("fast", "exact"):
        compiled = compile_verdicts([Condition(applies, requires)], style)
        kind = float if style == "fast" else Fraction
        lift = [kind(10 if name == "valve.lift" else 30) for name, _ in compiled.inputs]
        assert compiled.function(lift) == (STRADDLES,)


def test_a_product_met_exactly():
    demand = verdicts("valve.lift >= cam.lift * rocker.ratio")
    random = Random(2)
    for _ in range(1000):
        lobe, ratio = (
            INCH * random.randint(200, 400) / 1000,
            Fraction(random.randint(100, 200), 100),
        )
        fast, exact = demand(valve_lift=lobe * ratio, cam_lift=lobe, rocker_ratio=ratio)
        assert exact == FITS
        assert fast in (FITS, NEAR)


def test_equality_is_exact():
    same = verdicts("spring.height - valve.lift == spring.solid")
    figures = {"spring_height": INCH * 17 / 10, "valve_lift": INCH * 3 / 5}
    assert same(spring_solid=INCH * 11 / 10, **figures)[1] == FITS
    assert same(spring_solid=INCH * 1101 / 1000, **figures) == (CONFLICT, CONFLICT)


def test_a_band_is_undecided_inside_and_decided_at_its_ends():
    demand = verdicts("valve.lift >= window")
    thousandth = INCH / 1000
    assert [demand(valve_lift=thousandth * n)[1] for n in (49, 50, 55, 59, 60)] == [
        CONFLICT,
        STRADDLES,
        STRADDLES,
        STRADDLES,
        FITS,
    ]
