"""Interference and clearance fits, cold and hot: seats, guides, stems."""

from __future__ import annotations

from itertools import pairwise
from math import inf, sqrt

from fitcheck.calculations.registry import calculation

_SLICES = 32


def _ring_compliance(diameter: float, outer: float, modulus: float, poisson: float) -> float:
    """Growth of a ring's bore for a unit of pressure, [mm/MPa]."""
    if outer <= diameter:
        return inf
    big, small = outer**2, diameter**2
    return diameter * ((big + small) / (big - small) + poisson) / (modulus * 1000)


def _plug_compliance(diameter: float, inner: float, modulus: float, poisson: float) -> float:
    """Shrinkage of an insert's outside for a unit of pressure, [mm/MPa]."""
    if inner >= diameter:
        return inf
    big, small = diameter**2, inner**2
    return diameter * ((big + small) / (big - small) - poisson) / (modulus * 1000)


def _pressure_bounds(lows: tuple[float, ...], highs: tuple[float, ...]) -> tuple[float, float]:
    # All arguments but the diameter are monotone. Over the diameter the ring's compliance grows,
    # and the insert's is convex with its least value where x^2 = y, x = diameter over inner, and
    # (1-v) y^2 - (4-2v) y - (1+v) = 0. So each slice is bounded by its ends and that value.
    poisson = highs[7]
    least_at = lows[3] * sqrt(((2 - poisson) + sqrt(5 - 4 * poisson)) / (1 - poisson))
    step = (highs[1] - lows[1]) / _SLICES
    lower, upper = inf, 0.0
    for low, high in pairwise([lows[1] + step * i for i in range(_SLICES)] + [highs[1]]):
        soft = _ring_compliance(high, lows[2], lows[4], highs[5]) + max(
            _plug_compliance(end, highs[3], lows[6], lows[7]) for end in (low, high)
        )
        best = min(max(least_at, low), high)
        stiff = _ring_compliance(low, highs[2], highs[4], lows[5])
        stiff += _plug_compliance(best, lows[3], highs[6], highs[7])
        lower = min(lower, max(0.0, lows[0]) / soft)
        upper = max(upper, max(0.0, highs[0]) / stiff)
    return lower, upper


@calculation(
    interference="mm + -1..1",
    diameter="mm ~ 4..150",
    outer_diameter="mm + 4..400",
    inner_diameter="mm - 0..150",
    housing_modulus="GPa + 30..450",
    housing_poisson="number - 0..0.45",
    insert_modulus="GPa + 30..450",
    insert_poisson="number + 0..0.45",
    gives="MPa",
    bounds=_pressure_bounds,
)
def interference_pressure(
    interference: float,
    diameter: float,
    outer_diameter: float,
    inner_diameter: float,
    housing_modulus: float,
    housing_poisson: float,
    insert_modulus: float,
    insert_poisson: float,
) -> float:
    """Pressure between an insert and its housing by Lame's thick rings.

    Parameters
    ----------
    interference : float
        Insert outside less bore, on the diameter; negative for clearance, [mm]
    diameter : float
        Diameter of the fit, [mm]
    outer_diameter : float
        Outside of the metal round the bore that resists, [mm]
    inner_diameter : float
        Bore of the insert; 0 for a solid one, [mm]
    housing_modulus : float
        Young's modulus of the housing, [GPa]
    housing_poisson : float
        Poisson's ratio of the housing, [number]
    insert_modulus : float
        Young's modulus of the insert, [GPa]
    insert_poisson : float
        Poisson's ratio of the insert, [number]

    Returns
    -------
    pressure : float
        Pressure at the fit; 0 with clearance, [MPa]

    Notes
    -----
    `delta / (d ((do^2+d^2)/(do^2-d^2)+vo)/Eo + d ((d^2+di^2)/(d^2-di^2)-vi)/Ei)`, Shigley,
    Mechanical Engineering Design, Eq 3-56. Assumes elastic rings of equal length, free ends and
    a ring of even thickness for the housing, which a head is not: take the thinnest wall for
    caution. Where no wall is left the pressure is 0, the limit of the formula. The bounds slice
    the diameter and bound each slice by the monotone and convex parts.

    Examples
    --------
    Steel tubes of 20, 40 and 60 mm with 0.031711 mm (Bhandari, Design of Machine Elements,
    Ex 22.6, sized for a greatest hoop stress of 100 MPa, 2.6 times the pressure):

    >>> round(2.6 * interference_pressure(0.031711, 40, 60, 20, 207, 0.3, 207, 0.3), 1)
    100.0
    """
    compliance = _ring_compliance(diameter, outer_diameter, housing_modulus, housing_poisson)
    compliance += _plug_compliance(diameter, inner_diameter, insert_modulus, insert_poisson)
    return max(0.0, interference) / compliance


def _grown(
    diameter: float, grows: float, grows_rise: float, shrinks: float, shrinks_rise: float
) -> float:
    return diameter * (grows * grows_rise - shrinks * shrinks_rise) / 1e6


