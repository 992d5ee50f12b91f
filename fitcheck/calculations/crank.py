"""Where the piston is, and how fast, as the crank turns: exact slider-crank motion."""

from __future__ import annotations

from math import cos, radians, sin, sqrt

from fitcheck.calculations.bounds import Ends, Range
from fitcheck.calculations.registry import calculation

# A rod shorter than this share of the stroke cannot be built: the piston would meet the crank.
# Where a box of uncertain sizes reaches there, the rod is taken at this length, which keeps
# every direction below true.
SHORTEST_ROD = 0.6


def _throw_and_rod(stroke: float, rod_length: float) -> tuple[float, float]:
    return stroke / 2, max(rod_length, SHORTEST_ROD * stroke)


def _from_tdc(low: float, high: float) -> Range:
    """How near to and how far from top dead centre a range of crank angles gets, [deg]."""
    if high - low >= 360:
        return 0.0, 180.0
    ends = [180 - abs(angle % 360 - 180) for angle in (low, high)]
    turn = low // 180 + 1  # the first dead centre past `low`
    while turn * 180 < high:
        ends.append(0.0 if turn % 2 == 0 else 180.0)
        turn += 1
    return min(ends), max(ends)


def _position_bounds(lows: Ends, highs: Ends) -> Range:
    near, far = _from_tdc(lows[2], highs[2])
    return piston_position(lows[0], highs[1], near), piston_position(highs[0], lows[1], far)


@calculation(
    stroke="mm + 10..300",
    rod_length="mm - 20..800",
    crank_angle="deg ~ -1080..1080",
    gives="mm",
    bounds=_position_bounds,
)
def piston_position(stroke: float, rod_length: float, crank_angle: float) -> float:
    """Distance of the piston below top dead centre, `r(1 - cos a) + L - sqrt(L^2 - (r sin a)^2)`.

    Parameters
    ----------
    stroke : float
        Stroke, twice the throw r, [mm]
    rod_length : float
        Rod length between centres L, [mm]
    crank_angle : float
        Crank angle a past top dead centre, [deg]

    Returns
    -------
    position : float
        Distance below top dead centre, [mm]

    Notes
    -----
    Exact geometry of a crank whose axis meets the bore axis (no pin or crank offset; see
    `offset_position`). Never falls as the stroke grows, never rises as the rod grows; rises with
    the angle to bottom dead centre. Rods shorter than 0.6 of the stroke are taken as that long.
    Written without differences of nearly equal numbers, so that it holds close to dead centre.

    Examples
    --------
    At 90 degrees the piston is past half stroke:

    >>> round(piston_position(86, 172, 90), 3)
    48.462
    """
    r, rod = _throw_and_rod(stroke, rod_length)
    angle = radians(crank_angle)
    across = r * sin(angle)
    return 2 * r * sin(angle / 2) ** 2 + across**2 / (rod + sqrt(rod**2 - across**2))


def offset_position(
    stroke: float, rod_length: float, crank_angle: float, pin_offset: float = 0.0
) -> float:
    """Distance of the piston below its highest point where the pin is offset from the crank axis.

    `stroke`, `rod_length` and `pin_offset` in mm, `crank_angle` in degrees past the point where
    the throw is parallel to the bore; the offset is positive towards the side that the crankpin
    turns to first. The highest point then lies a little off 0 degrees, where throw and rod are
    in line. Exact geometry; with no offset equal to `piston_position`.

    >>> offset_position(86, 172, 90, 0) == piston_position(86, 172, 90)
    True
    >>> round(offset_position(86, 172, 90, 1.5), 3)
    48.076
    """
    if pin_offset == 0:
        return piston_position(stroke, rod_length, crank_angle)
    r, rod = _throw_and_rod(stroke, rod_length)
    angle = radians(crank_angle)
    highest = sqrt((rod + r) ** 2 - pin_offset**2)
    return highest - r * cos(angle) - sqrt(rod**2 - (r * sin(angle) - pin_offset) ** 2)
