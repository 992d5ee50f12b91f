"""Springs against textbook cases, and against solutions that share no formula with the module."""

from itertools import product
from math import pi, tan

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.linalg import eigh_tridiagonal
from scipy.optimize import brentq

from fitcheck.calculations import CALCULATIONS
from fitcheck.calculations.spring import (
    conical_spring_rate,
    solid_height,
    spring_active_mass,
    spring_load_at_height,
    spring_load_at_lift,
    spring_rate,
    spring_rate_from_loads,
    surge_frequency,
)
from fitcheck.calculations.spring_stress import (
    bergstraesser_factor,
    load_for_stress,
    spring_stress,
    torsional_stress,
    wahl_factor,
)
from tests.calculations.printed import agrees

BHANDARI_G = 81.370


def _turns(rate, wire, mean_diameter, modulus):
    """Active coils for a rate: the inverse, since the rate goes with one over the coils."""
    return spring_rate(wire, mean_diameter, 1, modulus) / rate


def test_plain_and_ground_spring_of_shigley():
    # Shigley, Mechanical Engineering Design, 10th ed, Prob 10-3: wire 2.5, outside 31 mm, 14
    # coils plain and ground, 81 GPa, Sut 2211/d^0.145, Ssy 0.45 Sut: 1.314 N/mm, 35 mm solid,
    # K_B 1.117, 167.9 N to solid. The printed free length of 162.8 comes from rounded steps and
    # is matched to 0.1 mm.
    mean = 31 - 2.5
    rate = spring_rate(2.5, mean, 13, 81)
    assert agrees(rate, "1.314")
    assert agrees(solid_height(2.5, 14), "35")
    factor = bergstraesser_factor(mean / 2.5)
    assert agrees(factor, "1.117")
    force = load_for_stress(0.45 * 2211 / 2.5**0.145, 2.5, mean, factor)
    assert agrees(force, "167.9")
    assert solid_height(2.5, 14) + force / rate == pytest.approx(162.8, abs=0.1)


def test_music_wire_spring_of_shigley():
    # Shigley, 10th ed, Ex 10-1: 0.037 in wire, 0.400 in mean, 10.5 active, 11.85 Mpsi: K_B 1.124,
    # 4.13 lbf/in, and 6.46 lbf at 146 ksi (all from memory)
    assert agrees(bergstraesser_factor(0.400 / 0.037), "1.124")
    rate = spring_rate(0.037 * 25.4, 0.400 * 25.4, 10.5, 11.85e3 * 0.00689475729)
    assert agrees(rate / 0.1751268, "4.13")
    force = load_for_stress(
        146e3 * 0.00689475729, 0.037 * 25.4, 0.400 * 25.4, bergstraesser_factor(0.4 / 0.037)
    )
    assert agrees(force / 4.4482216, "6.46")


@pytest.mark.parametrize("index,percent", [(4, "1.36"), (12, "0.743")])
def test_the_two_factors_differ_as_shigley_prints(index, percent):
    # Shigley, 10th ed, Prob 10-1: 1.36 % at C 4, 0.743 % at C 12
    assert agrees(100 * (1 - bergstraesser_factor(index) / wahl_factor(index)), percent)


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


@pytest.mark.parametrize(
    "outside,inches,pounds",
    [("1", "0.253", "33.1"), ("0.9375", "0.219", "35.6"), ("1.0625", "0.289", "31.0")],
)
def test_spring_table_of_machinerys_handbook(outside, inches, pounds):
    # Machinery's Handbook, 31st ed, table of compression springs, 0.0915 in wire: load and
    # deflection of a coil at 100 000 psi, uncorrected; 11.2 Mpsi inferred from the table
    wire, psi = 0.0915 * 25.4, 0.00689475729
    mean = float(outside) * 25.4 - wire
    force = load_for_stress(100_000 * psi, wire, mean, 1)
    assert agrees(force / 4.4482216, pounds)
    assert agrees(force / spring_rate(wire, mean, 1, 11_200 * psi) / 25.4, inches)


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


def test_valve_spring_of_bhandari_10_4():
    # Bhandari, Ex 10.4, a valve spring: 150 N at 35 mm, 300 N at 30 mm, wire 4, coil 24: 6.278549
    # coils, 7 taken, 9 in all; with a gap of 15 % free length 48.821433 (companion's output)
    rate = spring_rate_from_loads(150, 300, 35 - 30)
    assert agrees(_turns(rate, 4, 24, BHANDARI_G), "6.278549")
    deflection = 300 / spring_rate(4, 24, 7, BHANDARI_G)
    assert agrees(solid_height(4, 9) + 1.15 * deflection, "48.821433")
    assert spring_load_at_lift(150, rate, 5) == 300
    assert spring_load_at_height(150, rate, 35, 30) == 300
    assert spring_load_at_height(150, rate, 35, 41) == 0


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
    assert agrees(_turns(rate, wire, coil, BHANDARI_G), turns)
    if actual:
        assert agrees(spring_rate(wire, coil, taken, BHANDARI_G), actual)


