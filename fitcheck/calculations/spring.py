"""Round-wire helical compression springs: rate, load, mass and surge."""

from __future__ import annotations

from functools import reduce
from typing import Any

from fitcheck.calculations.registry import calculation


def _rate(wire: Any, mean_diameter: Any, active_coils: Any, shear_modulus: Any) -> Any:
    return shear_modulus * 1000 * wire**4 / (8 * mean_diameter**3 * active_coils)


@calculation(
    wire="mm + 0.5..15",
    mean_diameter="mm - 5..120",
    active_coils="number - 1..30",
    shear_modulus="GPa + 20..100",
    gives="N/mm",
    arrays=_rate,
)
def spring_rate(
    wire: float, mean_diameter: float, active_coils: float, shear_modulus: float
) -> float:
    """Rate of a cylindrical spring, `G d^4 / (8 D^3 N)`.

    Parameters
    ----------
    wire : float
        Wire diameter, [mm]
    mean_diameter : float
        Mean coil diameter, outside diameter less one wire, [mm]
    active_coils : float
        Coils that deflect; total less two for closed and ground ends, [number]
    shear_modulus : float
        Modulus of rigidity of the wire, [GPa]

    Returns
    -------
    rate : float
        Spring rate, [N/mm]

    Notes
    -----
    Assumes round wire, constant pitch and diameter, and no coil bind. Shigley, Mechanical
    Engineering Design, ch 10.

    Examples
    --------
    2.5 mm wire, 31 mm outside, 13 active coils (Shigley, 10th ed, Prob 10-3):

    >>> round(spring_rate(2.5, 28.5, 13, 81), 3)
    1.314
    """
    return float(_rate(wire, mean_diameter, active_coils, shear_modulus))


@calculation(
    wire="mm + 0.5..15",
    mean_diameter="mm - 5..120",
    rate="N/mm - 0.1..2000",
    shear_modulus="GPa + 20..100",
    gives="number",
    arrays=_rate,
)
def active_coils_of_rate(
    wire: float, mean_diameter: float, rate: float, shear_modulus: float
) -> float:
    """Coils that a cylindrical spring of this rate has, `G d^4 / (8 D^3 k)`.

    Parameters
    ----------
    wire : float
        Wire diameter, [mm]
    mean_diameter : float
        Mean coil diameter, outside diameter less one wire, [mm]
    rate : float
        Spring rate, [N/mm]
    shear_modulus : float
        Modulus of rigidity of the wire, [GPa]

    Returns
    -------
    coils : float
        Coils that deflect, [number]

    Notes
    -----
    `spring_rate` turned round, with what it assumes.

    Examples
    --------
    1.314 N/mm of 2.5 mm wire, 31 mm outside (Shigley, 10th ed, Prob 10-3, of 14 coils in all, plain
    and ground):

    >>> round(active_coils_of_rate(2.5, 28.5, 1.314, 81), 2)
    13.0
    """
    return float(_rate(wire, mean_diameter, rate, shear_modulus))


@calculation(wire="mm + 0.5..15", total_coils="number + 1..40", gives="mm", arrays=True)
def solid_height(wire: float, total_coils: float) -> float:
    """Height with every coil touching, ends ground, `d Nt`.

    Parameters
    ----------
    wire : float
        Wire diameter, [mm]
    total_coils : float
        All coils, the ground ones included, [number]

    Returns
    -------
    height : float
        Solid height, also called coil-bind height, [mm]

    Notes
    -----
    Assumes ground ends; unground ends add one wire. Shigley, Mechanical Engineering Design,
    Table 10-1. A measured coil-bind height rules over this.

    Examples
    --------
    14 coils of 2.5 mm wire, plain and ground (Shigley, 10th ed, Prob 10-3):

    >>> solid_height(2.5, 14)
    35.0
    """
    return wire * total_coils


def _rate_from_loads(lows: tuple[float, ...], highs: tuple[float, ...]) -> tuple[float, float]:
    least, greatest = lows[1] - highs[0], highs[1] - lows[0]
    quotients = [rise / lift for rise in (least, greatest) for lift in (lows[2], highs[2])]
    return min(quotients), max(quotients)


def _rates_from_loads(lows: tuple[Any, ...], highs: tuple[Any, ...]) -> tuple[Any, Any]:
    from numpy import maximum, minimum  # noqa: PLC0415  for catalogs alone

    least, greatest = lows[1] - highs[0], highs[1] - lows[0]
    quotients = [rise / lift for rise in (least, greatest) for lift in (lows[2], highs[2])]
    return reduce(minimum, quotients), reduce(maximum, quotients)


@calculation(
    seat_load="N - 0..10000",
    open_load="N + 0..20000",
    travel="mm ~ 0.5..60",
    gives="N/mm",
    bounds=_rate_from_loads,
    arrays=_rates_from_loads,
)
def spring_rate_from_loads(seat_load: float, open_load: float, travel: float) -> float:
    """Rate from the loads at two heights, `(F2 - F1) / travel`.

    Parameters
    ----------
    seat_load : float
        Load at the greater height, [N]
    open_load : float
        Load at the lesser height, [N]
    travel : float
        Difference of the two heights, [mm]

    Returns
    -------
    rate : float
        Mean rate between the two heights, [N/mm]

    Notes
    -----
    Hooke's law. Negative where the stated loads contradict the heights. The bounds divide the
    interval of the rise by the interval of the travel, which never holds zero.

    Examples
    --------
    A valve spring of 150 N at 35 mm and 300 N at 30 mm (Bhandari, Design of Machine Elements,
    Ex 10.4):

    >>> spring_rate_from_loads(150, 300, 5)
    30.0
    """
    return (open_load - seat_load) / travel
