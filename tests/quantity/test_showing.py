"""Writing what a machinist reads: never surer than it is, and read back whole."""

from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from fitcheck.quantity import (
    EXACT,
    KINDS,
    Interval,
    QuantityError,
    finer_apart,
    read_quantity,
    show,
    show_safe,
)
from fitcheck.quantity.units import UNITS

INCH = Fraction(254, 10)


def shown(text, kind="length", system="inch", **how):
    return show(read_quantity(text, KINDS[kind]).interval, KINDS[kind], system, **how)


@pytest.mark.parametrize(
    ("text", "kind", "inch", "metric"),
    [
        ("0.550 in", "length", "0.550 in", "13.95..13.99 mm"),
        ("13.97 mm", "length", "0.5498..0.5502 in", "13.97 mm"),
        ("0.060..0.080 in", "length", "0.060..0.080 in", "1.52..2.04 mm"),
        ("5/16 in", "length", "0.304..0.321 in", "7.73..8.14 mm"),
        ("0.0015 in", "length", "0.0015 in", "0.036..0.040 mm"),  # a clearance: one digit more
        ("0.05 mm", "length", "0.0017..0.0022 in", "0.045..0.055 mm"),
        ("-0.010..0.005 in", "length", "-0.010 to 0.005 in", "-0.26 to 0.13 mm"),
        ("130 lbf", "force", "130 lbf", "576..581 N"),
        ("345 lbf/in", "rate", "345 lbf/in", "60.3..60.6 N/mm"),
        ("75.6 cc", "volume", "75.6 cc", "75.6 cc"),
        ("28 inH2O", "depression", "27.5..28.5 inH2O", "6.84..7.10 kPa"),
        ("180 degF", "temperature", "180 degF", "82 degC"),
        ("30 %", "share", "29.5..30.5%", "29.5..30.5%"),
        ("9.50", "number", "9.50", "9.50"),
        ("8", "count", "8", "8"),
        ("6500 rpm", "frequency", "6500 rpm", "6500 rpm"),
        ("12 um/m/K", "expansion", "11.5..12.5 um/m/K", "11.5..12.5 um/m/K"),
    ],
)
def test_shown_to_each_reader(text, kind, inch, metric):
    assert shown(text, kind) == inch
    assert shown(text, kind, "metric") == metric


def test_a_range_is_rounded_outward():
    assert (
        show(Interval(INCH * Fraction("0.05951"), INCH * Fraction("0.0615")), KINDS["length"])
        == "0.059..0.062 in"
    )


def test_a_length_known_closely_shows_more_digits():
    assert shown("1.8000 in +-0.0001") == "1.7999..1.8001 in"


@pytest.mark.parametrize(
    ("found", "limit", "kind", "told"),
    [
        ("0.0999 in", "0.100 in", "length", "0.0999 in"),  # by a tenth of a thousandth too small
        ("0.100 in", "0.100 in", "length", "0.100 in"),  # on the limit: nothing to see apart
        ("0.0800..0.0999 in", "0.100 in", "length", "0.0800..0.0999 in"),
        ("0.080 in", "0.100 in", "length", "0.080 in"),
        ("299.6 lbf", "300 lbf", "force", "299.6 lbf"),
        ("0.090..0.110 in", "0.100 in", "length", "0.090..0.110 in"),  # neither is the greater
    ],
)
def test_beside_its_limit_a_figure_is_seen_to_miss_it(found, limit, kind, told):
    one, other = (read_quantity(text, KINDS[kind], EXACT).interval for text in (found, limit))
    finer = finer_apart(one, other, KINDS[kind])
    assert finer == finer_apart(other, one, KINDS[kind])
    assert show(one, KINDS[kind], finer=finer) == told


@given(figure=st.decimals("0.001", "2", places=6), off=st.decimals("0.000001", "0.1", places=6))
def test_two_figures_shown_side_by_side_are_never_alike(figure, off):
    one, other = (Interval.point(INCH * Fraction(value)) for value in (figure, figure + off))
    finer = finer_apart(one, other, KINDS["length"])
    less, more = (Decimal(show(x, KINDS["length"], finer=finer)[:-3]) for x in (one, other))
    assert less < more


@pytest.mark.parametrize(
    ("needed", "up", "step", "told"),
    [
        ("0.4980..0.50004 in", True, "0.0001 in", "0.5001 in"),  # a micrometer reading tenths
        ("0.4980..0.50004 in", True, "0.001 in", "0.501 in"),  # a caliper
        ("0.4980..0.50004 in", False, "0.001 in", "0.498 in"),
        ("0.49809 in", False, "0.001 in", "0.498 in"),
        ("-0.0105 in", False, "0.001 in", "-0.011 in"),
    ],
)
def test_one_figure_on_the_safe_side(needed, up, step, told):
    length = KINDS["length"]
    interval, one = (read_quantity(text, length, EXACT).interval for text in (needed, step))
    assert show_safe(interval, length, "inch", up=up, step=one.middle) == told


