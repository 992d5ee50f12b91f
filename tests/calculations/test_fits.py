"""Shrink fits and hot clearances against printed cases, data of a materials book, a boundary solver."""

from itertools import product

import numpy as np
import pytest

from fitcheck.calculations import CALCULATIONS
from fitcheck.calculations.fits import (
    clearance_hot,
    interference_hot,
)
from tests.calculations.printed import agrees

# Callister, Materials Science and Engineering, Table B.6, um/(m K)
GREY_IRON, ALUMINIUM_356, BRONZE_C93200, STAINLESS_304 = 11.4, 21.5, 18.0, 17.2


def test_interference_lost_by_iron_in_aluminium():
    # 40 mm, both 175 K hotter: 40 x (21.5 - 11.4) x 175 = 70.7 um (own arithmetic on the data of
    # Callister)
    left = interference_hot(0.1, 40, ALUMINIUM_356, 175, GREY_IRON, 175)
    assert agrees(1000 * (0.1 - left), "70.7")


def test_hot_fit_is_measured_on_the_grown_parts():
    # each part grown apart, then subtracted
    stem, guide = 8.0 * (1 + STAINLESS_304 * 400 / 1e6), 8.05 * (1 + BRONZE_C93200 * 150 / 1e6)
    expected = guide - stem
    found = clearance_hot(0.05, 8.0, STAINLESS_304, 400, BRONZE_C93200, 150)
    assert found == pytest.approx(expected, abs=2e-4)


def _scan(calculation, lows, highs, count):
    """Least and greatest value over a box: all corners, and a dense row of diameters."""
    ends = [sorted({low, high}) for low, high in zip(lows, highs, strict=True)]
    ends[1] = [float(d) for d in np.linspace(lows[1], highs[1], count)]
    values = [calculation.function(*point) for point in product(*ends)]
    return min(values), max(values)


@pytest.mark.parametrize("name", ["interference_hot", "clearance_hot"])
@pytest.mark.parametrize("rises", [((100, 150), (200, 260)), ((300, 400), (90, 100))])
def test_hot_bounds_are_those_of_the_corners(name, rises):
    # linear in every argument with the others held, so the extremes lie at corners
    calculation = CALCULATIONS[name]
    lows = (0.02, 30, 17, rises[0][0], 11, rises[1][0])
    highs = (0.05, 42, 22, rises[0][1], 13, rises[1][1])
    assert calculation.bounds(lows, highs) == pytest.approx(_scan(calculation, lows, highs, 2))
