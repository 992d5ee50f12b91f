"""What the figures on a cam card say of the lobe: lift at an angle, speed, contact."""

from __future__ import annotations

from math import atan, degrees, pi

from fitcheck.calculations.registry import calculation

# Least part of a duration, in crank degrees, that two stated lifts lie apart on both flanks
# together. Below it uncertain figures touch, and a slope between them means nothing.
CLOSEST_POINTS = 4.0


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
    By the mean value theorem every lobe with these durations is somewhere at least this fast on
    one of its flanks, whatever its shape. The points of one flank lie a quarter of the difference
    of the durations apart in cam degrees. Less than 4 crank degrees of difference counts as 4.

    Examples
    --------
    0.150 in over a quarter of 80 degrees:

    >>> round(velocity_between_card_lifts(230, 150) / 25.4, 6)
    0.0075
    """
    apart = max(CLOSEST_POINTS, duration_at_050 - duration_at_200) / 4
    return 0.150 * 25.4 / apart


@calculation(lobe_velocity="mm/deg + 0..1", gives="mm", arrays=True)
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
