"""Reading what a machinist writes: figures, tolerances, ranges, and what is refused."""

from fractions import Fraction
from time import process_time

import pytest

from fitcheck.quantity import (
    EXACT,
    KINDS,
    Interval,
    QuantityError,
    Tolerance,
    kind_of,
    read_quantity,
)
from fitcheck.quantity.units import find_unit


def read(text, kind="length", spread=None):
    return read_quantity(text, KINDS[kind], spread)


def ends(text, kind, unit, spread=None):
    """Lower and upper end in the unit named, as decimals typed."""
    found, of = read(text, kind, spread), find_unit(unit, KINDS[kind])
    return tuple(float(end / of.factor - of.offset) for end in (found.lower, found.upper))


def between(low, high, step="1"):
    return float(Fraction(low) * Fraction(step)), float(Fraction(high) * Fraction(step))


# The tolerance of a bare figure is half of its last digit.


@pytest.mark.parametrize(
    ("text", "kind", "unit", "low", "high"),
    [
        ("0.550 in", "length", "in", "0.5495", "0.5505"),
        ('.550"', "length", "in", "0.5495", "0.5505"),
        (".550 inch", "length", "in", "0.5495", "0.5505"),
        ("0.55 in.", "length", "in", "0.545", "0.555"),
        ("13.97 mm", "length", "mm", "13.965", "13.975"),
        ("2.5 thou", "length", "thou", "2.45", "2.55"),
        ("-0.010 in", "length", "in", "-0.0105", "-0.0095"),
        ("+0.010 in", "length", "in", "0.0095", "0.0105"),
        ("5 in", "length", "in", "4.5", "5.5"),
        ("5. in", "length", "in", "4.5", "5.5"),
        ("130 lbf", "force", "lbf", "129.5", "130.5"),
        ("130lb", "force", "lbf", "129.5", "130.5"),
        ("345 lbf/in", "rate", "lbf/in", "344.5", "345.5"),
        ("75.6 cc", "volume", "cc", "75.55", "75.65"),
        ("45 deg", "angle", "deg", "44.5", "45.5"),
        ("45°", "angle", "deg", "44.5", "45.5"),
        ("28 inH2O", "depression", "inH2O", "27.5", "28.5"),
        ("250 cfm", "flow", "cfm", "249.5", "250.5"),
        ("180 degF", "temperature", "degF", "179.5", "180.5"),
        ("9.5:1", "number", "", "9.45", "9.55"),
        ("1.5", "number", "", "1.45", "1.55"),
        ("15 lb-ft", "torque", "lbf ft", "14.5", "15.5"),
    ],
)
def test_a_figure_is_known_to_half_of_its_last_digit(text, kind, unit, low, high):
    assert ends(text, kind, unit) == pytest.approx(between(low, high), rel=1e-14)


def test_trailing_zeros_say_something():
    assert read("0.5500 in").interval.within(read("0.550 in").interval)
    assert read("0.5500 in").interval.width == read("0.550 in").interval.width / 10


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("5/16 in", "5/16"),
        ('5/16"', "5/16"),
        ("1 3/8 in", "11/8"),
        ("1-3/8 in", "11/8"),
        ("-1 3/8 in", "-11/8"),
        ("7/16in", "7/16"),
    ],
)
def test_a_fraction_is_known_to_the_nearest_64th(text, value):
    # 1/64 is the finest division of an inch rule (common practice, no source)
    low, high = ends(text, "length", "in")
    assert (low, high) == between(
        Fraction(value) - Fraction(1, 128), Fraction(value) + Fraction(1, 128)
    )


def test_a_finer_fraction_is_known_to_its_own_division():
    assert read("3/128 in").interval.width == Fraction(254, 10) / 128


@pytest.mark.parametrize("text", ["8", "16"])
def test_a_count_is_exact_and_whole(text):
    assert read(text, "count").interval == Interval.point(int(text))
    assert read(text, "count", Tolerance(Fraction(1))).interval == Interval.point(int(text))
    assert read("3..40", "count").interval == Interval(Fraction(3), Fraction(40))
    with pytest.raises(QuantityError, match=r"'8\.5' is no whole number"):
        read("8.5", "count")


