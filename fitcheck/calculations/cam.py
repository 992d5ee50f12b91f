"""What the figures on a cam card say of the lobe: lift at an angle, speed, contact."""

from __future__ import annotations

from math import atan, degrees, pi, sqrt

from fitcheck.calculations.lift_curve import SHAPE, LiftCurve
from fitcheck.calculations.registry import calculation

# Least part of a duration, in crank degrees, that two stated lifts lie apart on both flanks
# together. Below it uncertain figures touch, and a slope between them means nothing.
CLOSEST_POINTS = 4.0


@calculation(
    lobe_lift="mm + 1..20",
    duration="deg + 80..360",
    duration_lift="mm + 0.1..6",
    advertised_duration="deg + 100..420",
    advertised_lift="mm + 0..2",
    angle="deg - 0..360",
    gives="mm",
)
def lobe_lift_at(
    lobe_lift: float,
    duration: float,
    duration_lift: float,
    advertised_duration: float,
    advertised_lift: float,
    angle: float,
) -> float:
    """Lobe lift at a crank angle from full lift, estimated from two stated durations.

    Parameters
    ----------
    lobe_lift : float
        Full lift of the lobe, [mm]
    duration : float
        Duration at the larger stated lift (0.050 in or 1 mm), in crank degrees, [deg]
    duration_lift : float
        That lift at the lobe, [mm]
    advertised_duration : float
        Duration at the smaller stated lift, in crank degrees, [deg]
    advertised_lift : float
        That lift at the lobe, [mm]
    angle : float
        Crank angle from full lift, to either side, [deg]

    Returns
    -------
    lift : float
        Lobe lift at that angle, [mm]

    Notes
    -----
    An estimate: the true lobe is not known between the stated points. `LiftCurve.from_timing`
    has the assumption (symmetric lobe, a fixed family of shapes). Lobes of 6 to 9 mm lift by
    seven textbook motion laws, and a circular-arc lobe of 12.7 mm, differ from it by up to
    0.75 mm between the stated points and not at all at them. A measured lift table replaces it.

    Examples
    --------
    >>> [round(lobe_lift_at(8, 220, 1.27, 280, 0.15, angle), 2) for angle in (0, 80, 110, 140)]
    [8, 3.9, 1.27, 0.15]
    """
    timing = [(duration, duration_lift), (advertised_duration, advertised_lift)]
    return LiftCurve.from_timing(lobe_lift, timing).lift(angle)


@calculation(
    duration="deg + 80..360",
    duration_lift="mm + 0.1..10",
    longer_duration="deg - 100..420",
    smaller_lift="mm - 0..6",
    gives="mm/deg",
)
def flank_velocity(
    duration: float, duration_lift: float, longer_duration: float, smaller_lift: float
) -> float:
    """Mean lobe velocity between two stated lifts, which the greatest velocity must reach.

    Parameters
    ----------
    duration : float
        Duration at the larger stated lift, in crank degrees, [deg]
    duration_lift : float
        That lift at the lobe, [mm]
    longer_duration : float
        Duration at the smaller stated lift, in crank degrees, [deg]
    smaller_lift : float
        That lift at the lobe, [mm]

    Returns
    -------
    velocity : float
        Lift per degree of cam, as a mean over the flank between the points, [mm/deg]

    Notes
    -----
    By the mean value theorem every lobe with these durations is somewhere at least this fast on
    one of its flanks, whatever its shape. The points of one flank lie a quarter of the difference
    of the durations apart in cam degrees. Less than 4 crank degrees of difference counts as 4.

    Examples
    --------
    >>> round(flank_velocity(150, 5.08, 230, 1.27), 4)
    0.1905
    """
    apart = max(CLOSEST_POINTS, longer_duration - duration) / 4
    return max(0.0, duration_lift - smaller_lift) / apart


@calculation(duration_at_050="deg - 140..340", duration_at_200="deg + 20..260", gives="mm/deg")
def velocity_between_card_lifts(duration_at_050: float, duration_at_200: float) -> float:
    """Mean lobe velocity from 0.050 to 0.200 in of lift, the two lifts that cam cards give.

    Parameters
    ----------
    duration_at_050 : float
        Duration at 0.050 in of lobe lift, in crank degrees, [deg]
    duration_at_200 : float
        Duration at 0.200 in of lobe lift, in crank degrees, [deg]

    Returns
    -------
    velocity : float
        Lift per degree of cam, as a mean over the flank between those lifts, [mm/deg]

    Notes
    -----
    `flank_velocity` at the two lifts in inches: the greatest velocity is at least this.

    Examples
    --------
    0.150 in over a quarter of 80 degrees:

    >>> round(velocity_between_card_lifts(230, 150) / 25.4, 6)
    0.0075
    """
    return flank_velocity(duration_at_200, 0.200 * 25.4, duration_at_050, 0.050 * 25.4)


