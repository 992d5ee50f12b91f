"""Lobes known exactly, as material for the tests of timing, clearance and contact."""

from __future__ import annotations

from math import cos, radians, sin

from fitcheck.calculations.lift_curve import LiftCurve
from tests.calculations.motion_law import MOTION_LAWS, MotionLaw


def law_lobe(law: MotionLaw, lift: float, flank: float) -> LiftCurve:
    """A symmetric lobe, [mm], whose flanks of `flank` cam degrees follow a law."""

    def lift_at(angle: float) -> float:
        share = 1 - abs(angle) / 2 / flank
        return lift * law.rise(share) if share > 0 else 0.0

    return LiftCurve(
        lift_at, -2 * flank, 2 * flank, tuple(2 * flank * i / 20 for i in range(-20, 21))
    )


LAW_LOBES = {
    (name, lift, flank): law_lobe(law, lift, flank)
    for name, law in MOTION_LAWS.items()
    for lift, flank in ((6, 60), (8, 65), (8, 72), (9, 75))
}


def quick_flank(share: float) -> MotionLaw:
    """Constant acceleration over a share of the flank, constant deceleration over the rest."""

    def rise(x: float) -> float:
        return x * x / share if x < share else 1 - (1 - x) ** 2 / (1 - share)

    return MotionLaw("quick", rise, 2, 2 / share)


# Bevan, Theory of Machines, Ex 5 p 300: base radius 1.125 in, lift 0.5, nose radius 0.125, half
# angle of action 55 degrees, flat follower, arcs for flank and nose. From the drawing: the nose
# centre stands d off the cam's axis, the flank's radius closes the triangle.
BASE, LIFT, NOSE, HALF = 1.125, 0.5, 0.125, 55.0
NOSE_CENTRE = BASE + LIFT - NOSE
COSINE = 0.5736  # of 55 degrees, to the four figures that the printed 4.477 was worked with
FLANK = BASE + (NOSE_CENTRE**2 - (BASE - NOSE) ** 2) / (2 * (BASE - NOSE - NOSE_CENTRE * COSINE))


def bevan_lift(turned: float) -> float:
    """Follower lift in inches, `turned` cam degrees after it starts to rise."""
    flank = (FLANK - BASE) * (1 - cos(radians(turned)))
    nose = NOSE_CENTRE * cos(radians(HALF - turned)) + NOSE - BASE
    flank_slope = (FLANK - BASE) * sin(radians(turned))
    nose_slope = NOSE_CENTRE * sin(radians(HALF - turned))
    return flank if flank_slope < nose_slope else nose


def _bevan_at(angle: float) -> float:
    turned = HALF - abs(angle) / 2
    return 25.4 * bevan_lift(turned) if turned > 0 else 0.0


BEVAN = LiftCurve(_bevan_at, -2 * HALF, 2 * HALF, tuple(2 * HALF * i / 20 for i in range(-20, 21)))


def duration(curve: LiftCurve, lift: float) -> float:
    """Crank degrees over which a lobe lifts at least `lift`, [mm], by bisection of its flanks."""
    top = max(curve.knots, key=curve.lift)

    def crossing(low: float, high: float) -> float:
        """Where it passes the lift, from an angle with less to one with more."""
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if curve.lift(middle) < lift else (low, middle)
        return (low + high) / 2

    return crossing(curve.closes, top) - crossing(curve.opens, top)


def velocity(curve: LiftCurve, angle: float, step: float = 0.01) -> float:
    """Slope of a lobe at a crank angle, by central difference, [mm per cam degree]."""
    return (curve.lift(angle + step) - curve.lift(angle - step)) / step