# A stated tolerance holds as it stands.


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("0.550 in +-0.002", "0.548", "0.552"),
        ("0.550 in ±0.002", "0.548", "0.552"),
        ("0.550 in +/- .002", "0.548", "0.552"),
        ("0.550 +-0.002 in", "0.548", "0.552"),
        ("0.550 in +-0.0508 mm", "0.548", "0.552"),
        ("0.550 in +-2 thou", "0.548", "0.552"),
        ("0.550 in +-2 %", "0.539", "0.561"),
        ("0.550 in +0.003 -0.001", "0.549", "0.553"),
        ("0.550 in +0.000 -0.001", "0.549", "0.550"),
        ("0.550 +0.003 -0.001 in", "0.549", "0.553"),
        ("1 3/8 in +-1/64", "1.359375", "1.390625"),
        ("1.880..1.900 in", "1.880", "1.900"),
        ("1.880 .. 1.900in", "1.880", "1.900"),
        ("-0.010..+0.005 in", "-0.010", "0.005"),
        ("1 3/8..1 7/16 in", "1.375", "1.4375"),
    ],
)
def test_a_stated_tolerance_or_range(text, low, high):
    found = read(text)
    assert found.stated
    assert ends(text, "length", "in") == pytest.approx(between(low, high), rel=1e-14)
    # what is stated is neither widened nor narrowed by the kind of evidence
    assert read(text, "length", Tolerance(Fraction(5))).interval == found.interval
    assert read(text, "length", EXACT).interval == found.interval


@pytest.mark.parametrize(
    ("text", "kind", "unit", "low", "high"),
    [
        ("28 inH2O +-0.5", "depression", "inH2O", "27.5", "28.5"),
        ("28 in H2O +-0.5 inH2O", "depression", "inH2O", "27.5", "28.5"),
        ("130 lb-ft +-5", "torque", "lbf ft", "125", "135"),
        ("345 lbf/in +-10 %", "rate", "lbf/in", "310.5", "379.5"),
        ("30 % +-5 %", "share", "%", "25", "35"),  # in its own unit, not a share of the share
        ("200 degF +-5 %", "temperature", "degF", "190", "210"),  # of the figure as read
        ("180 degF +-10 K", "temperature", "degF", "162", "198"),
        ("8.19 in3 +-0.1 cc", "volume", "in3", "8.183897632", "8.196102368"),
    ],
)
def test_a_tolerance_of_other_kinds(text, kind, unit, low, high):
    assert ends(text, kind, unit) == pytest.approx(between(low, high), rel=1e-9)


# The kind of evidence: an instrument's resolution, a seller's tolerance.


def test_evidence_widens_what_the_digits_say_and_never_narrows_it():
    within_5_thou = Tolerance.read("+-0.005 in", KINDS["length"])
    assert ends("1.8000 in", "length", "in", within_5_thou) == (1.795, 1.805)
    assert ends("1.8 in", "length", "in", within_5_thou) == (1.75, 1.85)


def test_evidence_can_be_a_share_of_the_figure():
    three_percent = Tolerance.read("+-3 %", KINDS["rate"])
    assert three_percent.relative
    assert ends("300 lbf/in", "rate", "lbf/in", three_percent) == pytest.approx((291, 309))
    assert three_percent.around(Fraction(-100)) == 3


def test_a_tolerance_of_a_share_is_in_the_share_itself():
    assert Tolerance.read("+-3 %", KINDS["share"]) == Tolerance(Fraction(3, 100))


def test_a_limit_is_exact():
    assert read("0.060 in", "length", EXACT).interval == Interval.point(Fraction("1.524"))


def test_the_step_is_one_in_the_last_digit():
    inch = Fraction(254, 10)
    for text in ("0.060 in", "0.050..0.060 in", "0.060 in +-0.005", "0.060 in +0.010 -0.000"):
        assert read(text, "length", EXACT).step == inch / 1000, text
    assert read("3/8 in").step == inch / 64


def test_the_text_is_kept_as_typed():
    assert read(' .550"').text == ' .550"'


# What is refused, and what is said then.