@calculation(
    lobe_lift="mm + 1..20", duration="deg - 80..360", duration_lift="mm - 0.1..6", gives="mm/deg"
)
def greatest_lobe_velocity(lobe_lift: float, duration: float, duration_lift: float) -> float:
    """Greatest lobe velocity, estimated from full lift and one stated duration.

    Parameters
    ----------
    lobe_lift : float
        Full lift of the lobe, [mm]
    duration : float
        Duration at a stated lift (0.050 in or 1 mm), in crank degrees, [deg]
    duration_lift : float
        That lift at the lobe, [mm]

    Returns
    -------
    velocity : float
        Greatest lift per degree of cam, [mm/deg]

    Notes
    -----
    An estimate: the peak slope of `y = H (1 - c u^2)^1.6` through full lift and the stated
    point. For lobes of seven textbook motion laws it is 0.83 to 1.09 of the true value, for arcs
    and for flanks that accelerate over a quarter of their angle down to 0.77. A measured lift
    table replaces it, and `flank_velocity` bounds the true value from below.

    Examples
    --------
    >>> round(greatest_lobe_velocity(8, 220, 1.27), 4)
    0.1803
    """
    c = max(0.0, 1 - (duration_lift / lobe_lift) ** (1 / SHAPE))
    steepest = min(c, 1 / (2 * SHAPE - 1))  # c u^2 where the slope is greatest
    slope: float = 2 * SHAPE * lobe_lift * sqrt(c * steepest) * (1 - steepest) ** (SHAPE - 1)
    return slope / (duration / 4)


@calculation(lobe_velocity="mm/deg + 0..1", gives="mm")
def flat_follower_offset(lobe_velocity: float) -> float:
    """How far the contact stands from the axis of a flat follower, `dy/da`.

    Parameters
    ----------
    lobe_velocity : float
        Lift per degree of cam, [mm/deg]

    Returns
    -------
    offset : float
        Offset of the line of contact from the follower's axis, [mm]

    Notes
    -----
    Exact geometry of a flat face square to its travel: the offset is the slope of the lift per
    radian (Norton, Design of Machinery, on flat-faced followers; from memory). The edge rides on
    the lobe once it exceeds the follower's radius, less half the contact's own width and any
    chamfer. A crowned foot on a tapered lobe moves the contact sideways by little.

    Examples
    --------
    >>> round(flat_follower_offset(0.18), 2)
    10.31
    """
    return lobe_velocity * 180 / pi


@calculation(
    lobe_velocity="mm/deg + 0..1",
    lift="mm - 0..20",
    base_circle_diameter="mm - 10..80",
    roller_diameter="mm - 5..60",
    gives="deg",
)
def pressure_angle(
    lobe_velocity: float, lift: float, base_circle_diameter: float, roller_diameter: float
) -> float:
    """Pressure angle of a roller follower in line with the cam, `atan(dy/da / (Rb + Rr + y))`.

    Parameters
    ----------
    lobe_velocity : float
        Lift per degree of cam at that point, [mm/deg]
    lift : float
        Lobe lift at that point, [mm]
    base_circle_diameter : float
        Diameter of the base circle, [mm]
    roller_diameter : float
        Diameter of the roller, [mm]

    Returns
    -------
    angle : float
        Angle between the force and the follower's travel, [deg]

    Notes
    -----
    Exact for a follower whose axis meets the cam's axis; the lift is that of the roller's centre.

    Examples
    --------
    >>> round(pressure_angle(0.2, 4, 30, 19), 1)
    21.9
    """
    reach = base_circle_diameter / 2 + roller_diameter / 2 + lift
    return degrees(atan(flat_follower_offset(lobe_velocity) / reach))


@calculation(
    lobe_lift="mm + 1..20",
    duration="deg - 80..360",
    duration_lift="mm - 0.1..6",
    base_circle_diameter="mm - 10..80",
    roller_diameter="mm - 5..60",
    gives="deg",
)
def greatest_pressure_angle(
    lobe_lift: float,
    duration: float,
    duration_lift: float,
    base_circle_diameter: float,
    roller_diameter: float,
) -> float:
    """Greatest pressure angle of a roller follower, estimated from one stated duration.

    Parameters
    ----------
    lobe_lift : float
        Full lift of the lobe, [mm]
    duration : float
        Duration at a stated lift (0.050 in or 1 mm), in crank degrees, [deg]
    duration_lift : float
        That lift at the lobe, [mm]
    base_circle_diameter : float
        Diameter of the base circle, [mm]
    roller_diameter : float
        Diameter of the roller, [mm]

    Returns
    -------
    angle : float
        Greatest pressure angle above the stated lift, [deg]

    Notes
    -----
    An estimate with the curve of `greatest_lobe_velocity` and the same error. On it lift and
    slope are told by z = c u^2: at each z the angle rises with the lobe lift and falls with
    duration and stated lift, and a smaller stated lift only adds to the z looked at, so the
    greatest angle does too. The angle has one peak over z, found by cutting thirds off.

    Examples
    --------
    >>> round(greatest_pressure_angle(8, 220, 1.27, 30, 19), 1)
    20.8
    """
    c = max(0.0, 1 - (duration_lift / lobe_lift) ** (1 / SHAPE))
    prime = (base_circle_diameter + roller_diameter) / 2

    def tangent(z: float) -> float:
        slope: float = 2 * SHAPE * lobe_lift * sqrt(c * z) * (1 - z) ** (SHAPE - 1) / (duration / 4)
        reach: float = prime + lobe_lift * (1 - z) ** SHAPE
        return slope * 180 / pi / reach

    low, high = 0.0, c
    for _ in range(45):
        third = (high - low) / 3
        if tangent(low + third) < tangent(high - third):
            low += third
        else:
            high -= third
    return degrees(atan(max(tangent((low + high) / 2), tangent(c))))
