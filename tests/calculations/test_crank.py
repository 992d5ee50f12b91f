"""Piston motion against printed cases, its own derivatives and a drawn mechanism."""

from math import cos, hypot, pi, radians, sin

import pytest

from fitcheck.calculations.crank import (
    offset_position,
    piston_position,
)

# Khurmi & Gupta, Theory of Machines, Ex 15.4 p 528: throw 0.3 m, rod 1.5 m, 180 rpm, 40 degrees
# from the inner dead centre: 4.19 m/s and 85.36 m/s2; Ex 15.3 p 527: rod 1.0 m, 200 rpm: greatest
# speed 6.54 m/s at 75 degrees. Both by the two-term series (figures from a companion's output).


def two_term_velocity(throw: float, rod: float, angle: float, speed: float) -> float:
    turning, a = speed * pi / 30, radians(angle)
    return turning * throw * (sin(a) + sin(2 * a) / (2 * rod / throw))


def two_term_acceleration(throw: float, rod: float, angle: float, speed: float) -> float:
    turning, a = speed * pi / 30, radians(angle)
    return turning**2 * throw * (cos(a) + cos(2 * a) / (rod / throw))


def test_two_term_series_prints_khurmi_and_gupta():
    assert round(two_term_velocity(0.3, 1.5, 40, 180), 2) == 4.19
    assert round(two_term_acceleration(0.3, 1.5, 40, 180), 2) == 85.36
    assert round(two_term_velocity(0.3, 1.0, 75, 200), 2) == 6.54


@pytest.mark.parametrize("offset", [0.0, 1.5, -2.0])
def test_position_keeps_the_rod_at_its_length(offset):
    """The drawn mechanism: crankpin and piston pin stay a rod apart at every angle."""
    stroke, rod = 86.0, 140.0
    highest = (rod + stroke / 2) ** 2 - offset**2
    for angle in range(0, 360, 5):
        pin = highest**0.5 - offset_position(stroke, rod, angle, offset)
        crankpin = (stroke / 2 * sin(radians(angle)), stroke / 2 * cos(radians(angle)))
        assert hypot(crankpin[0] - offset, pin - crankpin[1]) == pytest.approx(rod)


def test_offset_position_is_never_above_its_highest_point():
    fine = [offset_position(86, 140, angle / 100, 1.5) for angle in range(-1000, 1000)]
    assert min(fine) == pytest.approx(0, abs=1e-6)
    assert min(fine) >= 0


def test_dead_centres():
    assert piston_position(86, 140, 0) == 0
    assert piston_position(86, 140, 180) == pytest.approx(86)
    assert piston_position(86, 140, 1e-6) == pytest.approx(
        (1 + 43 / 140) * 43 * radians(1e-6) ** 2 / 2
    )
