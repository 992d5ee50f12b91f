"""Moving masses, inertia and control speed against printed cases and a motion worked out apart."""

from math import pi

import numpy as np
import pytest

from fitcheck.calculations.train import effective_mass_at_valve, greatest_controlled_speed

POUND, INCH = 453.59237, 25.4
POUND_FORCE = 4.4482216


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


def test_follower_of_rothbart():
    # Rothbart, Cam Design Handbook, Fig 8.7 p 227: 1.25 in in 160 deg, of which 120 decelerate;
    # 2 lb moving, cam at 1200 rpm (inferred): inertia -35 lb. That force holds it to that speed.
    pound_force = 4.4482216
    limit = greatest_controlled_speed(35 * pound_force, 907.185, 1.25 * 25.4, 160, 2 * 160 / 120)
    assert limit == pytest.approx(2 * 1200, rel=0.01)


def test_lever_carries_energy():
    # equal kinetic energy on both sides of the rocker: valve speed is ratio times lifter speed
    valve, spring, rocker, lifter, ratio = 140.0, 75.0, 35.0, 190.0, 1.65
    energy = (valve + spring / 3 + rocker) * (ratio * 3.0) ** 2 + lifter * 3.0**2
    at_valve = effective_mass_at_valve(valve, spring, rocker, lifter, ratio)
    assert at_valve * (ratio * 3.0) ** 2 == pytest.approx(energy)
