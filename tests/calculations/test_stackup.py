"""Tolerance chains against published examples and limits and fits of ISO 286."""

import numpy as np
import pressfit
import pytest

from fitcheck.calculations.stackup import root_sum_square, worst_case
from tests.calculations.printed import agrees


def test_four_parts():
    # web article on tolerance analysis: +-.003 .003 .007 .005 give +-0.0096
    assert agrees(root_sum_square([0.003, 0.003, 0.007, 0.005]), "0.0096")


def test_three_blocks_in_a_slot():
    # web article: 2.000+-.005, 1.500+-.003, 0.500+-.002 in 4.020+-.005: worst case +-0.015,
    # root sum square +-0.00794
    tolerances = [0.005, 0.003, 0.002, 0.005]
    assert agrees(worst_case(tolerances), "0.015")
    assert agrees(root_sum_square(tolerances), "0.00794")


@pytest.mark.parametrize(
    "spec,least,most",
    [
        # Bhandari, Design of Machine Elements, Ex 3.2: valve seat 20H7/s6: interference 14-48 um
        ("20 H7/s6", -48, -14),
        # Shigley, 9th ed, Ex 7-7: 34H11/c11: hole 34.160/34.000, shaft 33.880/33.720 mm
        ("34 H11/c11", 34_000 - 33_880, 34_160 - 33_720),
    ],
)
def test_limits_of_a_fit_are_the_worst_case(spec, least, most):
    # pressfit (ISO 286 tables) gives the limits, the chain of hole and shaft must span the fit
    fit = pressfit.fit(spec)
    hole, shaft = (fit.hole_ei_um, fit.hole_es_um), (fit.shaft_ei_um, fit.shaft_es_um)
    middle = sum(hole) / 2 - sum(shaft) / 2
    half = worst_case([(hole[1] - hole[0]) / 2, (shaft[1] - shaft[0]) / 2])
    assert (middle - half, middle + half) == (least, most)


def test_root_sum_square_is_the_spread_of_independent_parts():
    # normal parts at three standard deviations each: so is the sum
    halves = [0.02, 0.05, 0.03]
    random = np.random.default_rng(5)
    total = sum(random.normal(0, half / 3, 400_000) for half in halves)
    assert 3 * float(np.std(total)) == pytest.approx(root_sum_square(halves), rel=5e-3)
