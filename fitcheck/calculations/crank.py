"""Where the piston is, and how fast, as the crank turns: exact slider-crank motion."""

from __future__ import annotations

from math import cos, pi, radians, sin, sqrt

from fitcheck.calculations.bounds import Ends, Range, plus, sine_range, slices, times
from fitcheck.calculations.registry import calculation

# A rod shorter than this share of the stroke cannot be built: the piston would meet the crank.
# Where a box of uncertain sizes reaches there, the rod is taken at this length, which keeps
# every direction below true.
SHORTEST_ROD = 0.6
_WIDEST_SLICE = radians(3)
_GOLDEN = (sqrt(5) - 1) / 2


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


def _velocity_bounds(lows: Ends, highs: Ends) -> Range:
    throw = lows[0] / 2, highs[0] / 2
    turning = lows[3] * pi / 30000, highs[3] * pi / 30000
    start, end = radians(lows[2]), radians(highs[2])
    if end - start > 2 * pi:
        start, end = 0.0, 2 * pi
    pieces = []
    for a, b in slices(start, end, _WIDEST_SLICE):
        sines = sine_range(a, b)
        least, greatest = sorted(map(abs, sines))
        if sines[0] <= 0 <= sines[1]:
            least = 0.0
        slant = _slant(lows[0], highs[1], least), _slant(highs[0], lows[1], greatest)
        double = sine_range(2 * a, 2 * b)
        pieces.append(plus(times(throw, sines), times(slant, (double[0] / 2, double[1] / 2))))
    whole = min(low for low, _ in pieces), max(high for _, high in pieces)
    return times(turning, whole)


def _slant(stroke: float, rod_length: float, sine: float) -> float:
    """The rod's part in piston speed, `r^2 / sqrt(L^2 - (r sin a)^2)`; rises in r and |sine|."""
    r, rod = _throw_and_rod(stroke, rod_length)
    return r**2 / sqrt(rod**2 - (r * sine) ** 2)


@calculation(
    stroke="mm ~ 10..300",
    rod_length="mm ~ 20..800",
    crank_angle="deg ~ -1080..1080",
    speed="rpm ~ 0..20000",
    gives="m/s",
    bounds=_velocity_bounds,
)
def piston_velocity(stroke: float, rod_length: float, crank_angle: float, speed: float) -> float:
    """Speed of the piston at a crank angle, positive on its way down.

    Parameters
    ----------
    stroke : float
        Stroke, twice the throw r, [mm]
    rod_length : float
        Rod length between centres L, [mm]
    crank_angle : float
        Crank angle a past top dead centre, [deg]
    speed : float
        Crankshaft speed, [rpm]

    Returns
    -------
    velocity : float
        Piston velocity, [m/s]

    Notes
    -----
    Exact derivative of `piston_position`: `w r (sin a + r sin a cos a / sqrt(L^2 - (r sin a)^2))`,
    at steady crank speed. Bounds by interval arithmetic on slices of 3 degrees: sound, and a
    little wider than the truth.

    Examples
    --------
    Throw 0.3 m, rod 1.5 m, 180 rpm, 40 degrees (Khurmi & Gupta, Theory of Machines, Ex 15.4,
    prints 4.19 m/s from the two-term series):

    >>> round(piston_velocity(600, 1500, 40, 180), 3)
    4.196
    """
    r, rod = _throw_and_rod(stroke, rod_length)
    angle = radians(crank_angle)
    slant = _slant(stroke, rod, sin(angle))
    return speed * pi / 30 * (r * sin(angle) + slant * sin(angle) * cos(angle)) / 1000


def piston_acceleration(
    stroke: float, rod_length: float, crank_angle: float, speed: float
) -> float:
    """Acceleration of the piston at a crank angle, positive away from the head, [m/s2].

    `stroke` and `rod_length` in mm, `crank_angle` in degrees past top dead centre, `speed` in
    rpm. Exact second derivative of `piston_position` at steady crank speed; textbooks print the
    two-term series `w^2 r (cos a + r/L cos 2a)`, which is the start of it.

    >>> round(piston_acceleration(600, 1500, 40, 180), 2)
    85.6
    """
    r, rod = _throw_and_rod(stroke, rod_length)
    angle, share = radians(crank_angle), r / rod
    turning = speed * pi / 30
    bend: float = (share * cos(2 * angle) + share**3 * sin(angle) ** 4) / (
        1 - (share * sin(angle)) ** 2
    ) ** 1.5
    return turning**2 * r * (cos(angle) + bend) / 1000


def fastest_angle(stroke: float, rod_length: float) -> float:
    """Crank angle past top dead centre at which the piston is fastest, [deg].

    `stroke` and `rod_length` in mm. Found by golden section in the first quarter turn, where
    the speed has one peak: later, both terms of it fall. The angle is good to 1e-5 degrees.

    >>> round(fastest_angle(600, 1000), 1)
    74.5
    """
    low, high = 0.0, 90.0
    for _ in range(40):
        step = _GOLDEN * (high - low)
        first, second = high - step, low + step
        if _pace(stroke, rod_length, first) < _pace(stroke, rod_length, second):
            low = first
        else:
            high = second
    return (low + high) / 2


def _pace(stroke: float, rod_length: float, crank_angle: float) -> float:
    return piston_velocity(stroke, rod_length, crank_angle, 1.0)


@calculation(stroke="mm + 10..300", rod_length="mm - 20..800", speed="rpm + 0..20000", gives="m/s")
def greatest_piston_speed(stroke: float, rod_length: float, speed: float) -> float:
    """Greatest speed of the piston within a turn of the crank.

    Parameters
    ----------
    stroke : float
        Stroke, [mm]
    rod_length : float
        Rod length between centres, [mm]
    speed : float
        Crankshaft speed, [rpm]

    Returns
    -------
    greatest : float
        Greatest piston speed, [m/s]

    Notes
    -----
    Exact motion; the peak of `piston_velocity`, which lies before 90 degrees. There both of its
    terms rise with the throw and with a shorter rod, so the peak does too.

    Examples
    --------
    Throw 0.3 m, rod 1 m, 200 rpm (Khurmi & Gupta, Theory of Machines, Ex 15.3, prints 6.54 m/s
    from the two-term series):

    >>> round(greatest_piston_speed(600, 1000, 200), 2)
    6.56
    """
    return piston_velocity(stroke, rod_length, fastest_angle(stroke, rod_length), speed)
