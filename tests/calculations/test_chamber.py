"""Volumes and ratios against printed cases."""

from math import pi

import pytest

from fitcheck.calculations.chamber import (
    compression_ratio,
    deck_volume,
    effective_compression,
    piston_below_deck,
    swept_volume,
    trapped_volume,
)

INFINITE_ROD = 1e9


def test_swept_volume_of_mathur_and_sharma():
    # Mathur & Sharma, Internal Combustion Engines, 8th ed, Ex 1.1 p 3: 1089.5 cm3
    # (figure read in a textbook companion's output)
    assert round(4 * swept_volume(68, 75), 1) == 1089.5


def test_ratio_and_otto_efficiency_of_gupta():
    # Gupta, Fundamentals of IC Engines (2006), Ex 2.1 p 44: 200 x 250 mm, 1570 cm3:
    # compression 6.0025, Otto efficiency 51.17 % (companion's output)
    ratio = compression_ratio(swept_volume(200, 250), 1570)
    assert round(ratio, 4) == 6.0025
    assert round(100 * (1 - ratio**-0.4), 2) == 51.17


def test_seven_to_one_of_the_faa():
    # US FAA powerplant handbook: 140 in3 in all over 20 in3 is 7:1
    assert compression_ratio(140 - 20, 20) == 7


def test_trapped_volume_of_gupta():
    # Gupta, Ex 11.4 p 369: 80 x 100 mm, compression 8 from port closing at 60 degrees after
    # bottom dead centre, harmonic motion: 0.00043 m3 (430.85 cm3; companion's output)
    clearance = swept_volume(80, 75) / (8 - 1)
    volume = trapped_volume(80, 100, INFINITE_ROD, clearance, 60)
    assert round(volume, 2) == 430.85
    assert round(volume * 1e-6, 5) == 0.00043


@pytest.mark.parametrize(("closing", "ratio"), [(40, 8.272), (50, 7.867), (60, 7.380), (70, 6.816)])
def test_effective_compression_of_the_derived_case(closing, ratio):
    # own derivation, a cross-check only: 86 x 86 mm, rod 172 mm, static compression 9
    clearance = swept_volume(86, 86) / (9 - 1)
    assert round(effective_compression(86, 86, 172, clearance, closing), 3) == ratio


def test_effective_compression_with_harmonic_motion_is_exact():
    clearance = swept_volume(86, 86) / (9 - 1)
    assert effective_compression(86, 86, INFINITE_ROD, clearance, 60) == pytest.approx(7, abs=1e-6)


def test_closing_at_bottom_dead_centre_is_the_static_ratio():
    swept = swept_volume(96, 80)
    assert effective_compression(96, 80, 140, 60, 0) == pytest.approx(compression_ratio(swept, 60))
    assert effective_compression(96, 80, 140, 60, 180) == pytest.approx(1)


def test_swept_volume_is_the_volume_the_exact_motion_sweeps():
    assert trapped_volume(90, 80, 130, 50, 0) - 50 == pytest.approx(pi / 4 * 9**2 * 8)


def test_deck_volume_and_height_are_those_of_the_stack():
    """A disc by definition (US 40 CFR 86.419 takes pi as 3.1416), and lengths that add up."""
    assert deck_volume(101.6, -0.2) == pytest.approx(-3.1416 * 10.16**2 / 4 * 0.02, rel=1e-5)
    below = piston_below_deck(228.6, 88.4, 144.78, 39.62)
    assert below == pytest.approx(228.6 - 44.2 - 144.78 - 39.62)
