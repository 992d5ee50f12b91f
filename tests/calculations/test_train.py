"""Moving masses, inertia and control speed against printed cases and a motion worked out apart."""

from math import pi

import numpy as np
import pytest

from fitcheck.calculations.train import (
    effective_mass_at_lifter,
    effective_mass_at_valve,
    follower_acceleration,
    greatest_controlled_speed,
    inertia_force,
)
from tests.calculations.printed import agrees

POUND, INCH = 453.59237, 25.4
POUND_FORCE = 4.4482216


def test_follower_of_rothbart():
    # Rothbart, Cam Design Handbook, Fig 8.7 p 227: 1.25 in in 160 deg, of which 120 decelerate;
    # 2 lb moving, 10 lb external, spring 30 lb where the deceleration begins; cam at 1200 rpm
    # (inferred): -6 750 in/s2, inertia -35 lb, least cam load 7 lb
    factor = 2 * 160 / 120
    acceleration = follower_acceleration(1.25 * INCH, 160, factor, 1200)
    assert agrees(acceleration / INCH * 1000, "6.75e3")
    inertia = inertia_force(2 * POUND, 1.25 * INCH, 160, factor, 2400) / POUND_FORCE
    assert agrees(inertia, "35")
    assert agrees(2 + 10 + 30 - inertia, "7")


@pytest.mark.parametrize("angle,printed", [(60, 177.6), (90, 78.9)])
def test_harmonic_follower_of_sarkar(angle, printed):
    # Sarkar, Theory of Machines, ch 9: 40 mm, 300 rpm, rise in 60 and return in 90 deg: 177.6 and
    # 78.9 m/s2 (companion's output, which drops the further digits: 177.65 and 78.96)
    value = follower_acceleration(40, angle, pi**2 / 2, 300)
    assert int(value * 10) / 10 == printed


def test_control_speed_is_where_a_simulated_follower_leaves():
    # harmonic lift sampled in time: the force needed to hold the mass on the lobe, by differences
    lift, rise, mass, load = 9.0, 65.0, 210.0, 900.0
    limit = greatest_controlled_speed(load, mass, lift, rise, pi**2 / 2)
    for share, holds in ((0.999, True), (1.001, False)):
        cam_turns_a_second = share * limit / 2 / 60
        duration = rise / 360 / cam_turns_a_second
        time = np.linspace(0, duration, 20001)
        height = lift / 1000 / 2 * (1 - np.cos(pi * time / duration))
        acceleration = np.gradient(np.gradient(height, time), time)[5:-5]
        needed = -mass / 1000 * acceleration
        assert bool(np.all(needed <= load)) is holds


def test_control_speed_undoes_the_inertia_force():
    speed = greatest_controlled_speed(1400, 260, 13, 70, 5.5)
    assert inertia_force(260, 13, 70, 5.5, speed) == pytest.approx(1400, rel=1e-12)


def test_lever_carries_energy():
    # equal kinetic energy on both sides of the rocker: valve speed is ratio times lifter speed
    valve, spring, rocker, lifter, ratio = 140.0, 75.0, 35.0, 190.0, 1.65
    lifter_speed = 3.0
    energy = (valve + spring / 3 + rocker) * (ratio * lifter_speed) ** 2 + lifter * lifter_speed**2
    at_lifter = effective_mass_at_lifter(valve, spring, rocker, lifter, ratio)
    at_valve = effective_mass_at_valve(valve, spring, rocker, lifter, ratio)
    assert at_lifter * lifter_speed**2 == pytest.approx(energy)
    assert at_valve * (ratio * lifter_speed) ** 2 == pytest.approx(energy)
