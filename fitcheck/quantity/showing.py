"""Writing what a machinist reads: with the digits that count, never surer than it is."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache
from typing import Literal

from fitcheck.quantity.interval import Interval
from fitcheck.quantity.units import KINDS, Kind, find_unit

System = Literal["inch", "metric"]
_MILLIMETRES = re.compile(r"[0-9] ?mm\b")
_INCHES = re.compile(r"[0-9] ?(?:in\b|inch|thou\b)|(?<![\"'0-9.])[0-9]*\.[0-9]+ ?\"")
# A length of fewer steps than this in its usual last digit is shown with a further digit.
FEW_STEPS = 10
# Digits that may be added to see two figures apart, and decimals that any tool can hold.
MOST_FINER, MOST_DIGITS = 6, 5


def system_of(text: str) -> System:
    """The system that most lengths of a file are written in.

    >>> system_of("bore: 101.60 mm"), system_of("bore: 4.00 in"), system_of("parts: {}")
    ('metric', 'inch', 'inch')
    """
    return "metric" if len(_MILLIMETRES.findall(text)) > len(_INCHES.findall(text)) else "inch"


def show(
    interval: Interval, kind: Kind, system: System = "inch", *, sign: bool = False, finer: int = 0
) -> str:
    """The interval as a reader of `system` expects it, never surer than it is.

    Ends of a range are rounded outward. Small lengths get a further digit (thousandths become
    ten-thousandths below 0.010 in), as machinists write clearances; `finer` digits are added.

    >>> inch = Fraction(254, 10)
    >>> show(Interval(inch * Fraction("0.05951"), inch * Fraction("0.0615")), KINDS["length"])
    '0.059..0.062 in'
    >>> show(Interval.point(inch / 2), KINDS["length"], "metric")
    '12.70 mm'
    """
    unit_name, _ = kind.inch if system == "inch" else kind.metric
    least, most, decimals = _last_digits(interval, kind, system, finer)
    space = "" if unit_name in ("%", "") else " "
    low, high = _digits(least, decimals, sign), _digits(most, decimals, sign)
    if least == most:
        return f"{low}{space}{unit_name}"
    # A minus after two dots is easily read over.
    return f"{low}{' to ' if '-' in low + high else '..'}{high}{space}{unit_name}"


def finer_apart(one: Interval, other: Interval, kind: Kind, system: System = "inch") -> int:
    """The further digits with which `show` lets one see which of two figures is the greater.

    None where they overlap, as then neither is; where they meet they may look alike.

    >>> inch = Fraction(254, 10)
    >>> limit, found = (Interval.point(inch * Fraction(text)) for text in ("0.100", "0.0999"))
    >>> finer_apart(found, limit, KINDS["length"])
    1
    """
    below, above = sorted((one, other), key=lambda interval: (interval.lower, interval.upper))
    if below.upper > above.lower:
        return 0
    for finer in range(MOST_FINER + 1):
        _, high, few = _last_digits(below, kind, system, finer)
        low, _, many = _last_digits(above, kind, system, finer)
        high, low = high * 10**many, low * 10**few
        if high < low or (high == low and below.upper == above.lower):
            return finer
    return 0


def show_safe(
    interval: Interval, kind: Kind, system: System, *, up: bool, step: Fraction = Fraction(0)
) -> str:
    """One figure on the safe side of all in the interval: its upper end, rounded up, or its lower.

    Rounded to the digits in which a tool that reads in steps of `step` can hold it, and never
    to fewer than are usual.

    >>> needed = Interval(Fraction("12.6"), Fraction("12.7025"))
    >>> show_safe(needed, KINDS["length"], "inch", up=True, step=Fraction("0.00254"))
    '0.5001 in'
    """
    end = interval.upper if up else interval.lower
    unit_name, decimals = kind.inch if system == "inch" else kind.metric
    low, high, bottom = _in_unit(Interval.point(end), unit_name, kind)
    decimals = _decimals(decimals, kind, abs(low), 0, bottom)
    unit = find_unit(unit_name, kind)
    assert unit is not None
    while step and decimals < MOST_DIGITS and 2 * step / unit.factor < Fraction(1, 10**decimals):
        decimals += 1
    scaled = -(-high * 10**decimals // bottom) if up else low * 10**decimals // bottom
    space = "" if unit_name in ("%", "") else " "
    return f"{_digits(scaled, decimals, sign=False)}{space}{unit_name}"


def _last_digits(
    interval: Interval, kind: Kind, system: System, finer: int
) -> tuple[int, int, int]:
    """The two ends as shown, in whole last digits, and how many decimals those are."""
    unit_name, decimals = kind.inch if system == "inch" else kind.metric
    # Whole numbers over one denominator: the same answers as with fractions, many times sooner.
    low, high, bottom = _in_unit(interval, unit_name, kind)
    decimals = _decimals(decimals, kind, max(abs(low), abs(high)), high - low, bottom) + finer
    low, high = low * 10**decimals, high * 10**decimals
    middle = _nearest(low + high, 2 * bottom)
    # A width of one last digit or less is what a single number with these digits says.
    if (2 * middle - 1) * bottom <= 2 * low <= 2 * high <= (2 * middle + 1) * bottom:
        return middle, middle, decimals
    return low // bottom, -(-high // bottom), decimals


def _in_unit(interval: Interval, unit_name: str, kind: Kind) -> tuple[int, int, int]:
    """The two ends in a unit of the kind, as whole numbers over one denominator."""
    per, offset, over = _scale(unit_name, kind.name)
    (low, below_low), (high, below_high) = (
        interval.lower.as_integer_ratio(),
        interval.upper.as_integer_ratio(),
    )
    below = below_low * below_high
    return (
        low * below_high * per - offset * below,
        high * below_low * per - offset * below,
        over * below,
    )


@cache
def _scale(unit_name: str, kind: str) -> tuple[int, int, int]:
    """Whole numbers p, q, r of a unit: a value x in base units is (p x - q) / r in the unit."""
    unit = find_unit(unit_name, KINDS[kind])
    assert unit is not None
    (top, bottom), (more, less) = unit.factor.as_integer_ratio(), unit.offset.as_integer_ratio()
    return bottom * less, top * more, top * less


def _nearest(top: int, bottom: int) -> int:
    """The whole number nearest to top / bottom; of two as near the even one."""
    whole, rest = divmod(top, bottom)
    return whole + (2 * rest > bottom or (2 * rest == bottom and whole % 2))


def _decimals(usual: int, kind: Kind, size: int, width: int, bottom: int) -> int:
    """How many decimals to show of figures of some size and width, both over `bottom`."""
    if kind.name == "length":
        usual += 0 < size * 10**usual < FEW_STEPS * bottom
        while usual < 5 and 0 < 2 * width * 10**usual < bottom:
            usual += 1
    elif width <= size and 0 < 2 * size * 10**usual < bottom:
        # Something that is not nothing is never shown as nought: two digits of it.
        while usual < 12 and size * 10**usual < 10 * bottom:
            usual += 1
    return usual


def _digits(scaled: int, decimals: int, sign: bool) -> str:
    mark = "-" if scaled < 0 else "+" if sign and scaled > 0 else ""
    whole, part = divmod(abs(scaled), 10**decimals)
    return f"{mark}{whole}" + (f".{part:0{decimals}d}" if decimals else "")
