"""Shear stress in the wire of a helical spring."""

from __future__ import annotations

from math import pi
from typing import Any

from fitcheck.calculations.registry import calculation

# No coil is wound tighter than this; below it the curvature factors run to infinity.
_LEAST_INDEX = 2.0


def wahl_factor(index: float) -> float:
    """Wahl's factor for direct shear and curvature, `(4C-1)/(4C-4) + 0.615/C`.

    Parameters
    ----------
    index : float
        Spring index, mean coil diameter over wire diameter, [number]

    Returns
    -------
    factor : float
        Greatest stress over the stress of a straight twisted bar, [number]

    Notes
    -----
    Both terms fall as the index grows. Wound springs lie between about 4 and 12.

    Examples
    --------
    The table of Bhandari, Design of Machine Elements, ch 10, prints 1.213 at 7:

    >>> round(wahl_factor(7), 3)
    1.213
    """
    return (4 * index - 1) / (4 * index - 4) + 0.615 / index


def torsional_stress(force: float, wire: float, mean_diameter: float, factor: float) -> float:
    """Shear stress in the wire for a given correction factor, `K 8 F D / (pi d^3)`.

    Parameters
    ----------
    force : float
        Load on the spring, [N]
    wire : float
        Wire diameter, [mm]
    mean_diameter : float
        Mean coil diameter, [mm]
    factor : float
        Wahl's or Bergstraesser's factor, or 1 for the uncorrected stress, [number]

    Returns
    -------
    stress : float
        Shear stress, [MPa]

    Notes
    -----
    Assumes an axial load and no set. Shigley, Mechanical Engineering Design, ch 10.

    Examples
    --------
    382.5 N on 6 mm wire, 75 mm outside (Sadhu Singh, Machine Design I, Ex 8.12):

    >>> round(torsional_stress(382.5, 6, 69, wahl_factor(69 / 6)))
    350
    """
    return factor * 8 * force * mean_diameter / (pi * wire**3)


def _stresses(force: Any, wire: Any, mean_diameter: Any) -> Any:
    from numpy import maximum  # noqa: PLC0415  for catalogs alone

    return _stress(force, wire, maximum(_LEAST_INDEX, mean_diameter / wire))


def _stress(force: Any, wire: Any, index: Any) -> Any:
    return torsional_stress(force, wire, index * wire, wahl_factor(index))


@calculation(
    force="N + 0..20000",
    wire="mm - 0.5..15",
    mean_diameter="mm + 5..120",
    gives="MPa",
    arrays=_stresses,
)
def spring_stress(force: float, wire: float, mean_diameter: float) -> float:
    """Greatest shear stress in the wire with Wahl's factor.

    Parameters
    ----------
    force : float
        Load on the spring, [N]
    wire : float
        Wire diameter, [mm]
    mean_diameter : float
        Mean coil diameter, [mm]

    Returns
    -------
    stress : float
        Corrected shear stress, [MPa]

    Notes
    -----
    `8 F / (pi d^2)` times `K C`. `K C` grows with the index from 1.87 up, so the stress rises
    with the coil and falls with the wire. Below an index of 2, which no machine winds, `K C`
    is held at its value there, so that bounds over a wide box stay finite. Assumes round wire
    and no set; for oval wire use its maker's stress.

    Examples
    --------
    382.5 N on 6 mm wire, 75 mm outside (Sadhu Singh, Machine Design I, Ex 8.12):

    >>> round(spring_stress(382.5, 6, 69))
    350
    """
    return float(_stress(force, wire, max(_LEAST_INDEX, mean_diameter / wire)))


def _stresses_by_travel(
    travel: Any, wire: Any, mean_diameter: Any, coils: Any, modulus: Any
) -> Any:
    from numpy import maximum  # noqa: PLC0415  for catalogs alone

    factor = wahl_factor(maximum(_LEAST_INDEX, mean_diameter / wire))
    return _by_travel(factor, travel, wire, mean_diameter, coils, modulus)


def _by_travel(
    factor: Any, travel: Any, wire: Any, mean_diameter: Any, coils: Any, modulus: Any
) -> Any:
    return factor * modulus * 1000 * wire * travel / (pi * mean_diameter**2 * coils)


@calculation(
    travel="mm + 0..80",
    wire="mm + 0.5..15",
    mean_diameter="mm - 5..120",
    active_coils="number - 1..30",
    shear_modulus="GPa + 20..100",
    gives="MPa",
    arrays=_stresses_by_travel,
)
def spring_stress_by_travel(
    travel: float, wire: float, mean_diameter: float, active_coils: float, shear_modulus: float
) -> float:
    """Greatest shear stress in the wire of a spring pressed so far, `K G d f / (pi D^2 N)`.

    Parameters
    ----------
    travel : float
        By how much the spring is shorter than free, [mm]
    wire : float
        Wire diameter, [mm]
    mean_diameter : float
        Mean coil diameter, [mm]
    active_coils : float
        Coils that deflect, [number]
    shear_modulus : float
        Modulus of rigidity of the wire, [GPa]

    Returns
    -------
    stress : float
        Shear stress with Wahl's factor, [MPa]

    Notes
    -----
    The rate times the travel, put into `spring_stress`: what one spring of a set carries need not
    be known. Assumes round wire, constant pitch and diameter, and no set. Below an index of 2
    Wahl's factor is held, as in `spring_stress`.

    Examples
    --------
    2.5 mm wire, 31 mm outside, 13 active coils, 162.8 mm free and 35 mm solid; the book allows 0.45
    of 2211/2.5^0.145, 871 MPa, with Bergstraesser's 1.117 (Shigley, 10th ed, Prob 10-3):

    >>> round(spring_stress_by_travel(127.8, 2.5, 28.5, 13, 81) / wahl_factor(11.4) * 1.117)
    871
    """
    factor = wahl_factor(max(_LEAST_INDEX, mean_diameter / wire))
    return float(_by_travel(factor, travel, wire, mean_diameter, active_coils, shear_modulus))
