"""What a cut at the deck, at a seat or at a chamber wall takes from, or adds to, the volumes."""

from __future__ import annotations

from math import atan, cos, degrees, pi, radians, sin, tan

from fitcheck.calculations.bounds import corners
from fitcheck.calculations.registry import calculation


@calculation(opening_area="cm2 + 1..400", cut="mm + 0..10", gives="cc")
def flat_milling_volume(opening_area: float, cut: float) -> float:
    """Volume that a chamber loses when its deck is milled flat, `A c`.

    Parameters
    ----------
    opening_area : float
        Area of the chamber's opening at the deck, [cm2]
    cut : float
        Depth of the cut, [mm]

    Returns
    -------
    volume : float
        Loss of chamber volume, [cc]

    Notes
    -----
    Geometry; exact where the walls stand square to the deck over the depth of the cut. Walls
    that lean outward towards the deck make the true loss a little smaller.

    Examples
    --------
    >>> round(flat_milling_volume(52.0, 0.25), 2)
    1.3
    """
    return opening_area * cut / 10


@calculation(opening_area="cm2 - 1..400", volume="cc + 0..400", gives="mm")
def flat_milling_cut(opening_area: float, volume: float) -> float:
    """Cut that takes a wanted volume from a chamber, `V / A`.

    Parameters
    ----------
    opening_area : float
        Area of the chamber's opening at the deck, [cm2]
    volume : float
        Loss of chamber volume wanted, [cc]

    Returns
    -------
    cut : float
        Depth of a flat cut, [mm]

    Notes
    -----
    The inverse of `flat_milling_volume`, with its assumption.

    Examples
    --------
    >>> round(flat_milling_cut(52.0, 1.3), 3)
    0.25
    """
    return 10 * volume / opening_area


@calculation(width="mm + 20..400", angle="deg + 0..10", gives="mm")
def angle_milling_cut(width: float, angle: float) -> float:
    """Cut at the deep edge of a head that is milled at an angle, `w tan a`.

    Parameters
    ----------
    width : float
        Width of the deck across the tilt, from the edge left uncut to the deep edge, [mm]
    angle : float
        Angle of tilt, [deg]

    Returns
    -------
    cut : float
        Depth at the deep edge, [mm]

    Notes
    -----
    Geometry. The trade's 0.0175 x width x degrees is its small-angle form.

    Examples
    --------
    >>> round(angle_milling_cut(1000, 1), 1)
    17.5
    """
    return width * tan(radians(angle))


@calculation(width="mm - 20..400", cut="mm + 0..20", gives="deg")
def angle_milling_angle(width: float, cut: float) -> float:
    """Tilt of a deck that was milled at an angle, `atan(c / w)`.

    Parameters
    ----------
    width : float
        Width of the deck across the tilt, from the edge left uncut to the deep edge, [mm]
    cut : float
        Depth at the deep edge, [mm]

    Returns
    -------
    angle : float
        Angle of tilt, [deg]

    Notes
    -----
    The inverse of `angle_milling_cut`. Valve axes, pushrods and intake face tilt by as much.

    Examples
    --------
    >>> round(angle_milling_angle(150, angle_milling_cut(150, 1.5)), 6)
    1.5
    """
    return degrees(atan(cut / width))


@calculation(
    opening_area="cm2 + 1..400",
    cut="mm + 0..20",
    width="mm - 20..400",
    centroid_distance="mm + 0..400",
    gives="cc",
)
def angle_milling_volume(
    opening_area: float, cut: float, width: float, centroid_distance: float
) -> float:
    """Volume that a chamber loses when its deck is milled at an angle, `A c x / w`.

    Parameters
    ----------
    opening_area : float
        Area of the chamber's opening at the deck, [cm2]
    cut : float
        Depth of the cut at the deep edge, [mm]
    width : float
        Width of the deck from the edge left uncut to the deep edge, [mm]
    centroid_distance : float
        From the edge left uncut to the centre of area of the opening, [mm]

    Returns
    -------
    volume : float
        Loss of chamber volume, [cc]

    Notes
    -----
    Geometry: a wedge over any outline holds its area times the depth at its centre of area.
    Exact where the walls stand square to the deck; the outline lies within the width.

    Examples
    --------
    An opening in the middle of the deck loses half of what a flat cut would take:

    >>> round(angle_milling_volume(52.0, 1.0, 150, 75), 3)
    2.6
    """
    return opening_area * cut / 10 * centroid_distance / width


@calculation(head_diameter="mm + 10..120", sinking="mm + 0..5", gives="cc")
def valve_sinking_volume(head_diameter: float, sinking: float) -> float:
    """Volume that a chamber gains when a valve sits deeper, `pi/4 D^2 s`.

    Parameters
    ----------
    head_diameter : float
        Diameter of the valve head, [mm]
    sinking : float
        How much deeper the valve sits, along its own axis, [mm]

    Returns
    -------
    volume : float
        Gain of chamber volume, [cc]

    Notes
    -----
    Geometry: a head of any shape that moves along its axis uncovers its circle times the way.
    What the cutter takes beyond the head's circle comes on top (`top_cut_volume`).

    Examples
    --------
    >>> round(valve_sinking_volume(48, 0.5), 2)
    0.9
    """
    return pi / 4 * head_diameter**2 * sinking / 1000