def test_free_length_of_bhandari_10_7():
    # Bhandari, Ex 10.7: 300 N on wire 5, coil 40, 5 active, 7 in all, gap 1 mm: 56.101389
    free = solid_height(5, 7) + 300 / spring_rate(5, 40, 5, BHANDARI_G) + 6 * 1
    assert agrees(free, "56.101389")


def test_stress_case_of_sadhu_singh():
    # Sadhu Singh, Machine Design I, Ex 8.12 p 236: wire 6, outside 75 mm, 350 MPa, 84 GPa: 382.5 N
    # and 9.234 mm a turn with Wahl's factor (companion's output)
    force = load_for_stress(350, 6, 69, wahl_factor(69 / 6))
    assert agrees(force, "382.5")
    assert agrees(force / spring_rate(6, 69, 1, 84), "9.234")
    assert spring_stress(force, 6, 69) == pytest.approx(350, rel=1e-12)


def test_production_valve_spring_of_the_us_army():
    # US Army TM 9-2815-237-34: 80 lb at 1.80 in, 230 lb at 1.39 in on one spring
    pound, inch = 4.4482216, 25.4
    rate = spring_rate_from_loads(80 * pound, 230 * pound, (1.80 - 1.39) * inch)
    assert agrees(spring_load_at_height(80 * pound, rate, 1.80 * inch, 1.39 * inch) / pound, "230")
    assert agrees(spring_load_at_lift(80 * pound, rate, 0.41 * inch) / pound, "230")


@pytest.mark.parametrize("ends", [(20, 20), (18, 27), (40, 12)])
def test_conical_rate_is_the_sum_of_its_turns(ends):
    # each short piece twists as in a cylinder of its own diameter: add up their deflections
    first, last = ends
    turns = 4.5
    summed, _ = quad(
        lambda at: 1 / spring_rate(4, first + (last - first) * at / turns, 1, 80), 0, turns
    )
    assert conical_spring_rate(4, first, last, turns, 80) == pytest.approx(1 / summed, rel=1e-9)


def test_surge_against_the_modes_of_a_chain():
    # 400 equal pieces of a spring between still ends: lowest mode of the chain of masses
    rate, mass, pieces = 30.0, 60.0, 400
    stiffness, piece = rate * 1000 * pieces, mass / 1000 / pieces
    squares = eigh_tridiagonal(
        np.full(pieces - 1, 2 * stiffness / piece),
        np.full(pieces - 2, -stiffness / piece),
        eigvals_only=True,
        select="i",
        select_range=(0, 0),
    )
    assert surge_frequency(rate, mass) == pytest.approx(squares[0] ** 0.5 / (2 * pi), rel=1e-5)


def test_surge_from_wire_is_the_textbook_form():
    # Wahl, Mechanical Springs (from memory): f = d / (2 pi D^2 N) sqrt(G / (2 rho))
    wire, coil, turns, modulus, density = 4.5, 30.0, 4.5, 79.0, 7.85
    mass = spring_active_mass(wire, coil, turns, density)
    speed = (modulus * 1e9 / (2 * density * 1000)) ** 0.5
    expected = wire / 1000 / (2 * pi * (coil / 1000) ** 2 * turns) * speed
    assert surge_frequency(spring_rate(wire, coil, turns, modulus), mass) == pytest.approx(expected)


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
        ("spring_load_at_height", (400, 20, 44, 34), (450, 30, 46, 35)),
        ("spring_load_at_height", (400, 20, 34, 44), (450, 30, 35, 46)),
        ("spring_load_at_height", (400, 20, 40, 39), (450, 30, 43, 44)),
        ("spring_load_at_height", (100, 20, 34, 44), (150, 30, 35, 46)),
        ("spring_rate_from_loads", (400, 900, 8), (450, 950, 12)),
        ("spring_rate_from_loads", (900, 400, 8), (950, 450, 12)),
        ("spring_rate_from_loads", (400, 420, 8), (450, 460, 12)),
    ],
)
def test_bounds_are_those_of_the_corners(name, lows, highs):
    # monotone or linear in each argument with the others held: the extremes lie at corners
    calculation = CALCULATIONS[name]
    assert calculation.bounds(lows, highs) == pytest.approx(_corners(calculation, lows, highs))
