"""Milling and seat work against numbers from outside and against brute-force geometry."""

from math import cos, radians, sin

import numpy as np
import pytest

from fitcheck.calculations.milling import (
    flat_milling_volume,
    intake_face_cut,
    manifold_floor_cut,
)


def _kidney():
    """Points 0.1 mm apart inside a chamber outline: two overlapping circles in a deck of 150."""
    y, x = np.meshgrid(np.arange(0.05, 150, 0.1), np.arange(0.05, 110, 0.1))
    inside = ((x - 45) ** 2 + (y - 70) ** 2 < 34**2) | ((x - 68) ** 2 + (y - 58) ** 2 < 25**2)
    return y[inside], 0.1 * 0.1


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
    assert round(intake_face_cut(1, bank, 90 - tilt), 4) == face
    assert round(manifold_floor_cut(1, bank, 90 - tilt), 4) == floor


@pytest.mark.parametrize(("bank", "tilt"), [(90, 10), (60, 0), (72, 7)])
def test_intake_side_by_moving_a_drawn_port(bank, tilt):
    """Draw one bank, lower its head, sink the manifold, cut its face: the ports must meet."""
    p, q, lowering = radians(bank / 2), radians(tilt), 0.76
    along_face = np.array([sin(p + q), cos(p + q)])  # outward and up
    off_face = np.array([-cos(p + q), sin(p + q)])  # out of the head, into the valley
    port = np.array([90.0, 140.0])
    lowered = port - lowering * np.array([sin(p), cos(p)])
    sunk = port - np.array([0, manifold_floor_cut(lowering, bank, 90 - tilt)])
    assert (sunk - lowered) @ along_face == pytest.approx(0, abs=1e-12)
    assert (lowered - sunk) @ off_face == pytest.approx(intake_face_cut(lowering, bank, 90 - tilt))


def test_flat_cut_over_a_drawn_outline():
    # an outline drawn in cells of 0.5 mm: volume by summing columns
    cells = [
        (x, y) for x in range(160) for y in range(120) if (x - 80) ** 2 / 2 + (y - 60) ** 2 < 2500
    ]
    area = len(cells) * 0.25
    volume = sum(0.25 * 0.4 for _ in cells) / 1000
    assert flat_milling_volume(area / 100, 0.4) == pytest.approx(volume)
