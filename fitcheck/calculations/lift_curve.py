"""Lift of a lobe against crank angle, from a seller's timing figures."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence

from fitcheck.source import frozen

# Between stated points the lift to the power 1/SHAPE runs straight against the square of the
# angle from full lift: y = H (1 - c a^2)^SHAPE on the nose. Chosen so that timing points taken
# from textbook motion laws give those laws back best; see the tests for how well.
SHAPE = 1.6
# Below the smallest stated lift the lobe is taken to run out in this many crank degrees. The
# figure is a guess, of a size that ramps have; at such lifts it does not decide a clearance.
RAMP = 15.0

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
