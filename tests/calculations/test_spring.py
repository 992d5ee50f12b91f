"""Springs against textbook cases, and against solutions that share no formula with the module."""

from itertools import product
from math import tan

import pytest
from scipy.optimize import brentq

from fitcheck.calculations import CALCULATIONS
from fitcheck.calculations.spring import (
    active_coils_of_rate,
    solid_height,
    spring_rate,
)
from fitcheck.calculations.spring_stress import (
    spring_stress,
    spring_stress_by_travel,
    torsional_stress,
    wahl_factor,
)
from tests.calculations.printed import agrees

BHANDARI_G = 81.370


@pytest.mark.parametrize(
    "index,printed",
    [
        (5, "1.311"),
        (6, "1.253"),
        (7, "1.213"),
        (8, "1.184"),
        (7.5, "1.197"),
        (7.1, "1.210"),
        (7.2, "1.206"),
        (7.3, "1.203"),
    ],
)
def test_wahl_table_of_bhandari(index, printed):
    # Bhandari, Design of Machine Elements, ch 10, the factors of Ex 10.2 and 10.3 (companion's
    # output)
    assert agrees(wahl_factor(index), printed)


def test_design_of_bhandari_10_2():
    # Bhandari, Ex 10.2: C 5, 3500 N, 2500 N, 5 mm, 0.5 x 1050 MPa, 81 370 MPa: wire 11, coil 55,
    # 5 active, 7 in all, gap 0.5 mm: 179.014 N/mm, free length 99.55 mm (companion's output)
    assert spring_stress(3500, 11, 55) < 0.5 * 1050 < spring_stress(3500, 10, 50)
    rate = spring_rate(11, 55, 5, BHANDARI_G)
    assert agrees(rate, "179.014")
    assert agrees(solid_height(11, 7) + 3500 / rate + 6 * 0.5, "99.55")


def test_design_of_bhandari_10_1():
    # Bhandari, Ex 10.1: C 6, 1250 N, 0.5 x 1090 MPa: wire at least 6.625083, taken 7; coil 42,
    # 8 active, 10 in all, gap 1 mm: free length 109.337611 (companion's output, with K 1.2525)
    assert torsional_stress(1250, 6.625083, 6 * 6.625083, wahl_factor(6)) == pytest.approx(
        0.5 * 1090, rel=1e-6
    )
    free = solid_height(7, 10) + 1250 / spring_rate(7, 42, 8, BHANDARI_G) + 9 * 1
    assert agrees(free, "109.337611")


@pytest.mark.parametrize(
    "rate,wire,coil,turns,taken,actual",
    [
        (75, 21, 150, "7.814775", 8, None),  # Ex 10.3
        (15, 7, 42, "21.974923", 22, "14.982902"),  # Ex 10.5
        (20, 5, 40, "4.966431", 5, "19.865723"),  # Ex 10.7
    ],
)
def test_turns_and_rates_of_bhandari(rate, wire, coil, turns, taken, actual):
    # Bhandari, Design of Machine Elements, Ex 10.3, 10.5, 10.7 (companion's output)
    assert agrees(active_coils_of_rate(wire, coil, rate, BHANDARI_G), turns)
    if actual:
        assert agrees(spring_rate(wire, coil, taken, BHANDARI_G), actual)


def test_free_length_of_bhandari_10_7():
    # Bhandari, Ex 10.7: 300 N on wire 5, coil 40, 5 active, 7 in all, gap 1 mm: 56.101389
    free = solid_height(5, 7) + 300 / spring_rate(5, 40, 5, BHANDARI_G) + 6 * 1
    assert agrees(free, "56.101389")


@pytest.mark.parametrize("share,within", [(0.1, 1e-3), (0.3, 3e-3)])
def test_a_third_of_the_spring_moves_with_the_valve(share, within):
    # exact frequency of a heavy spring under a mass: b tan b = spring mass over mass
    exact = brentq(lambda b: b * tan(b) - share, 1e-6, 1.5)
    with_a_third = (share / (1 + share / 3)) ** 0.5
    assert with_a_third == pytest.approx(exact, rel=within)


def test_stress_goes_on_below_an_index_of_two_without_a_pole():
    assert spring_stress(100, 6, 6) == pytest.approx(spring_stress(100, 6, 12))
    assert spring_stress(100, 6, 12) < spring_stress(100, 6, 12.1)


def _corners(calculation, lows, highs):
    values = [calculation.function(*point) for point in product(*zip(lows, highs, strict=True))]
    return min(values), max(values)


@pytest.mark.parametrize(
    "name,lows,highs",
    [
        ("spring_rate_from_loads", (400, 900, 8), (450, 950, 12)),
        ("spring_rate_from_loads", (900, 400, 8), (950, 450, 12)),
        ("spring_rate_from_loads", (400, 420, 8), (450, 460, 12)),
    ],
)
def test_bounds_are_those_of_the_corners(name, lows, highs):
    # monotone or linear in each argument with the others held: the extremes lie at corners
    calculation = CALCULATIONS[name]
    assert calculation.bounds(lows, highs) == pytest.approx(_corners(calculation, lows, highs))


def test_plain_and_ground_spring_of_shigley():
    # Shigley, Mechanical Engineering Design, 10th ed, Prob 10-3: wire 2.5, outside 31 mm, 14
    # coils plain and ground, 81 GPa: 1.314 N/mm and 35 mm solid
    assert agrees(spring_rate(2.5, 31 - 2.5, 13, 81), "1.314")
    assert agrees(solid_height(2.5, 14), "35")


@pytest.mark.parametrize(
    "outside,inches,pounds",
    [("1.000", "0.253", "33.1"), ("0.9375", "0.219", "35.6"), ("1.0625", "0.289", "31.0")],
)
def test_spring_table_of_machinerys_handbook(outside, inches, pounds):
    # Machinery's Handbook, 31st ed, table of compression springs, 0.0915 in wire: load and
    # deflection of a coil at 100 000 psi, uncorrected; 11.2 Mpsi inferred from the table
    wire, psi = 0.0915 * 25.4, 0.00689475729
    mean = float(outside) * 25.4 - wire
    force = 100_000 * psi / torsional_stress(1, wire, mean, 1)
    assert agrees(force / 4.4482216, pounds)
    assert agrees(force / spring_rate(wire, mean, 1, 11_200 * psi) / 25.4, inches)


def test_stress_case_of_sadhu_singh():
    # Sadhu Singh, Machine Design I, Ex 8.12 p 236: wire 6, outside 75 mm, 350 MPa, 84 GPa: 382.5 N
    # and 9.234 mm a turn with Wahl's factor (companion's output)
    assert spring_stress(382.5, 6, 69) == pytest.approx(350, rel=2e-4)
    assert agrees(382.5 / spring_rate(6, 69, 1, 84), "9.234")


def test_stress_by_travel_is_that_of_the_load():
    # 382.5 N presses each turn of Sadhu Singh's spring by 9.234 mm, at 350 MPa
    assert spring_stress_by_travel(9.234, 6, 69, 1, 84) == pytest.approx(350, rel=2e-4)
