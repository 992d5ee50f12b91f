"""Hertzian contact against printed cases, and elliptical contact against two other routes."""

from math import pi

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import ellipe, ellipk

from fitcheck.calculations.contact import (
    contact_modulus,
    elliptical_contact_pressure,
    line_contact_pressure,
    relative_radius,
)
from tests.calculations.printed import agrees


def test_two_balls_of_shigley():
    # Shigley, 9th ed, Prob 3-138: steel ball 25 mm on aluminium ball 40 mm, 10 N: contact radius
    # 0.0990 mm, peak pressure 487 MPa (answer from memory)
    modulus = contact_modulus(207, 0.292, 71.7, 0.333)
    radius = relative_radius(12.5, 20)
    pressure = elliptical_contact_pressure(10, radius, radius, modulus)
    assert agrees(pressure, "487")
    assert agrees((3 * 10 / (2 * pi * pressure)) ** 0.5, "0.0990")


def test_contact_modulus_of_like_and_unlike_bodies():
    # Johnson, Contact Mechanics: E / (2 (1 - v^2)) for two of one kind, and the order is free
    assert contact_modulus(200, 0.29, 200, 0.29) == pytest.approx(200 / (2 * (1 - 0.29**2)))
    swapped = contact_modulus(110, 0.26, 210, 0.3)
    assert contact_modulus(210, 0.3, 110, 0.26) == pytest.approx(swapped, rel=1e-14)


@pytest.mark.parametrize("ratio", [1.0, 1.001, 1.7, 12, 100, 3000])
def test_ellipse_against_library_integrals(ratio):
    # Johnson, Contact Mechanics, Eqs 4.26-4.28, solved with scipy's elliptic integrals
    force, small, modulus = 1200.0, 9.0, 115.0

    def integrals(slenderness):
        m = 1 - slenderness**-2
        return ellipk(m), ellipe(m), m

    def mismatch(slenderness):
        k, e, _ = integrals(slenderness)
        return (slenderness**2 * e - k) / (k - e) - ratio

    if ratio == 1:
        long = (3 * force * small / (4 * modulus * 1000)) ** (1 / 3)
        short = long
    else:
        slenderness = brentq(mismatch, 1 + 1e-7, 2 * ratio, xtol=1e-13)
        k, e, m = integrals(slenderness)
        long = (3 * force * small * ratio * (k - e) / (pi * modulus * 1000 * m)) ** (1 / 3)
        short = long / slenderness
    expected = 3 * force / (2 * pi * long * short)
    for radii in ((small, small * ratio), (small * ratio, small)):
        assert elliptical_contact_pressure(force, *radii, modulus) == pytest.approx(
            expected, rel=1e-7
        )


@pytest.mark.parametrize("ratio", [1, 2, 5, 10, 30, 100])
def test_ellipse_against_the_simplified_solution(ratio):
    # Brewe & Hamrock, Simplified Solution for Elliptical-Contact Deformation (1977; formulas from
    # memory): k = 1.0339 q^0.636, E = 1.0003 + 0.5968/q, good to about 3 %
    force, small, modulus = 800.0, 20.0, 113.0
    k, e = 1.0339 * ratio**0.636, 1.0003 + 0.5968 / ratio
    joint = 1 / (1 / small + 1 / (small * ratio))
    long = (6 * k**2 * e * force * joint / (pi * 2 * modulus * 1000)) ** (1 / 3)
    short = (6 * e * force * joint / (pi * k * 2 * modulus * 1000)) ** (1 / 3)
    pressure = elliptical_contact_pressure(force, small, small * ratio, modulus)
    assert pressure == pytest.approx(3 * force / (2 * pi * long * short), rel=0.03)


@pytest.mark.parametrize("fixed", [0.1, 1e5])
def test_ellipse_pressure_falls_over_every_ratio_in_range(fixed):
    # with one radius fixed the pressure is a function of the ratio alone; 1e-6 to 1e6 is all
    pressures = [
        elliptical_contact_pressure(1000, float(radius), fixed, 110)
        for radius in np.geomspace(0.1, 1e5, 1500)
    ]
    assert bool(np.all(np.diff(pressures) < 0))


def test_wheel_of_marks():
    # Marks' Calculations for Machine Design, p 146 Ex 2: 32 500 lb, 36 in diameter, 4 in long:
    # half width squared 0.0113 in2 (30 Mpsi and 0.3 for both). An elliptic distribution of that
    # half width carries the load at the peak told.
    modulus = contact_modulus(206.84, 0.3, 206.84, 0.3)
    force, length = 32_500 * 4.4482216, 4 * 25.4
    peak = line_contact_pressure(force, length, 18 * 25.4, modulus)
    half = 2 * force / (pi * peak * length)
    assert agrees((half / 25.4) ** 2, "0.0113")
