"""Shrink fits and hot clearances against printed cases, data of a materials book, a boundary solver."""

from itertools import product

import numpy as np
import pytest

from fitcheck.calculations import CALCULATIONS
from fitcheck.calculations.fits import (
    assembly_temperature_difference,
    clearance_hot,
    interference_hot,
    interference_pressure,
)
from tests.calculations.printed import agrees

# Callister, Materials Science and Engineering, Table B.6, um/(m K)
GREY_IRON, ALUMINIUM_356, BRONZE_C93200, STAINLESS_304 = 11.4, 21.5, 18.0, 17.2


def test_compound_cylinder_of_boresi():
    # Boresi & Schmidt, Advanced Mechanics of Materials, Ex 11.3 p 398: radii 10, 25, 50 mm,
    # 0.072 mm on the radius, 200 GPa, 0.29: 188.97 MPa (companion's output, rounded on the way)
    pressure = interference_pressure(2 * 0.072, 50, 100, 20, 200, 0.29, 200, 0.29)
    assert pressure == pytest.approx(188.97, abs=0.1)


def test_compound_cylinder_of_bhandari():
    # Bhandari, Design of Machine Elements, Ex 22.6: tubes 20/40/60 mm, 207 GPa, jacket sized for a
    # hoop stress of 100 MPa at its bore: bore 39.968289 mm (companion's output)
    hoop = (60**2 + 40**2) / (60**2 - 40**2)
    unit = interference_pressure(0.01, 40, 60, 20, 207, 0.3, 207, 0.3) / 0.01
    assert agrees(40 - 100 / hoop / unit, "39.968289")


def _two_rings(interference, diameters, housing, insert):
    """Lame's constants of both rings from their boundary conditions, u = C r + D / r."""
    a, b, c = (diameter / 2 for diameter in diameters)

    def radial_stress(radius, modulus, poisson):
        return np.array([modulus / (1 - poisson), -modulus / (1 + poisson) / radius**2])

    none = np.zeros(2)
    rows = [
        np.concatenate([radial_stress(a, *insert), none]),
        np.concatenate([none, radial_stress(c, *housing)]),
        np.concatenate([radial_stress(b, *insert), -radial_stress(b, *housing)]),
        np.array([-b, -1 / b, b, 1 / b]),
    ]
    found = np.linalg.solve(np.array(rows), [0, 0, 0, interference / 2])
    return -float(radial_stress(b, *insert) @ found[:2])


@pytest.mark.parametrize("inside", [8.6, 30.0])
@pytest.mark.parametrize("outside", [48.0, 300.0])
def test_two_materials_against_the_boundary_problem(inside, outside):
    # iron insert in aluminium, solved as a linear system instead of by the closed form
    pressure = interference_pressure(0.1, 38, outside, inside, 72, 0.33, 110, 0.26)
    expected = _two_rings(0.1, (inside, 38, outside), (72e3, 0.33), (110e3, 0.26))
    assert pressure == pytest.approx(expected, rel=1e-9)


def test_no_pressure_without_interference_or_wall():
    assert interference_pressure(-0.02, 40, 60, 20, 70, 0.3, 110, 0.3) == 0
    assert interference_pressure(0.1, 40, 40, 20, 70, 0.3, 110, 0.3) == 0
    assert interference_pressure(0.1, 40, 60, 40, 70, 0.3, 110, 0.3) == 0


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


def test_heating_opens_what_it_must():
    rise = assembly_temperature_difference(0.1, 0.04, 40, ALUMINIUM_356)
    assert interference_hot(0.1, 40, ALUMINIUM_356, rise, GREY_IRON, 0) == pytest.approx(-0.04)


def _scan(calculation, lows, highs, count):
    """Least and greatest value over a box: all corners, and a dense row of diameters."""
    ends = [sorted({low, high}) for low, high in zip(lows, highs, strict=True)]
    ends[1] = [float(d) for d in np.linspace(lows[1], highs[1], count)]
    values = [calculation.function(*point) for point in product(*ends)]
    return min(values), max(values)


@pytest.mark.parametrize(
    "diameters,inner,housing_outside",
    [
        ((20.5, 150.0), 20.0, 400.0),
        ((60.0, 150.0), 30.0, 160.0),
        ((38.0, 38.4), 32.0, 60.0),
        ((35.0, 35.0), 30.0, 50.0),
    ],
)
def test_pressure_bounds_hold_a_dense_scan_and_hug_it(diameters, inner, housing_outside):
    calculation = CALCULATIONS["interference_pressure"]
    lows = (0.05, diameters[0], housing_outside, inner, 300, 0.25, 60, 0.20)
    highs = (0.06, diameters[1], housing_outside + 5, inner + 0.2, 310, 0.35, 70, 0.33)
    least, most = _scan(calculation, lows, highs, 4001 if diameters[0] < diameters[1] else 2)
    low, high = calculation.bounds(lows, highs)
    assert low <= least * (1 + 1e-12)
    assert high >= most * (1 - 1e-12)
    assert low == pytest.approx(least, rel=0.08)
    assert high == pytest.approx(most, rel=0.08)


@pytest.mark.parametrize("name", ["interference_hot", "clearance_hot"])
@pytest.mark.parametrize("rises", [((100, 150), (200, 260)), ((300, 400), (90, 100))])
def test_hot_bounds_are_those_of_the_corners(name, rises):
    # linear in every argument with the others held, so the extremes lie at corners
    calculation = CALCULATIONS[name]
    lows = (0.02, 30, 17, rises[0][0], 11, rises[1][0])
    highs = (0.05, 42, 22, rises[0][1], 13, rises[1][1])
    assert calculation.bounds(lows, highs) == pytest.approx(_scan(calculation, lows, highs, 2))


@pytest.mark.parametrize("poisson", [0.0, 0.2, 0.33])
def test_pressure_bound_finds_the_stiffest_diameter(poisson):
    # in a rigid housing only the insert gives way; its stiffest diameter lies inside the box
    calculation = CALCULATIONS["interference_pressure"]
    lows = (0.05, 25.0, 1e6, 20.0, 1e12, 0.3, 60, poisson)
    highs = (0.05, 150.0, 1e6, 20.0, 1e12, 0.3, 60, poisson)
    _, most = _scan(calculation, lows, highs, 40_001)
    high = calculation.bounds(lows, highs)[1]
    assert high >= most * (1 - 1e-13)
    assert high == pytest.approx(most, rel=1e-7)
