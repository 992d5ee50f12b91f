"""How tolerances of a chain of parts add up."""

from __future__ import annotations

from collections.abc import Iterable
from math import fsum, sqrt


def worst_case(tolerances: Iterable[float]) -> float:
    """Deviation that no combination of parts within tolerance exceeds, the sum.

    Parameters
    ----------
    tolerances : Iterable[float]
        Half widths of the tolerances, each weighted by its place in the chain, [any one unit]

    Returns
    -------
    tolerance : float
        Half width of the result, [the same unit]

    Notes
    -----
    Interval arithmetic for a chain that is linear in its parts; needs no knowledge of how the
    parts scatter.

    Examples
    --------
    Three parts of 0.005, 0.003 and 0.002 in a slot of 0.005:

    >>> round(worst_case([0.005, 0.003, 0.002, 0.005]), 3)
    0.015
    """
    return fsum(abs(tolerance) for tolerance in tolerances)


def root_sum_square(tolerances: Iterable[float]) -> float:
    """Deviation that parts which scatter independently seldom exceed, `sqrt(sum t^2)`.

    Parameters
    ----------
    tolerances : Iterable[float]
        Half widths of the tolerances, each weighted by its place in the chain, [any one unit]

    Returns
    -------
    tolerance : float
        Half width of the result, at the same number of standard deviations, [the same unit]

    Notes
    -----
    Assumes independent, centred parts whose tolerances all stand for the same number of standard
    deviations. Parts out of one worn machine or one batch are not independent.

    Examples
    --------
    Four parts of a published example, +-0.0096 as printed:

    >>> round(root_sum_square([0.003, 0.003, 0.007, 0.005]), 4)
    0.0096
    """
    return sqrt(fsum(tolerance**2 for tolerance in tolerances))
