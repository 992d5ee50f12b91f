"""Threaded fasteners: stress area, grip and engagement."""

from __future__ import annotations

from math import pi

from fitcheck.calculations.registry import calculation


@calculation(diameter="mm + 3..40", pitch="mm - 0.3..3", gives="mm2")
def tensile_stress_area(diameter: float, pitch: float) -> float:
    """Stress area of a 60 degree thread, `pi/4 (d - 0.9382 P)^2`.

    Parameters
    ----------
    diameter : float
        Nominal thread diameter, [mm]
    pitch : float
        Pitch; 25.4 over the threads per inch, [mm]

    Returns
    -------
    area : float
        Tensile stress area, [mm2]

    Notes
    -----
    The circle midway between pitch and root diameter of the ISO profile, ISO 898-1. Unified
    threads are tabulated with 0.9743 in place of 0.9382 and come out up to 2 % smaller.

    Examples
    --------
    M10 (ISO 898-1 tabulates 58.0):

    >>> round(tensile_stress_area(10, 1.5), 1)
    58.0
    """
    return pi / 4 * (diameter - 0.9382 * pitch) ** 2


@calculation(
    clamped_thickness="mm + 0..500",
    washer_thickness="mm + 0..20",
    gasket_thickness="mm + 0..5",
    gives="mm",
)
def bolt_grip(clamped_thickness: float, washer_thickness: float, gasket_thickness: float) -> float:
    """Length between the bolt's bearing face and the face of the tapped part.

    Parameters
    ----------
    clamped_thickness : float
        Metal under the bolt or nut, at that hole, [mm]
    washer_thickness : float
        Washer, 0 without one, [mm]
    gasket_thickness : float
        Compressed gasket, [mm]

    Returns
    -------
    grip : float
        Grip length, [mm]

    Notes
    -----
    Geometry. Milling the head or changing gasket or washer changes it.

    Examples
    --------
    >>> round(bolt_grip(90, 3, 1), 1)
    94
    """
    return clamped_thickness + washer_thickness + gasket_thickness


@calculation(
    length="mm + 0..500",
    grip="mm - 0..500",
    counterbore="mm - 0..100",
    hole_depth="mm + 0..200",
    gives="mm",
)
def thread_engagement(length: float, grip: float, counterbore: float, hole_depth: float) -> float:
    """Length of thread that carries, `min(length - grip, hole depth) - counterbore`.

    Parameters
    ----------
    length : float
        Bolt length under the head, or stud length from nut face to lower end, [mm]
    grip : float
        Grip length of `bolt_grip`, [mm]
    counterbore : float
        Depth before the first thread of the hole, from its face, [mm]
    hole_depth : float
        Depth of the last full thread, from the same face, [mm]

    Returns
    -------
    engagement : float
        Engaged length, never below nothing, [mm]

    Notes
    -----
    Geometry; assumes that the bolt is threaded that far. A bolt longer than grip and hole
    bottoms and clamps nothing: check that apart. One and a half diameters in aluminium and one in
    iron are common practice, no source; the fastener maker's figure rules.

    Examples
    --------
    >>> round(thread_engagement(115, 94, 3, 30), 1), round(thread_engagement(140, 94, 3, 30), 1)
    (18, 27)
    """
    return max(0.0, min(length - grip, hole_depth) - counterbore)
