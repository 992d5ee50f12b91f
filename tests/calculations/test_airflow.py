"""Areas, gas speeds and air demand against printed cases and open references."""

import fluids
import pytest
from scipy.optimize import brentq

from fitcheck.calculations.airflow import (
    inlet_mach_index,
    mean_port_velocity,
    throat_area,
    valve_curtain_area,
)
from fitcheck.calculations.output import mean_piston_speed
from tests.calculations.printed import agrees

RAJPUT = {"bore": 110, "stroke": 140, "flow_coefficient": 0.33, "sound_speed": 369.611}


@pytest.mark.parametrize("speed,printed", [(2400, "44.95"), (2800, "48.55")])
def test_valve_size_of_rajput(speed, printed):
    # Rajput, Ex 7.12: 110 x 140 mm, Ci 0.33, Z 0.55: valve of 44.95 mm at 2400, 48.55 at 2800 rpm
    # (companion's output)
    size = brentq(
        lambda d: inlet_mach_index(speed=speed, valve_diameter=d, **RAJPUT) - 0.55, 20, 90
    )
    assert agrees(size, printed)


@pytest.mark.parametrize("speed,printed", [(2400, "0.55"), (2800, "0.64"), (4800, "1.10")])
def test_mach_index_of_rajput(speed, printed):
    # Rajput, Ex 7.12: the valve of 44.95 mm at other speeds (companion's output)
    assert agrees(inlet_mach_index(speed=speed, valve_diameter=44.95, **RAJPUT), printed)


def test_mach_index_of_an_open_cylinder_is_its_mach_number():
    # with valve = bore and no loss the index is the mean piston speed over the speed of sound,
    # which fluids calls Mach
    index = inlet_mach_index(100, 90, 6000, 100, 1, 340)
    assert index == pytest.approx(fluids.Mach(mean_piston_speed(90, 6000), 340))


def test_port_velocity_conserves_volume():
    # what passes the port in one stroke is what the piston sweeps
    velocity, area, speed = mean_port_velocity(101.6, 88.4, 6200, 1500), 1500e-6, 6200
    swept = 0.25 * 3.141592653589793 * 0.1016**2 * 0.0884
    assert velocity * area * (60 / speed / 2) == pytest.approx(swept)


def test_curtain_equals_the_head_at_a_quarter():
    # geometry: pi D (D/4) = pi/4 D^2; the ring and the stem make up the circle
    assert valve_curtain_area(46, 46 / 4) == pytest.approx(throat_area(46, 0))
    assert throat_area(40, 8) + throat_area(8, 0) == pytest.approx(throat_area(40, 0))
    assert throat_area(8, 9) == 0
