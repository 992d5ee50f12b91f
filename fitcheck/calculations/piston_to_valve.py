"""How near valve and piston, pocket or bore come to each other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from math import acos, atan, cos, degrees, radians, sin, sqrt
from typing import Any

from fitcheck.calculations.bounds import Ends, Range
from fitcheck.calculations.crank import SHORTEST_ROD, piston_position
from fitcheck.calculations.lift_curve import LiftCurve, Timing
from fitcheck.calculations.registry import calculation
from fitcheck.source import frozen

_STEP = 2.0  # crank degrees between the places first looked at
_NEAR = 0.5  # mm: minima this close to the best are followed to their floor
_GOLDEN = (sqrt(5) - 1) / 2
_NARROWINGS = 20  # the floor is flat: its place to 0.0003 deg gives its value to far below 1e-6 mm
# The floor is found to far better than this; bounds are moved out by it to be sure.
_SEARCH_ERROR = 1e-6


@frozen
class ValveAndPiston:
    """One valve over its piston: a lift curve with all that places it on the crank.

    Lengths in mm, angles in degrees. `centreline` is where the curve's angle 0 stands, past top
    dead centre on overlap: positive for an intake lobe, negative for an exhaust lobe, 0 for a
    table measured from top dead centre. `clearance_at_tdc` is measured at top dead centre with
    the valve closed, square to the valve head. `valve_angle` is between valve and bore axis.
    """

    curve: LiftCurve
    centreline: float
    stroke: float
    rod_length: float
    clearance_at_tdc: float
    rocker_ratio: float = 1.0
    lash: float = 0.0
    valve_angle: float = 0.0

    def valve_lift(self, crank_angle: float) -> float:
        """Lift at the valve, `lobe lift x ratio - lash`, [mm]."""
        lobe = self.curve.lift(crank_angle - self.centreline)
        return max(0.0, lobe * self.rocker_ratio - self.lash)

    def clearance(self, crank_angle: float) -> float:
        """Clearance square to the valve head at a crank angle past top dead centre, [mm]."""
        below = piston_position(self.stroke, self.rod_length, crank_angle)
        away = below * cos(radians(self.valve_angle))
        return self.clearance_at_tdc + away - self.valve_lift(crank_angle)

    def least(self) -> tuple[float, float]:
        """The least clearance, [mm], and the crank angle at which it is met, [deg].

        Looked for while the valve is open; closed, it is least at top dead centre.
        """
        start = self.centreline + self.curve.opens
        end = self.centreline + self.curve.closes
        return self.least_between(start, end)

    def least_between(self, start: float, end: float) -> tuple[float, float]:
        """The least clearance from one crank angle to another or at top dead centre.

        Looked for where the piston is less than the full lift away: farther off, no lift makes
        up for what the piston has fallen since top dead centre.
        """
        knots = [self.centreline + knot for knot in self.curve.knots]
        near = self._fallen(max(map(self.valve_lift, knots)))
        start, end = max(start, -near), min(end, near)
        at_tdc = self.clearance(0.0), 0.0
        return min(at_tdc, _least(self.clearance, start, end, knots)) if start < end else at_tdc

    def _fallen(self, away: float) -> float:
        """Crank angle at which the piston is this far away, square to the valve head, [deg]."""
        fall = away / cos(radians(self.valve_angle))
        if fall >= self.stroke:
            return 180.0
        throw = self.stroke / 2
        rod = max(self.rod_length, SHORTEST_ROD * self.stroke)
        pin = throw + rod - fall
        cosine = (throw**2 + pin**2 - rod**2) / (2 * throw * pin)
        return degrees(acos(max(-1.0, min(1.0, cosine))))


def _least(
    clearance: Callable[[float], float], start: float, end: float, knots: list[float]
) -> tuple[float, float]:
    """Least value and its place: a coarse sweep, then golden section around each low place."""
    count = max(2, round((end - start) / _STEP))
    sweep = {start + (end - start) * i / count for i in range(count + 1)}
    places = sorted(sweep.union(knot for knot in knots if start < knot < end))
    values = [clearance(place) for place in places]
    best = min(zip(values, places, strict=True))
    follow = best[0] + _NEAR
    for i, value in enumerate(values):
        before, after = max(0, i - 1), min(len(values) - 1, i + 1)
        if value <= follow and value <= values[before] and value <= values[after]:
            best = min(best, _floor(clearance, places[before], places[after]))
    return best


def _floor(clearance: Callable[[float], float], low: float, high: float) -> tuple[float, float]:
    first, second = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_first, at_second = clearance(first), clearance(second)
    for _ in range(_NARROWINGS):
        if at_first < at_second:
            high, second, at_second = second, first, at_first
            first = high - _GOLDEN * (high - low)
            at_first = clearance(first)
        else:
            low, first, at_first = first, second, at_second
            second = low + _GOLDEN * (high - low)
            at_second = clearance(second)
    return min((at_first, first), (at_second, second))


@lru_cache(maxsize=1024)
def _least_past_tdc(timing: Timing, lobe_lift: float, centreline: float, *sizes: float) -> float:
    """The least clearance less what is left at top dead centre, which shifts all of it alike.

    It is asked again and again while other figures of a rule are varied.
    """
    stroke, rod_length, rocker_ratio, lash, valve_angle = sizes
    curve = LiftCurve.from_timing(lobe_lift, timing)
    valve = ValveAndPiston(
        curve, centreline, stroke, rod_length, 0.0, rocker_ratio, lash, valve_angle
    )
    return valve.least_between(0.0, centreline)[0]


_DIRECTIONS = (1, -1, -1, -1, 1, -1, -1, -1, -1, 1, 1, -1)


def _least_bounds(lows: Ends, highs: Ends) -> Range:
    ends = list(zip(lows, highs, _DIRECTIONS, strict=True))
    low = least_piston_to_valve(*(a if way > 0 else b for a, b, way in ends))
    high = least_piston_to_valve(*(b if way > 0 else a for a, b, way in ends))
    return low - _SEARCH_ERROR, high + _SEARCH_ERROR


@calculation(
    stroke="mm + 10..300",
    rod_length="mm - 20..800",
    lobe_lift="mm - 1..20",
    rocker_ratio="number - 0.5..3",
    lash="mm + 0..2",
    duration="deg - 80..360",
    duration_lift="mm - 0.1..6",
    advertised_duration="deg - 100..420",
    advertised_lift="mm - 0..2",
    centreline="deg + 30..180",
    clearance_at_tdc="mm + -20..80",
    valve_angle="deg - 0..60",
    gives="mm",
    bounds=_least_bounds,
)
def least_piston_to_valve(
    stroke: float,
    rod_length: float,
    lobe_lift: float,
    rocker_ratio: float,
    lash: float,
    duration: float,
    duration_lift: float,
    advertised_duration: float,
    advertised_lift: float,
    centreline: float,
    clearance_at_tdc: float,
    valve_angle: float,
) -> float:
    """Least axial clearance of a valve over its piston, estimated from a cam card.

    Parameters
    ----------
    stroke : float
        Stroke, [mm]
    rod_length : float
        Rod length between centres, [mm]
    lobe_lift : float
        Full lift of the lobe, [mm]
    rocker_ratio : float
        Rocker ratio; 1 where the lift is that of the valve already, [number]
    lash : float
        Valve lash, at the valve; 0 with hydraulic lifters, [mm]
    duration : float
        Duration at the larger stated lift (0.050 in or 1 mm), in crank degrees, [deg]
    duration_lift : float
        That lift at the lobe, [mm]
    advertised_duration : float
        Duration at the smaller stated lift, in crank degrees, [deg]
    advertised_lift : float
        That lift at the lobe, [mm]
    centreline : float
        Full lift from top dead centre: after it for intake, before it for exhaust, [deg]
    clearance_at_tdc : float
        Clearance at top dead centre with the valve closed, square to the valve head, [mm]
    valve_angle : float
        Angle between valve and bore axis, [deg]

    Returns
    -------
    clearance : float
        Least clearance; negative where they meet, [mm]

    Notes
    -----
    Exact piston motion with the estimated lift curve of `LiftCurve.from_timing`; cold and at
    rest, pocket floor parallel to the valve head. Over a flat crown a tilted valve keeps more.
    With lobes of seven textbook motion laws on a stroke of 88 mm, a ratio of 1.5 and centrelines
    of 100 to 112 degrees the estimate is 0.6 mm too small to 0.05 mm too large; where a flank
    accelerates over a quarter of its angle, up to 0.65 mm too large. So it tells whether to
    worry; it is always confirmed by measurement before the engine runs.

    Directions: the piston falls away faster with more stroke, a shorter rod and less tilt; the
    curve rises everywhere with each of its figures. Of two angles equally far from full lift the
    one nearer top dead centre decides, so the search runs from there to full lift, where a later
    centreline lowers the lift.

    Examples
    --------
    The least clearance is not at full lift (106 degrees) but near top dead centre:

    >>> card = (8.0, 1.5, 0.0, 224, 1.27, 280, 0.15)
    >>> round(least_piston_to_valve(88.4, 144.8, *card, 106, 5.5, 0), 2)
    2.39
    """
    timing = (duration, duration_lift), (advertised_duration, advertised_lift)
    sizes = (stroke, rod_length, rocker_ratio, lash, valve_angle)
    return clearance_at_tdc + _least_past_tdc(timing, lobe_lift, centreline, *sizes)


@calculation(distance="mm + -20..100", valve_angle="deg - 0..60", gives="mm")
def distance_square_to_valve(distance: float, valve_angle: float) -> float:
    """Distance square to the valve head from one told along the cylinder, `d cos b`.

    Parameters
    ----------
    distance : float
        Distance from the closed valve to the piston, along the cylinder, [mm]
    valve_angle : float
        Angle between valve and bore axis, [deg]

    Returns
    -------
    distance : float
        The same distance square to the valve head, [mm]

    Notes
    -----
    Geometry of a pocket floor parallel to the valve head. Where they overlap already (a negative
    distance) the overlap is kept as it is, which never understates it.

    Examples
    --------
    >>> round(distance_square_to_valve(10, 60), 6), distance_square_to_valve(-1, 60)
    (5.0, -1)
    """
    return distance * cos(radians(valve_angle)) if distance > 0 else distance


@calculation(
    pocket_diameter="mm + 10..150",
    head_diameter="mm - 10..120",
    offset="mm - 0..30",
    drop="mm - 0..60",
    valve_angle="deg - 0..60",
    gives="mm",
)
def pocket_radial_clearance(
    pocket_diameter: float, head_diameter: float, offset: float, drop: float, valve_angle: float
) -> float:
    """Radial clearance of a valve head in its piston pocket, `(Dp - Dv)/2 - e - x sin b`.

    Parameters
    ----------
    pocket_diameter : float
        Diameter of the valve pocket, [mm]
    head_diameter : float
        Diameter of the valve head, [mm]
    offset : float
        Distance between the axes of valve and pocket at top dead centre, [mm]
    drop : float
        How far below top dead centre the piston is when the head stands in the pocket, [mm]
    valve_angle : float
        Angle between valve and bore axis, [deg]

    Returns
    -------
    clearance : float
        Radial clearance; negative where they meet, [mm]

    Notes
    -----
    Geometry of a pocket with walls along the valve's axis. A piston that drops carries a tilted
    pocket sideways under the valve; that is added to the offset, as the worst case.

    Examples
    --------
    >>> round(pocket_radial_clearance(54, 51.3, 0.2, 1.5, 20), 2)
    0.64
    """
    sideways = drop * sin(radians(valve_angle))
    return (pocket_diameter - head_diameter) / 2 - offset - sideways


def _bore_bounds(lows: Ends, highs: Ends) -> Range:
    """Bounds over the tilt: reach into the wall is a sinusoid of it, highest where tan b = L/R."""
    bore, head, offset = zip(lows[:3], highs[:3], strict=True)
    lift, tilts = (lows[3], highs[3]), [lows[4], highs[4]]
    if lows[4] < 0 < highs[4]:
        tilts.append(0.0)
    outermost = degrees(atan(2 * lift[1] / head[1]))
    deepest = [*tilts, outermost] if lows[4] < outermost < highs[4] else tilts
    low = min(valve_to_bore(bore[0], head[1], offset[1], lift[b > 0], b) for b in deepest)
    high = max(valve_to_bore(bore[1], head[0], offset[0], lift[b < 0], b) for b in tilts)
    return low, high


def _bores_bounds(lows: Sequence[Any], highs: Sequence[Any]) -> tuple[Any, Any]:
    """The same of arrays: a tilt that the range does not hold stands at the nearer end of it."""
    import numpy as np  # noqa: PLC0415  for catalogs alone

    def clearance(bore: Any, head: Any, offset: Any, lift: Any, tilt: Any) -> Any:
        return bore / 2 - (offset + lift * np.sin(tilt) + head / 2 * np.cos(tilt))

    first, last = np.radians(lows[4]), np.radians(highs[4])
    tilts = [first, last, np.clip(0.0, first, last)]
    deepest = [*tilts, np.clip(np.arctan(2 * highs[3] / highs[1]), first, last)]
    out = [np.where(tilt > 0, highs[3], lows[3]) for tilt in deepest]
    least = [clearance(lows[0], highs[1], highs[2], *o) for o in zip(out, deepest, strict=True)]
    back = [np.where(tilt < 0, highs[3], lows[3]) for tilt in tilts]
    most = [clearance(highs[0], lows[1], lows[2], *o) for o in zip(back, tilts, strict=True)]
    return np.minimum.reduce(least), np.maximum.reduce(most)


@calculation(
    bore="mm + 20..250",
    head_diameter="mm - 10..120",
    offset="mm - 0..80",
    lift="mm ~ 0..30",
    valve_angle="deg ~ -45..45",
    gives="mm",
    bounds=_bore_bounds,
    arrays=_bores_bounds,
)
def valve_to_bore(
    bore: float, head_diameter: float, offset: float, lift: float, valve_angle: float
) -> float:
    """Clearance of a valve head to the cylinder wall, `B/2 - (e + L sin b + D/2 cos b)`.

    Parameters
    ----------
    bore : float
        Cylinder bore, [mm]
    head_diameter : float
        Diameter of the valve head, [mm]
    offset : float
        Distance of the closed head's centre from the bore's axis, [mm]
    lift : float
        Valve lift, [mm]
    valve_angle : float
        Angle between valve and bore axis, positive where the head moves outward, [deg]

    Returns
    -------
    clearance : float
        Distance from the head's edge to the wall; negative where they meet, [mm]

    Notes
    -----
    Geometry in the plane through both axes, where the valve tilts towards or from the wall and
    the nearest wall lies on the side of the offset.

    Examples
    --------
    >>> round(valve_to_bore(101.6, 51.3, 22.5, 12, -15), 2)
    6.63
    """
    tilt = radians(valve_angle)
    return bore / 2 - (offset + lift * sin(tilt) + head_diameter / 2 * cos(tilt))