@calculation(
    inner_diameter="mm - 10..120", outer_diameter="mm + 10..130", angle="deg + 0..80", gives="cc"
)
def top_cut_volume(inner_diameter: float, outer_diameter: float, angle: float) -> float:
    """Volume that a conical cut above a valve seat adds to the chamber.

    Parameters
    ----------
    inner_diameter : float
        Outer diameter of the seat, where the cut ends below, [mm]
    outer_diameter : float
        Diameter at which the cut runs out into the chamber floor, [mm]
    angle : float
        Angle of the cut from the plane square to the valve's axis, [deg]

    Returns
    -------
    volume : float
        Gain of chamber volume, [cc]

    Notes
    -----
    Geometry of a ring of triangular section: a flat floor level with the run-out and a wall that
    stood upright at the seat. Nothing where uncertain sizes cross. By Pappus' rule the section
    `w^2/2 tan a` travels round at a third of its width outside the seat.

    Examples
    --------
    >>> round(top_cut_volume(48, 52, 30), 3)
    0.179
    """
    width = max(0.0, outer_diameter - inner_diameter) / 2
    section = width**2 / 2 * tan(radians(angle))
    return 2 * pi * (inner_diameter / 2 + width / 3) * section / 1000


@calculation(
    wall_radius="mm + 5..80",
    width="mm + 0..20",
    arc="deg + 0..360",
    depth="mm + 0..40",
    gives="cc",
)
def unshrouding_volume(wall_radius: float, width: float, arc: float, depth: float) -> float:
    """Volume that a chamber gains when its wall is laid back around a valve.

    Parameters
    ----------
    wall_radius : float
        Distance of the wall from the valve's axis before the cut, [mm]
    width : float
        How far the wall moves outward, [mm]
    arc : float
        Angle around the valve over which it is moved, [deg]
    depth : float
        Mean height of the wall that is moved, [mm]

    Returns
    -------
    volume : float
        Gain of chamber volume, [cc]

    Notes
    -----
    Geometry of a ring sector, `arc/360 pi ((r + w)^2 - r^2) h`. Hand work has no such sharp
    ends: measure the chamber afterwards.

    Examples
    --------
    >>> round(unshrouding_volume(27, 1.5, 120, 9), 2)
    0.78
    """
    return arc / 360 * pi * width * (2 * wall_radius + width) * depth / 1000


def _face_cut(lowering: float, bank_angle: float, face_tilt: float) -> float:
    half, tilt = radians(bank_angle / 2), radians(face_tilt)
    return lowering * sin(half) / cos(half + tilt)


@calculation(
    lowering="mm + -10..10",
    bank_angle="deg ~ 0..130",
    face_tilt="deg ~ 0..20",
    gives="mm",
    bounds=corners(_face_cut),
)
def intake_face_cut(lowering: float, bank_angle: float, face_tilt: float) -> float:
    """Cut on each intake face of a V engine that lets the manifold seat again, `t sin p/cos(p+q)`.

    Parameters
    ----------
    lowering : float
        How far both heads come down on their banks; negative where they rise, [mm]
    bank_angle : float
        Angle between the banks, 2p, [deg]
    face_tilt : float
        Angle q by which the intake face is turned upward from square to the deck, [deg]

    Returns
    -------
    cut : float
        Cut on the intake face of each head (or each side of the manifold), [mm]

    Notes
    -----
    Plane geometry: both heads come down their bores by t, the manifold sinks until ports and
    bolt holes are in line again (`manifold_floor_cut`), and this much is in the way between the
    faces. Bank and tilt steepen the effect, so their direction turns with the sign of t.

    Examples
    --------
    A 90 degree V at 10 degrees; a shop table often quoted has 1.23 (from memory, not seen):

    >>> round(intake_face_cut(1, 90, 10), 4)
    1.2328
    """
    return _face_cut(lowering, bank_angle, face_tilt)


def _floor_cut(lowering: float, bank_angle: float, face_tilt: float) -> float:
    half, tilt = radians(bank_angle / 2), radians(face_tilt)
    return lowering * cos(tilt) / cos(half + tilt)


@calculation(
    lowering="mm + -10..10",
    bank_angle="deg ~ 0..130",
    face_tilt="deg ~ 0..20",
    gives="mm",
    bounds=corners(_floor_cut),
)
def manifold_floor_cut(lowering: float, bank_angle: float, face_tilt: float) -> float:
    """Cut under the ends of a V engine's intake manifold, `t cos q/cos(p+q)`.

    Parameters
    ----------
    lowering : float
        How far both heads come down on their banks; negative where they rise, [mm]
    bank_angle : float
        Angle between the banks, 2p, [deg]
    face_tilt : float
        Angle q by which the intake face is turned upward from square to the deck, [deg]

    Returns
    -------
    cut : float
        How far the manifold sinks towards the block, where its end rails need room, [mm]

    Notes
    -----
    Plane geometry: the sinking whose part along the face equals that of the heads, so that
    ports and bolt holes are in line; `intake_face_cut` is what it takes between the faces.

    Examples
    --------
    A 90 degree V at 10 degrees; a shop table often quoted has 1.71 (from memory, not seen):

    >>> round(manifold_floor_cut(1, 90, 10), 4)
    1.717
    """
    return _floor_cut(lowering, bank_angle, face_tilt)
