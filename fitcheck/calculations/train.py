"""The valve train as a moving mass: what the spring must hold down."""

from __future__ import annotations

from math import pi, radians, sqrt
from typing import Any

from fitcheck.calculations.registry import calculation


@calculation(
    valve_mass="g + 1..1000",
    spring_mass="g + 0..1000",
    rocker_mass="g + 0..1000",
    lifter_mass="g + 0..2000",
    rocker_ratio="number - 0.8..2.5",
    gives="g",
    arrays=True,
)
def effective_mass_at_valve(
    valve_mass: float,
    spring_mass: float,
    rocker_mass: float,
    lifter_mass: float,
    rocker_ratio: float,
) -> float:
    """Moving mass as the valve feels it, `m_v + m_s/3 + m_r + m_l / ratio^2`.

    Parameters
    ----------
    valve_mass : float
        Valve, retainer, locks and lash cap, [g]
    spring_mass : float
        All springs of the valve, [g]
    rocker_mass : float
        Rocker's moment of inertia over the square of its valve-side arm, [g]
    lifter_mass : float
        Lifter and pushrod, [g]
    rocker_ratio : float
        Valve-side arm over pushrod-side arm, [number]

    Returns
    -------
    mass : float
        Effective mass at the valve, [g]

    Notes
    -----
    Assumes a rigid train. A spring counts with a third of its mass, and a mass through a lever
    with the square of the ratio (Rothbart, Cam Design Handbook, p 438).

    Examples
    --------
    >>> round(effective_mass_at_valve(150, 90, 40, 180, 1.5), 6)
    300.0
    """
    return valve_mass + spring_mass / 3 + rocker_mass + lifter_mass / rocker_ratio**2


def _controlled_speeds(force: Any, mass: Any, lift: Any, rise_angle: Any, factor: Any) -> Any:
    from numpy import sqrt as roots  # noqa: PLC0415  for catalogs alone

    strength = force / (mass / 1000 * factor * lift / 1000)
    return 2 * 60 / (2 * pi) * (rise_angle * (pi / 180)) * roots(strength)


@calculation(
    spring_force="N + 0..20000",
    mass="g - 1..5000",
    lift="mm - 0.5..60",
    rise_angle="deg + 20..200",
    acceleration_factor="number - 1..20",
    arrays=_controlled_speeds,
    gives="rpm",
)
def greatest_controlled_speed(
    spring_force: float,
    mass: float,
    lift: float,
    rise_angle: float,
    acceleration_factor: float,
) -> float:
    """Engine speed at which the follower would leave the cam, `w = b sqrt(F / (m Ca h))`.

    Parameters
    ----------
    spring_force : float
        Spring load where the deceleration is greatest, on the side where the lift is told, [N]
    mass : float
        Effective mass on that side, [g]
    lift : float
        Lift of the whole rise on that side, [mm]
    rise_angle : float
        Cam angle of the whole rise, about a quarter of the crank duration, [deg]
    acceleration_factor : float
        Greatest deceleration in units of lift over rise angle squared, [number]

    Returns
    -------
    speed : float
        Engine speed, twice the cam's, [rpm]

    Notes
    -----
    Where the force that slows the mass, `m Ca h w^2 / b^2`, equals the spring load. Assumes a rigid
    train, no surge, no friction and nothing from oil pressure: a real train floats below this, so
    it is an upper limit and not a promise. For harmonic and parabolic motion take the load at full
    lift; where the deceleration peaks earlier take the load there.

    Examples
    --------
    The spring load that just holds 2 lb at a cam speed of 1200 rpm (Rothbart, Cam Design
    Handbook, Fig 8.7: 35 lb), to the nearest hundred:

    >>> round(greatest_controlled_speed(35 * 4.44822, 907.185, 31.75, 160, 8 / 3), -2)
    2400.0
    """
    strength = spring_force / (mass / 1000 * acceleration_factor * lift / 1000)
    return 2 * 60 / (2 * pi) * radians(rise_angle) * sqrt(strength)
