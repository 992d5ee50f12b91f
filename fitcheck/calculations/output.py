"""What an engine puts out, told in figures that do not depend on its size."""

from __future__ import annotations

from math import pi

from fitcheck.calculations.registry import calculation


@calculation(stroke="mm + 10..300", speed="rpm + 0..20000", gives="m/s")
def mean_piston_speed(stroke: float, speed: float) -> float:
    """Mean piston speed, `2 S N`.

    Parameters
    ----------
    stroke : float
        Stroke, twice the crank throw, [mm]
    speed : float
        Engine speed, [rpm]

    Returns
    -------
    mean_speed : float
        Stroke length covered per second, averaged over a turn, [m/s]

    Notes
    -----
    Kinematics; holds for a crank whose axis lies in the plane of the bore. Never falls as either
    argument grows.

    Examples
    --------
    85 mm of stroke at 5500 rpm (a web formulary of automotive engineering prints 15.58 m/s):

    >>> round(mean_piston_speed(85, 5500), 2)
    15.58
    """
    return 2 * stroke / 1000 * speed / 60


@calculation(
    power="kW + 0..3000", displacement="L - 0.02..30", speed="rpm - 100..20000", gives="bar"
)
def brake_mean_effective_pressure(power: float, displacement: float, speed: float) -> float:
    """Brake mean effective pressure of a four-stroke engine, `2 P / (Vd N)`.

    Parameters
    ----------
    power : float
        Brake power, [kW]
    displacement : float
        Swept volume of all cylinders, [L]
    speed : float
        Engine speed at that power, [rpm]

    Returns
    -------
    pressure : float
        Brake mean effective pressure, [bar]

    Notes
    -----
    Assumes one power stroke in two turns. The work of one cycle over the swept volume; the
    definition in every textbook, e.g. Gupta, Fundamentals of IC Engines, ch 16.

    Examples
    --------
    17.593 kW from four cylinders of 60 x 85 mm at 3000 rpm (Gupta, Ex 16.4):

    >>> round(brake_mean_effective_pressure(17.593, 0.961327, 3000), 2)
    7.32
    """
    return 1200 * power / (displacement * speed)


@calculation(torque="N m + 0..5000", displacement="L - 0.02..30", gives="bar")
def brake_mean_effective_pressure_of_torque(torque: float, displacement: float) -> float:
    """Brake mean effective pressure of a four-stroke engine, `4 pi T / Vd`.

    Parameters
    ----------
    torque : float
        Brake torque, [N m]
    displacement : float
        Swept volume of all cylinders, [L]

    Returns
    -------
    pressure : float
        Brake mean effective pressure, [bar]

    Notes
    -----
    Assumes one power stroke in two turns. The same definition as from power, with the speed
    cancelled.

    Examples
    --------
    120 N m from four cylinders of 90 x 100 mm (Gupta, Fundamentals of IC Engines, Ex 16.3):

    >>> round(brake_mean_effective_pressure_of_torque(120, 2.544690), 2)
    5.93
    """
    return 4 * pi * torque / displacement / 100


@calculation(torque="N m + 0..5000", speed="rpm + 0..20000", gives="kW")
def brake_power(torque: float, speed: float) -> float:
    """Power at the crankshaft, `2 pi N T`.

    Parameters
    ----------
    torque : float
        Brake torque, [N m]
    speed : float
        Engine speed, [rpm]

    Returns
    -------
    power : float
        Brake power, [kW]

    Notes
    -----
    Definition of work; holds for any shaft.

    Examples
    --------
    160 N on an arm of 0.35 m at 3000 rpm (Gupta, Fundamentals of IC Engines, Ex 16.4):

    >>> round(brake_power(160 * 0.35, 3000), 3)
    17.593
    """
    return 2 * pi * speed / 60 * torque / 1000
