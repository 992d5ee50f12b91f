"""Standard motion laws of a cam's flank, as textbooks give them.

A law tells which share of the lift is reached at a share of the flank's angle. Real lobes follow
laws of their own; these are the known cases that everything else here is held against.
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, pi, radians, sin, sqrt

from fitcheck.source import frozen


@frozen
class MotionLaw:
    """A law with its greatest slope and curvature over a flank of unit lift and angle."""

    name: str
    rise: Callable[[float], float]
    velocity_factor: float
    acceleration_factor: float

    def greatest_velocity(self, lift: float, angle: float, speed: float) -> float:
        """Greatest follower velocity, [m/s], of `lift` mm over `angle` cam degrees at cam rpm.

        >>> round(MOTION_LAWS["harmonic"].greatest_velocity(40, 60, 300), 3)
        1.885
        """
        return self.velocity_factor * lift / 1000 * (speed * pi / 30) / radians(angle)

    def greatest_acceleration(self, lift: float, angle: float, speed: float) -> float:
        """Greatest follower acceleration, [m/s2], of `lift` mm over `angle` cam degrees at rpm.

        40 mm harmonic in 60 degrees at 300 rpm (Sarkar, Theory of Machines, ch 9: 177.6 m/s2):

        >>> round(MOTION_LAWS["harmonic"].greatest_acceleration(40, 60, 300), 1)
        177.7
        """
        turning = (speed * pi / 30) / radians(angle)
        return self.acceleration_factor * lift / 1000 * turning**2


def _parabolic(x: float) -> float:
    return 2 * x * x if x < 0.5 else 1 - 2 * (1 - x) ** 2


def _harmonic(x: float) -> float:
    return (1 - cos(pi * x)) / 2


def _cycloidal(x: float) -> float:
    return x - sin(2 * pi * x) / (2 * pi)


def _polynomial_345(x: float) -> float:
    return x**3 * (10 - 15 * x + 6 * x * x)


def _polynomial_4567(x: float) -> float:
    return x**4 * (35 - 84 * x + 70 * x**2 - 20 * x**3)


_TRAPEZOID = 8 * pi / (2 + pi)
_SINE = 4 * pi**2 / (4 + pi)


def _first_eighth(x: float, peak: float) -> tuple[float, float]:
    """Lift and slope where the acceleration `peak sin 4 pi x` starts both modified laws."""
    lift = peak * (x / (4 * pi) - sin(4 * pi * x) / (16 * pi**2))
    return lift, peak * (1 - cos(4 * pi * x)) / (4 * pi)


def _modified_trapezoid(x: float) -> float:
    if x > 0.5:
        return 1 - _modified_trapezoid(1 - x)
    if x <= 1 / 8:
        return _first_eighth(x, _TRAPEZOID)[0]
    lift, slope = _first_eighth(1 / 8, _TRAPEZOID)
    held = min(x, 3 / 8) - 1 / 8
    lift += slope * held + _TRAPEZOID * held**2 / 2
    slope += _TRAPEZOID * held
    past = max(0.0, x - 3 / 8)
    return lift + slope * past + _TRAPEZOID * (1 - cos(4 * pi * past)) / (16 * pi**2)


def _modified_sine(x: float) -> float:
    if x > 0.5:
        return 1 - _modified_sine(1 - x)
    if x <= 1 / 8:
        return _first_eighth(x, _SINE)[0]
    lift, slope = _first_eighth(1 / 8, _SINE)
    past = x - 1 / 8
    return lift + slope * past + _SINE * 9 / (16 * pi**2) * (1 - cos(4 * pi / 3 * past))


MOTION_LAWS: dict[str, MotionLaw] = {
    law.name: law
    for law in (
        MotionLaw("parabolic", _parabolic, 2, 4),
        MotionLaw("harmonic", _harmonic, pi / 2, pi**2 / 2),
        MotionLaw("cycloidal", _cycloidal, 2, 2 * pi),
        MotionLaw("3-4-5", _polynomial_345, 15 / 8, 10 / sqrt(3)),
        MotionLaw("4-5-6-7", _polynomial_4567, 35 / 16, 84 * sqrt(5) / 25),
        MotionLaw("modified sine", _modified_sine, 4 * pi / (4 + pi), _SINE),
        MotionLaw("modified trapezoid", _modified_trapezoid, 2, _TRAPEZOID),
    )
}
