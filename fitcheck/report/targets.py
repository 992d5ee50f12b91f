"""Amounts and what they make of a figure, as a shop writes them: the figure and its tolerance."""

from __future__ import annotations

from fractions import Fraction
from math import ceil

from fitcheck.model import Attribute
from fitcheck.plan.work import Work
from fitcheck.quantity import Interval, Kind, System, show
from fitcheck.quantity.units import find_unit


def amount_words(work: Work, system: System) -> str:
    """The amount of a work and how closely it is to be held."""
    operation = work.operation
    if operation is None or operation.amount is None or work.spread is None:
        return ""
    return f"by {_toleranced(work.spread, operation.amount.kind, system)}"


def toleranced(interval: Interval, attribute: Attribute, system: System) -> str:
    """A figure and how far from it any in the interval lies, with the digits that count.

    >>> from fitcheck.quantity import KINDS
    >>> bore = Attribute("guide.bore", "bore", "valve", kind=KINDS["length"])
    >>> toleranced(Interval(Fraction("8.70204"), Fraction("8.71728")), bore, "inch")
    '0.3429 in +-0.0003'
    """
    assert attribute.kind is not None
    return _toleranced(interval, attribute.kind, system)


def _toleranced(interval: Interval, kind: Kind, system: System) -> str:
    if not interval.width:
        return show(interval, kind, system)
    low, unit = _in_unit(interval.lower, kind, system)
    high, _ = _in_unit(interval.upper, kind, system)
    middle, half = (low + high) / 2, (high - low) / 2
    digits = _digits(half)
    told = round(middle, digits)
    most = ceil((half + abs(told - middle)) * 10**digits) / 10**digits
    return f"{f'{float(told):.{digits}f} {unit}'.rstrip()} +-{most:.{digits}f}"


def _in_unit(value: Fraction, kind: Kind, system: System) -> tuple[Fraction, str]:
    name = (kind.inch if system == "inch" else kind.metric)[0]
    unit = find_unit(name, kind)
    assert unit is not None
    return value / unit.factor, name


def _digits(half: Fraction) -> int:
    """The decimals with which a tolerance has one digit from 3 on, or two below."""
    digits = 0
    while half * 10**digits < 3 and digits < 9:
        digits += 1
    return digits
