"""Milling and seat work against numbers from outside and against brute-force geometry."""

from math import cos, pi, radians, sin

import numpy as np
import pytest

from fitcheck.calculations.milling import (
    angle_milling_angle,
    angle_milling_cut,
    angle_milling_volume,
    flat_milling_cut,
    flat_milling_volume,
    intake_face_cut,
    manifold_floor_cut,
    top_cut_volume,
    unshrouding_volume,
    valve_sinking_volume,
)


def test_angle_milling_agrees_with_the_trade_magazine():
    # trade magazine (2003, web): cut = 0.0175 x width x degrees, four decimals as printed
    assert round(angle_milling_cut(1, 1), 4) == 0.0175
    for degree in (0.5, 1, 2):
        assert angle_milling_cut(150, degree) == pytest.approx(0.0175 * 150 * degree, rel=0.003)
        assert angle_milling_angle(150, angle_milling_cut(150, degree)) == pytest.approx(degree)


def _kidney():
    """Points 0.1 mm apart inside a chamber outline: two overlapping circles in a deck of 150."""
    y, x = np.meshgrid(np.arange(0.05, 150, 0.1), np.arange(0.05, 110, 0.1))
    inside = ((x - 45) ** 2 + (y - 70) ** 2 < 34**2) | ((x - 68) ** 2 + (y - 58) ** 2 < 25**2)
    return y[inside], 0.1 * 0.1


def test_wedge_over_any_outline_by_summing_columns():
    distance, cell = _kidney()
    area, centroid = distance.size * cell, distance.mean()
    columns = (distance * 1.8 / 150).sum() * cell / 1000
    assert angle_milling_volume(area / 100, 1.8, 150, centroid) == pytest.approx(columns)
    assert flat_milling_volume(area / 100, 0.4) == pytest.approx(distance.size * cell * 0.4 / 1000)
    assert flat_milling_cut(area / 100, flat_milling_volume(area / 100, 0.4)) == pytest.approx(0.4)


def test_a_wedge_is_half_of_the_flat_cut_where_the_chamber_is_in_the_middle():
    assert angle_milling_volume(50, 2, 160, 80) == pytest.approx(flat_milling_volume(50, 1))


def test_rings_and_sectors_by_summing_shells():
    radius = np.linspace(24, 27, 20001)
    middle, width = (radius[1:] + radius[:-1]) / 2, radius[1] - radius[0]
    shells = (2 * pi * middle * (27 - middle) * np.tan(radians(30))).sum() * width / 1000
    assert top_cut_volume(48, 54, 30) == pytest.approx(shells, rel=1e-6)
    assert top_cut_volume(54, 48, 30) == 0
    sector = (middle * radians(120) * 9).sum() * width / 1000
    assert unshrouding_volume(24, 3, 120, 9) == pytest.approx(sector, rel=1e-6)
    assert valve_sinking_volume(2 * 24, 3) == pytest.approx(pi * 24**2 * 3 / 1000)


# derived from plane geometry; the shop table's 1.23 and 1.71 at 90 and 10 degrees are from memory
TABLE = [
    (90, 0, 1.0000, 1.4142),
    (90, 5, 1.1001, 1.5498),
    (90, 10, 1.2328, 1.7170),
    (90, 15, 1.4142, 1.9319),
    (60, 0, 0.5774, 1.1547),
    (60, 10, 0.6527, 1.2856),
]


@pytest.mark.parametrize(("bank", "tilt", "face", "floor"), TABLE)
def test_intake_side_of_a_v_engine(bank, tilt, face, floor):
    assert round(intake_face_cut(1, bank, tilt), 4) == face
    assert round(manifold_floor_cut(1, bank, tilt), 4) == floor


@pytest.mark.parametrize(("bank", "tilt"), [(90, 10), (60, 0), (72, 7)])
def test_intake_side_by_moving_a_drawn_port(bank, tilt):
    """Draw one bank, lower its head, sink the manifold, cut its face: the ports must meet."""
    p, q, lowering = radians(bank / 2), radians(tilt), 0.76
    along_face = np.array([sin(p + q), cos(p + q)])  # outward and up
    off_face = np.array([-cos(p + q), sin(p + q)])  # out of the head, into the valley
    port = np.array([90.0, 140.0])
    lowered = port - lowering * np.array([sin(p), cos(p)])
    sunk = port - np.array([0, manifold_floor_cut(lowering, bank, tilt)])
    assert (sunk - lowered) @ along_face == pytest.approx(0, abs=1e-12)
    assert (lowered - sunk) @ off_face == pytest.approx(intake_face_cut(lowering, bank, tilt))
