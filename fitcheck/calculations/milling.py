"""What a cut at the deck, at a seat or at a chamber wall takes from, or adds to, the volumes."""

from __future__ import annotations

from math import cos, pi, radians, sin

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
    What the cutter takes beyond the head's circle comes on top.

    Examples
    --------
    >>> round(valve_sinking_volume(48, 0.5), 2)
    0.9
    """
    return pi / 4 * head_diameter**2 * sinking / 1000


def _face_cut(lowering: float, bank_angle: float, face_angle: float) -> float:
    half, tilt = radians(bank_angle / 2), radians(90 - face_angle)
    return lowering * sin(half) / cos(half + tilt)


@calculation(
    lowering="mm + -10..10",
    bank_angle="deg ~ 0..130",
    face_angle="deg ~ 70..90",
    gives="mm",
    bounds=corners(_face_cut),
)
def intake_face_cut(lowering: float, bank_angle: float, face_angle: float) -> float:
    """Cut on each intake face of a V engine that lets the manifold seat again, `t sin p/cos(p+q)`.

    Parameters
    ----------
    lowering : float
        How far both heads come down on their banks; negative where they rise, [mm]
    bank_angle : float
        Angle between the banks, 2p, [deg]
    face_angle : float
        Angle of the intake face to the deck; square to it less q, [deg]

    Returns
    -------
    cut : float
        Cut on the intake face of each head (or each side of the manifold), [mm]

    Notes
    -----
    Plane geometry: both heads come down their bores by t, the manifold sinks until ports and
    bolt holes are in line again (`manifold_floor_cut`), and this much is in the way between the
    faces. Bank and a face that is turned upward steepen the effect, so their direction turns
    with the sign of t.

    Examples
    --------
    A 90 degree V with its faces 80 degrees to the deck; a shop table often quoted
    has 1.23 (from memory, not seen):

    >>> round(intake_face_cut(1, 90, 80), 4)
    1.2328
    """
    return _face_cut(lowering, bank_angle, face_angle)


def _floor_cut(lowering: float, bank_angle: float, face_angle: float) -> float:
    half, tilt = radians(bank_angle / 2), radians(90 - face_angle)
    return lowering * cos(tilt) / cos(half + tilt)


@calculation(
    lowering="mm + -10..10",
    bank_angle="deg ~ 0..130",
    face_angle="deg ~ 70..90",
    gives="mm",
    bounds=corners(_floor_cut),
)
def manifold_floor_cut(lowering: float, bank_angle: float, face_angle: float) -> float:
    """Cut under the ends of a V engine's intake manifold, `t cos q/cos(p+q)`.

    Parameters
    ----------
    lowering : float
        How far both heads come down on their banks; negative where they rise, [mm]
    bank_angle : float
        Angle between the banks, 2p, [deg]
    face_angle : float
        Angle of the intake face to the deck; square to it less q, [deg]

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
    A 90 degree V with its faces 80 degrees to the deck; a shop table often quoted
    has 1.71 (from memory, not seen):

    >>> round(manifold_floor_cut(1, 90, 80), 4)
    1.717
    """
    return _floor_cut(lowering, bank_angle, face_angle)