def test_a_signed_margin():
    assert shown("0.010 in", sign=True) == "+0.010 in"
    assert shown("-0.010 in", sign=True) == "-0.010 in"
    assert show(Interval.point(0), KINDS["length"], sign=True) == "0.000 in"


@pytest.mark.parametrize("figure", ["-0.0001", "0.0001", "-0.00001"])
def test_no_negative_nothing_is_shown(figure):
    text = show(Interval.point(INCH * Fraction(figure)), KINDS["length"])
    assert Fraction(text.removesuffix(" in")) in (Fraction(figure), 0)
    assert not text.startswith("-0.0000 ")


# Round trips. Whatever is read can be shown, and what is shown reads back as no less.

decimals = st.builds(
    lambda whole, places: f"{Decimal(whole).scaleb(-places):f}",
    st.integers(-99999, 99999),
    st.integers(0, 5),
)
fractions = st.builds(
    lambda whole, top, bottom: f"{whole} {top}/{bottom}",
    st.integers(0, 20),
    st.integers(1, 63),
    st.sampled_from([2, 8, 16, 64]),
)
numbers = decimals | fractions
unsigned = st.integers(0, 99).map(lambda n: f"{n / 1000:.3f}")
tolerances = st.one_of(
    st.just(""),
    unsigned.map("+-{}".format),
    unsigned.map("±{} %".format),
    st.builds("+{} -{}".format, unsigned, unsigned),
)
units = st.sampled_from([u for u in UNITS if u.kind != "count"])


@given(numbers, tolerances, units, st.sampled_from(["inch", "metric"]))
@settings(max_examples=600, deadline=None, derandomize=True)
def test_what_is_shown_reads_back_as_no_less(number, tolerance, unit, system):
    kind = KINDS[unit.kind]
    quantity = read_quantity(f"{number} {unit.name} {tolerance}", kind)
    text = show(quantity.interval, kind, system)
    assert quantity.interval.within(read_quantity(text, kind).interval), text


@given(decimals)
@settings(max_examples=200, deadline=None, derandomize=True)
def test_a_single_figure_is_rounded_as_decimals_are(number):
    """Against the standard library's decimals; of two as near, both take the even one."""
    rounded = Decimal(number).quantize(Decimal("0.1"), ROUND_HALF_EVEN) + 0
    assume(rounded or not Decimal(number))  # what would be nought has its own test below
    assert show(Interval.point(Fraction(number)), KINDS["rate"], "metric") == f"{rounded} N/mm"


@given(decimals, decimals, units, st.sampled_from(["inch", "metric"]))
@settings(max_examples=400, deadline=None, derandomize=True)
def test_a_range_shown_is_the_range_to_a_last_digit(one, other, unit, system):
    low, high = sorted((one, other), key=Fraction)
    kind = KINDS[unit.kind]
    quantity = read_quantity(f"{low}..{high} {unit.name}", kind)
    back = read_quantity(show(quantity.interval, kind, system), kind)
    assert quantity.interval.within(back.interval)
    usual, places = kind.inch if system == "inch" else kind.metric
    digit = Fraction(1, 10**places) * next(
        u.factor for u in UNITS if u.name == usual and u.kind in (kind.name, "number")
    )
    assert back.interval.width <= quantity.interval.width + 2 * digit


@given(st.text('0123456789./ +-±%in"mx,eE*_٣½\t\u00a0', max_size=30))
@settings(max_examples=600, deadline=None, derandomize=True)
def test_any_text_is_read_or_refused_with_the_place(text):
    try:
        quantity = read_quantity(text, KINDS["length"])
    except QuantityError as error:
        assert error.what
        assert 0 <= error.offset <= max(0, len(text))
        return
    assume(quantity.interval.width)
    assert quantity.interval.within(
        read_quantity(show(quantity.interval, quantity.kind), quantity.kind).interval
    )


@pytest.mark.parametrize(
    ("value", "kind", "text"),
    [
        ("0.00031 in2", "area", "0.00031 in2"),
        ("0.00049 in2", "area", "0.00049 in2"),
        ("0.0012 in2", "area", "0.001 in2"),
        ("0.3 lbf", "force", "0.30 lbf"),
        ("0 lbf", "force", "0 lbf"),
    ],
)
def test_what_is_not_nothing_is_never_shown_as_nought(value, kind, text):
    """Two digits of it; what the usual decimals can tell stays with them."""
    number = read_quantity(value, KINDS[kind]).interval.middle
    assert show(Interval.point(number), KINDS[kind]) == text