@pytest.mark.parametrize(
    ("text", "kind", "says", "marked"),
    [
        ("0.550", "length", "'0.550' has no unit", "0.550"),
        ("0.550 +-0.002", "length", "'0.550 +-0.002' has no unit", "0.550 +-0.002"),
        ("1.880..1.900", "length", "'1.880..1.900' has no unit", "1.880..1.900"),
        ("0.550 lbf", "length", "'lbf' is a unit of force, and length is wanted here", "lbf"),
        ("130  in", "force", "'in' is a unit of length, and force is wanted here", "in"),
        ("345 lbf", "rate", "'lbf' is a unit of force, and rate is wanted here", "lbf"),
        ("0.550 in +-0.002 lbf", "length", "'lbf' is a unit of force", "lbf"),
        ("0.550 parsec", "length", "the unit 'parsec' is not known", "parsec"),
        ("0.550 in 0.002", "length", "the unit 'in 0.002' is not known", "in 0.002"),
        ("0.550 in +0.003", "length", "'+0.003' is not understood here", "+0.003"),
        ("0.550 in +-", "length", "'+-' is not understood here", "+-"),
        ("0.550 in -0.001", "length", "the unit 'in -0.001' is not known", "in -0.001"),
        (
            "1,880 in",
            "length",
            "the comma in '1,880' may mean a decimal point or thousands",
            "1,880",
        ),
        ("0,550 in", "length", "the comma in '0,550'", "0,550"),
        ("1e3 in", "length", "the unit 'e3 in' is not known", "e3 in"),
        ("9**9**9", "number", "the unit '**9**9' is not known", "**9**9"),
        ("9^9 in", "length", "is not known", "^9 in"),
        ("0x10 in", "length", "the unit 'x10 in' is not known", "x10 in"),
        ("3' 6\"", "length", "is not known", "' 6\""),
        ("", "length", "'' does not start with a number", ""),
        ("   ", "length", "does not start with a number", "   "),
        ("in", "length", "'in' does not start with a number", "in"),
        ("about 0.5 in", "length", "does not start with a number", "about 0.5 in"),
        ("nan in", "length", "'nan in' does not start with a number", "nan in"),
        ("inf in", "length", "'inf in' does not start with a number", "inf in"),
        ("-infinity in", "length", "does not start with a number", "-infinity in"),
        ("--5 in", "length", "does not start with a number", "--5 in"),
        ("٠.٥٥ in", "length", "does not start with a number", "٠.٥٥ in"),  # Arabic digits
        ("０.５ in", "length", "does not start with a number", "０.５ in"),  # full-width digits
        ("½ in", "length", "does not start with a number", "½ in"),
        ("0.5５ in", "length", "the unit '５ in' is not known", "５ in"),
        ("1.900..1.880 in", "length", "the range runs backwards", "1.900..1.880 in"),
        ("1.880.. in", "length", "a range needs a number after ..", "in"),
        ("1.88..1.89..1.90 in", "length", "is not known", "..1.90 in"),
        ("3/0 in", "length", "a fraction over zero", "3/0"),
        ("0.5 in +-1/0", "length", "a fraction over zero", " +-1/0"),
        ("1 " + "9" * 100, "number", "longer than 80 characters", None),
        ("1234567890123 in", "length", "the unit '3 in' is not known", "3 in"),
    ],
)
def test_what_is_refused_is_told_and_marked(text, kind, says, marked):
    with pytest.raises(QuantityError) as caught:
        read(text, kind)
    error = caught.value
    assert says in error.what
    if marked is not None:
        assert text[error.offset : error.offset + error.width].strip() == marked.strip()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("0.010 in", "a tolerance starts with +-"),
        ("+-0.010", "'+-0.010' has no unit"),
        ("+-0.010 lbf", "'lbf' is a unit of force"),
        ("+-", "a tolerance starts with +-"),
    ],
)
def test_a_tolerance_that_is_refused(text, says):
    with pytest.raises(QuantityError) as caught:
        Tolerance.read(text, KINDS["length"])
    assert says in caught.value.what


def test_the_mend_names_the_units_of_the_kind_the_usual_ones_first():
    with pytest.raises(QuantityError) as caught:
        read("0.550")
    assert caught.value.mend.startswith("write a number and one of: in, mm, ")
    with pytest.raises(QuantityError) as caught:
        read("8 in", "count")
    assert caught.value.mend == "write a plain number"


@pytest.mark.parametrize(
    "text",
    ["9" * 80, "1 " * 40, "+-" * 40, "0.5 in " + "+-1" * 24, ".." * 40, "1/" * 40, "9**9**9**9**9"],
)
def test_no_text_takes_long(text):
    start = process_time()
    with pytest.raises(QuantityError):
        read(text)
    assert process_time() - start < 0.05


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("345 lbf/in", "rate"),
        ("0.060 in", "length"),
        ("1.5", "number"),
        ("20 %", "share"),
        ("6500 rpm", "frequency"),
        ("12 parsec", None),
        ("fast", None),
    ],
)
def test_the_kind_follows_from_the_unit(text, kind):
    found = kind_of(text)
    assert found == (KINDS[kind] if kind else None)
