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


def amount_fields(work: Work, system: System) -> dict[str, str]:
    """The amount of a work, its tolerance and its unit, each for itself; nothing without one."""
    operation = work.operation
    if operation is None or operation.amount is None or work.spread is None:
        return {}
    return _fields(work.spread, operation.amount.kind, system)


def figure_fields(interval: Interval, attribute: Attribute, system: System) -> dict[str, str]:
    """A figure, its tolerance and its unit, each for itself, with the digits that count.

    >>> from fitcheck.quantity import KINDS
    >>> bore = Attribute("guide.bore", "bore", "valve", kind=KINDS["length"])
    >>> figure_fields(Interval(Fraction("8.70204"), Fraction("8.71728")), bore, "inch")
    {'figure': '0.3429', 'tolerance': '0.0003', 'unit': 'in'}
    """
    assert attribute.kind is not None
    return _fields(interval, attribute.kind, system)


def _toleranced(interval: Interval, kind: Kind, system: System) -> str:
    if not interval.width:
        return show(interval, kind, system)
    told = _fields(interval, kind, system)
    figure = f"{told['figure']} {told['unit']}".rstrip()
    return f"{figure} +-{told['tolerance']}"


def _fields(interval: Interval, kind: Kind, system: System) -> dict[str, str]:
    low, unit = _in_unit(interval.lower, kind, system)
    if not interval.width:
        told = show(interval, kind, system).removesuffix(unit).strip()
        return {"figure": told, "tolerance": "0", "unit": unit}
    high, _ = _in_unit(interval.upper, kind, system)
    middle, half = (low + high) / 2, (high - low) / 2
    digits = _digits(half)
    figure = round(middle, digits)
    most = ceil((half + abs(figure - middle)) * 10**digits) / 10**digits
    return {
        "figure": f"{float(figure):.{digits}f}",
        "tolerance": f"{most:.{digits}f}",
        "unit": unit,
    }


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
