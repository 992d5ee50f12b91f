"""Piston motion against printed cases, its own derivatives and a drawn mechanism."""

from math import cos, hypot, pi, radians, sin

import numpy as np
import pytest

from fitcheck.calculations import CALCULATIONS
from fitcheck.calculations.crank import (
    fastest_angle,
    greatest_piston_speed,
    offset_position,
    piston_acceleration,
    piston_position,
    piston_velocity,
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


def test_exact_motion_stands_where_khurmi_and_gupta_do():
    assert round(piston_velocity(600, 1500, 40, 180), 3) == 4.196
    assert round(piston_acceleration(600, 1500, 40, 180), 2) == 85.60
    assert greatest_piston_speed(600, 1000, 200) == pytest.approx(6.54, rel=0.004)
    assert fastest_angle(600, 1000) == pytest.approx(75, abs=0.5)


def test_long_rod_makes_the_two_term_series_exact():
    for angle in range(0, 360, 7):
        assert piston_velocity(80, 4000, angle, 6000) == pytest.approx(
            two_term_velocity(0.04, 4, angle, 6000), abs=1e-5
        )
        assert piston_acceleration(80, 4000, angle, 6000) == pytest.approx(
            two_term_acceleration(0.04, 4, angle, 6000), abs=0.02
        )


@pytest.mark.parametrize(("stroke", "rod"), [(45, 80), (88.4, 144.8), (114, 170)])
def test_velocity_and_acceleration_are_the_derivatives(stroke, rod):
    per_degree = 6 * 5000  # degrees a second at 5000 rpm
    for angle in range(-355, 360, 11):
        step = 0.01
        rise = piston_position(stroke, rod, angle + step) - piston_position(
            stroke, rod, angle - step
        )
        assert piston_velocity(stroke, rod, angle, 5000) == pytest.approx(
            rise / (2 * step) * per_degree / 1000, rel=1e-6, abs=1e-6
        )
        gain = piston_velocity(stroke, rod, angle + step, 5000) - piston_velocity(
            stroke, rod, angle - step, 5000
        )
        assert piston_acceleration(stroke, rod, angle, 5000) == pytest.approx(
            gain / (2 * step) * per_degree, rel=1e-6, abs=1e-3
        )


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


@pytest.mark.parametrize(("stroke", "rod"), [(45, 80), (88.4, 144.8), (114, 140), (100, 30)])
def test_greatest_speed_against_a_dense_sweep(stroke, rod):
    sweep = np.arange(0, 360, 0.02)
    swept = max(piston_velocity(stroke, rod, angle, 6000) for angle in sweep)
    assert greatest_piston_speed(stroke, rod, 6000) == pytest.approx(swept, rel=1e-6)
    assert greatest_piston_speed(stroke, rod, 6000) >= swept * (1 - 1e-12)


def test_velocity_bounds_are_not_much_wider_than_the_truth():
    calculation = CALCULATIONS["piston_velocity"]
    for start, end in ((10, 14), (60, 90), (170, 200), (0, 360)):
        swept = [
            piston_velocity(88.4, 144.8, start + (end - start) * i / 500, 6000) for i in range(501)
        ]
        box = [88.4, 144.8, start, 100.0], [88.4, 144.8, end, 100.0]  # 6000 rpm is 100 Hz
        greatest = greatest_piston_speed(88.4, 144.8, 6000)
        assert calculation.lower(*box) / 1000 == pytest.approx(min(swept), abs=0.06 * greatest)
        assert calculation.upper(*box) / 1000 == pytest.approx(max(swept), abs=0.06 * greatest)
