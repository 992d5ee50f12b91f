"""Volumes above the piston and what they make of the compression ratio."""

from __future__ import annotations

from math import pi

from fitcheck.calculations.registry import calculation


@calculation(bore="mm + 20..250", stroke="mm + 10..300", gives="cc")
def swept_volume(bore: float, stroke: float) -> float:
    """Volume that one piston sweeps, `pi/4 B^2 S`.

    Parameters
    ----------
    bore : float
        Cylinder bore, [mm]
    stroke : float
        Stroke, twice the crank throw, [mm]

    Returns
    -------
    volume : float
        Swept volume of one cylinder, [cc]

    Notes
    -----
    Geometry; holds for any right cylinder. Never falls as bore or stroke grows.

    Examples
    --------
    Four cylinders of 68 x 75 mm (Mathur & Sharma, Internal Combustion Engines, Ex 1.1):

    >>> round(4 * swept_volume(68, 75), 1)
    1089.5
    """
    return pi / 4 * bore**2 * stroke / 1000