def _hot_bounds(lows: tuple[float, ...], highs: tuple[float, ...]) -> tuple[float, float]:
    # The last two arguments close the gap that the two before them open; for each sign the
    # diameter's part is linear, so its extremes lie at the ends.
    least = [_grown(d, lows[4], lows[5], highs[2], highs[3]) for d in (lows[1], highs[1])]
    most = [_grown(d, highs[4], highs[5], lows[2], lows[3]) for d in (lows[1], highs[1])]
    return lows[0] + min(least), highs[0] + max(most)


@calculation(
    interference="mm + -1..1",
    diameter="mm ~ 4..150",
    housing_expansion="um/m/K - 0..40",
    housing_rise="K - 0..800",
    insert_expansion="um/m/K + 0..40",
    insert_rise="K + 0..800",
    gives="mm",
    bounds=_hot_bounds,
)
def interference_hot(
    interference: float,
    diameter: float,
    housing_expansion: float,
    housing_rise: float,
    insert_expansion: float,
    insert_rise: float,
) -> float:
    """Interference left at running temperature, `delta + d (ai dTi - ah dTh)`.

    Parameters
    ----------
    interference : float
        Insert outside less bore when cold, [mm]
    diameter : float
        Diameter of the fit, [mm]
    housing_expansion : float
        Thermal expansion of the housing, [um/m/K]
    housing_rise : float
        How much hotter the housing is than when it was measured, [K]
    insert_expansion : float
        Thermal expansion of the insert, [um/m/K]
    insert_rise : float
        How much hotter the insert is than when it was measured, [K]

    Returns
    -------
    interference : float
        Interference when hot; negative means that the insert is loose, [mm]

    Notes
    -----
    Free linear expansion of both parts, each at one temperature, at or above that of measuring.
    Neglects creep and stress relief, which only take interference away.

    Examples
    --------
    40 mm grey iron (11.4) in aluminium 356.0 (21.5; both Callister, Materials Science and
    Engineering, Table B.6), both 175 K hotter, loses 70.7 um:

    >>> round(interference_hot(0.1, 40, 21.5, 175, 11.4, 175), 4)
    0.0293
    """
    gain = _grown(diameter, insert_expansion, insert_rise, housing_expansion, housing_rise)
    return interference + gain


@calculation(
    clearance="mm + -1..1",
    diameter="mm ~ 4..150",
    inner_expansion="um/m/K - 0..40",
    inner_rise="K - 0..800",
    outer_expansion="um/m/K + 0..40",
    outer_rise="K + 0..800",
    gives="mm",
    bounds=_hot_bounds,
)
def clearance_hot(
    clearance: float,
    diameter: float,
    inner_expansion: float,
    inner_rise: float,
    outer_expansion: float,
    outer_rise: float,
) -> float:
    """Clearance at running temperature, such as of a stem in its guide.

    Parameters
    ----------
    clearance : float
        Bore less stem when cold, [mm]
    diameter : float
        Stem diameter, [mm]
    inner_expansion : float
        Thermal expansion of the stem, [um/m/K]
    inner_rise : float
        How much hotter the stem is than when it was measured, [K]
    outer_expansion : float
        Thermal expansion of the guide, [um/m/K]
    outer_rise : float
        How much hotter the guide is than when it was measured, [K]

    Returns
    -------
    clearance : float
        Clearance when hot; negative means that the stem seizes, [mm]

    Notes
    -----
    Free linear expansion of both parts, each at one temperature, at or above that of measuring.
    A guide held by a head of another metal grows more or less than alone.

    Examples
    --------
    An 8 mm stem of 304 steel (17.2), 400 K hotter, in bronze C93200 (18.0; both Callister,
    Materials Science and Engineering, Table B.6), 150 K hotter:

    >>> round(clearance_hot(0.05, 8, 17.2, 400, 18.0, 150), 4)
    0.0166
    """
    gain = _grown(diameter, outer_expansion, outer_rise, inner_expansion, inner_rise)
    return clearance + gain


@calculation(
    interference="mm + 0..1",
    clearance="mm + 0..1",
    diameter="mm - 4..150",
    expansion="um/m/K - 4..40",
    gives="K",
)
def assembly_temperature_difference(
    interference: float, clearance: float, diameter: float, expansion: float
) -> float:
    """Temperature difference that lets an insert drop into its bore, `(delta + c) / (a d)`.

    Parameters
    ----------
    interference : float
        Interference to overcome, [mm]
    clearance : float
        Clearance wanted while it is put in, [mm]
    diameter : float
        Diameter of the fit, [mm]
    expansion : float
        Thermal expansion of the part that is heated or cooled, [um/m/K]

    Returns
    -------
    difference : float
        Rise or fall of that part's temperature, [K]

    Notes
    -----
    Free linear expansion; the other part stays as it was. Hot parts and deep-cold liquids burn:
    follow the maker of the part and of the coolant.

    Examples
    --------
    0.1 mm of interference and 0.05 mm of room on 40 mm of aluminium 356.0 (21.5):

    >>> round(assembly_temperature_difference(0.1, 0.05, 40, 21.5), 1)
    174.4
    """
    return (interference + clearance) / (expansion / 1e6 * diameter)
