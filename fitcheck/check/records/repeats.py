"""Readings of one thing, taken more than once."""

from __future__ import annotations

from fitcheck.quantity import Interval, Quantity, show
from fitcheck.quantity.showing import system_of

# Further digits of a spread, so that rounding outward widens it by next to nothing.
FINER = 1


def spread(one: Quantity, other: Quantity) -> str:
    """All that two readings leave possible, as it is written in a build file.

    Each stands for what its instrument cannot tell apart, so that a repeat never makes a figure
    look surer than its readings are.

    >>> from fitcheck.quantity import KINDS, read_quantity
    >>> spread(*(read_quantity(text, KINDS["length"]) for text in ("1.720 in", "1.722 in")))
    '1.7195..1.7225 in'
    """
    low = min(one.interval.lower, other.interval.lower)
    high = max(one.interval.upper, other.interval.upper)
    return show(Interval(low, high), one.kind, system_of(other.text), finer=FINER)
