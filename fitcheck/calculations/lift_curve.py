"""Lift of a lobe against crank angle, from a seller's timing figures or from a measured table."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from itertools import pairwise

from fitcheck.source import frozen

# Between stated points the lift to the power 1/SHAPE runs straight against the square of the
# angle from full lift: y = H (1 - c a^2)^SHAPE on the nose. Chosen so that timing points taken
# from textbook motion laws give those laws back best; see the tests for how well.
SHAPE = 1.6
# Below the smallest stated lift the lobe is taken to run out in this many crank degrees. The
# figure is a guess, of a size that ramps have; at such lifts it does not decide a clearance.
RAMP = 15.0
CENTRE_DROP = 1.27  # mm below full lift where the two flanks are compared: 0.050 in, practice

Timing = Sequence[tuple[float, float]]


@frozen
class LiftCurve:
    """Lobe lift, [mm], against crank angle, [deg], from `opens` to `closes`; zero outside.

    `knots` are the angles at which the curve is made of pieces.
    """

    lift: Callable[[float], float]
    opens: float
    closes: float
    knots: tuple[float, ...]

    @classmethod
    def from_timing(cls, lobe_lift: float, timing: Timing) -> LiftCurve:
        """The curve through (duration in crank degrees, lobe lift in mm) points, most lift first.

        Symmetric about full lift, which is at angle 0; continuous, with its slope stepping at
        the stated points. Raising the lobe lift, a duration or the lift that it is stated at
        never lowers the curve anywhere, so bounds of its figures are sound. Points that
        contradict (a longer duration at more lift, more lift than the lobe has) are taken as
        far as the points before them allow: knots never come back inward nor rise again.

        >>> curve = LiftCurve.from_timing(8.0, [(220, 1.27), (280, 0.15)])
        >>> [round(curve.lift(angle), 3) for angle in (0, -110, 140, 155)]
        [8.0, 1.27, 0.15, 0.0]
        """
        squares, roots, angle, lift = [0.0], [lobe_lift ** (1 / SHAPE)], 0.0, lobe_lift
        for duration, stated in timing:
            angle, lift = max(angle, duration / 2), min(lift, stated)
            squares.append(angle**2)
            roots.append(lift ** (1 / SHAPE))
        last, seat = angle, lift

        def lift_at(angle: float) -> float:
            square = angle * angle
            at = bisect_left(squares, square)
            if at == len(squares):
                return max(0.0, seat * (1 - (abs(angle) - last) / RAMP))
            if at == 0:
                return lobe_lift
            before, width = squares[at - 1], squares[at] - squares[at - 1]
            part = (square - before) / width
            root: float = roots[at - 1] + (roots[at] - roots[at - 1]) * part
            lift: float = root**SHAPE
            return lift

        halves = [square**0.5 for square in squares]
        knots = sorted({sign * half for half in (*halves, last + RAMP) for sign in (-1, 1)})
        return cls(lift_at, -last - RAMP, last + RAMP, tuple(knots))

    @classmethod
    def from_table(cls, angles: Sequence[float], lifts: Sequence[float]) -> LiftCurve:
        """The curve through a measured table of crank angles, rising, and lobe lifts in mm.

        Between points a cubic that never overshoots them (PCHIP: Fritsch and Butland, SIAM J.
        Sci. Stat. Comput. 5 (1984) 300), as scipy has it. The table's own zero of angle stays.

        >>> table = LiftCurve.from_table([-60, -40, -20, 0, 20, 40, 60], [0, 1, 3, 4, 3, 1, 0])
        >>> table.lift(-20), table.lift(75)
        (3.0, 0.0)
        """
        from scipy.interpolate import PchipInterpolator  # noqa: PLC0415

        if len(angles) != len(lifts) or len(angles) < 3:
            raise ValueError("a lift table needs as many lifts as angles, three at least")
        if any(b <= a for a, b in pairwise(angles)):
            raise ValueError("the angles of a lift table must rise")
        if min(lifts) < 0:
            raise ValueError("a lift table has no lift below zero")
        spline = PchipInterpolator(angles, lifts)
        first, last = float(angles[0]), float(angles[-1])

        def lift_at(angle: float) -> float:
            return float(spline(angle)) if first <= angle <= last else 0.0

        return cls(lift_at, first, last, tuple(map(float, angles)))

    def crossing(self, lift: float, *, opening: bool) -> float:
        """Crank angle at which the flank passes `lift`, by bisection.

        >>> curve = LiftCurve.from_timing(8.0, [(220, 1.27), (280, 0.15)])
        >>> round(curve.crossing(1.27, opening=False), 6)
        110.0
        """
        top = max(self.knots, key=self.lift)
        if not 0 <= lift <= self.lift(top):
            raise ValueError(f"the lobe has no lift of {lift} mm")
        low, high = (self.opens, top) if opening else (top, self.closes)
        for _ in range(60):
            middle = (low + high) / 2
            if (self.lift(middle) < lift) == opening:
                low = middle
            else:
                high = middle
        return (low + high) / 2

    def duration(self, lift: float) -> float:
        """Crank degrees over which the lobe lifts at least `lift`, [mm]."""
        return self.crossing(lift, opening=False) - self.crossing(lift, opening=True)

    def centre(self) -> float:
        """Lobe centre: half way between the flanks 1.27 mm (0.050 in) below full lift.

        >>> LiftCurve.from_timing(8.0, [(220, 1.27)]).centre()
        0.0
        """
        lift = max(map(self.lift, self.knots)) - CENTRE_DROP
        return (self.crossing(lift, opening=True) + self.crossing(lift, opening=False)) / 2

    def velocity(self, angle: float, step: float = 0.01) -> float:
        """Slope of the curve at a crank angle, by central difference, [mm per cam degree]."""
        return (self.lift(angle + step) - self.lift(angle - step)) / step
