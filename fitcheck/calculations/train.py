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
    arrays=lambda valve, spring, rocker, lifter, ratio: (
        valve + spring / 3 + rocker + lifter / ratio**2
    ),
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


@calculation(
    valve_mass="g + 1..1000",
    spring_mass="g + 0..1000",
    rocker_mass="g + 0..1000",
    lifter_mass="g + 0..2000",
    rocker_ratio="number + 0.8..2.5",
    gives="g",
)
def effective_mass_at_lifter(
    valve_mass: float,
    spring_mass: float,
    rocker_mass: float,
    lifter_mass: float,
    rocker_ratio: float,
) -> float:
    """Moving mass as the cam feels it, `(m_v + m_s/3 + m_r) ratio^2 + m_l`.

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
        Effective mass at the lifter, [g]

    Notes
    -----
    The same mass as at the valve, times the square of the ratio (Rothbart, Cam Design Handbook,
    p 438). Assumes a rigid train.

    Examples
    --------
    >>> round(effective_mass_at_lifter(150, 90, 40, 180, 1.5), 6)
    675.0
    """
    valve_side = valve_mass + spring_mass / 3 + rocker_mass
    return valve_side * rocker_ratio**2 + lifter_mass


def follower_acceleration(
    lift: float, rise_angle: float, acceleration_factor: float, cam_speed: float
) -> float:
    """Acceleration of a follower, `Ca h w^2 / b^2`.

    Parameters
    ----------
    lift : float
        Lift of the whole rise, [mm]
    rise_angle : float
        Cam angle of the whole rise, [deg]
    acceleration_factor : float
        Acceleration of the motion in units of lift over rise angle squared, [number]
    cam_speed : float
        Speed of the camshaft, half of the engine's, [rpm]

    Returns
    -------
    acceleration : float
        Acceleration, [m/s2]

    Notes
    -----
    The factor is 4 for two equal parabolas and pi^2/2 for harmonic motion; a deceleration that
    takes the angle `d` of a parabolic rise `b` has `2 b / d` (Rothbart, Cam Design Handbook).

    Examples
    --------
    40 mm in 60 deg of harmonic motion at 300 rpm (Sarkar, Theory of Machines, ch 9, prints
    177.6):

    >>> round(follower_acceleration(40, 60, pi**2 / 2, 300), 1)
    177.7
    """
    turning = 2 * pi * cam_speed / 60
    return acceleration_factor * lift / 1000 * (turning / radians(rise_angle)) ** 2


@calculation(
    mass="g + 0..5000",
    lift="mm + 0..60",
    rise_angle="deg - 20..200",
    acceleration_factor="number + 0..20",
    speed="rpm + 0..20000",
    gives="N",
)
def inertia_force(
    mass: float, lift: float, rise_angle: float, acceleration_factor: float, speed: float
) -> float:
    """Force that the train's deceleration takes from the spring, `m Ca h w^2 / b^2`.

    Parameters
    ----------
    mass : float
        Effective mass on the side where the lift is told, [g]
    lift : float
        Lift of the whole rise on that side, [mm]
    rise_angle : float
        Cam angle of the whole rise, about a quarter of the crank duration, [deg]
    acceleration_factor : float
        Greatest deceleration in units of lift over rise angle squared, [number]
    speed : float
        Engine speed, twice the cam's, [rpm]

    Returns
    -------
    force : float
        Inertia force, [N]

    Notes
    -----
    Assumes a rigid train with neither flex nor surge, so a real train needs a margin. Newton's
    law on `follower_acceleration`.

    Examples
    --------
    2 lb, 1.25 in in 160 deg with 120 deg of deceleration at a cam speed of 1200 rpm (Rothbart,
    Cam Design Handbook, Fig 8.7, prints 35 lb):

    >>> round(inertia_force(907.185, 31.75, 160, 2 * 160 / 120, 2400) / 4.44822)
    35
    """
    return mass / 1000 * follower_acceleration(lift, rise_angle, acceleration_factor, speed / 2)


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
    Where `inertia_force` equals the spring load. Assumes a rigid train, no surge, no friction
    and nothing from oil pressure: a real train floats below this, so it is an upper limit and
    not a promise. For harmonic and parabolic motion take the load at full lift; where the
    deceleration peaks earlier take the load there.

    Examples
    --------
    The spring load that just holds 2 lb at a cam speed of 1200 rpm (Rothbart, Cam Design
    Handbook, Fig 8.7: 35 lb), to the nearest hundred:

    >>> round(greatest_controlled_speed(35 * 4.44822, 907.185, 31.75, 160, 8 / 3), -2)
    2400.0
    """
    strength = spring_force / (mass / 1000 * acceleration_factor * lift / 1000)
    return 2 * 60 / (2 * pi) * radians(rise_angle) * sqrt(strength)
