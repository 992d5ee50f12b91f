"""Areas, gas speeds and air demand against printed cases and open references."""

import fluids
import pytest
from scipy.optimize import brentq

from fitcheck.calculations.airflow import (
    air_demand,
    inlet_mach_index,
    lift_of_full_throat,
    mean_port_velocity,
    required_air_flow,
    speed_of_sound,
    throat_area,
    valve_curtain_area,
    valve_flow_area,
)
from fitcheck.calculations.output import mean_piston_speed, volumetric_efficiency
from tests.calculations.printed import agrees

RAJPUT = {"bore": 110, "stroke": 140, "flow_coefficient": 0.33, "sound_speed": 369.611}


def test_sound_of_rajput():
    # Rajput, IC Engines, 2nd ed, Ex 7.12 p 256: 340 K, 1.4, 287 J/(kg K): 369.611 m/s
    assert agrees(speed_of_sound(340 - 273.15), "369.611")


@pytest.mark.parametrize("metres", [0, 2000])
def test_sound_in_the_standard_atmosphere(metres):
    # fluids' US Standard Atmosphere 1976
    air = fluids.ATMOSPHERE_1976(metres)
    assert speed_of_sound(air.T - 273.15) == pytest.approx(air.v_sonic, rel=1e-3)


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


def test_air_of_rajput():
    # Rajput, Ex 7.2 p 247: 86 kW, 0.38 kg/kWh, 14:1, 288 K, 1.013 bar, 4066 cm3, 3600 rpm: 0.85
    flow = required_air_flow(86, 380, 14, 101300 / (287 * 288))
    efficiency = volumetric_efficiency(flow, 4.066, 3600)
    assert agrees(efficiency, "0.85")
    assert air_demand(4.066, 3600, efficiency) == pytest.approx(flow)


def test_curtain_equals_the_head_at_a_quarter():
    # geometry: pi D (D/4) = pi/4 D^2
    assert valve_curtain_area(46, 46 / 4) == pytest.approx(throat_area(46, 0))
    assert lift_of_full_throat(46, 46, 0) == pytest.approx(46 / 4)


def test_flow_area_changes_over_where_the_lift_says():
    lift = lift_of_full_throat(46, 40, 8)
    throat = throat_area(40, 8)
    assert valve_flow_area(46, lift * 0.999, 40, 8) == pytest.approx(0.999 * throat)
    assert valve_flow_area(46, lift * 1.2, 40, 8) == throat
    assert throat_area(8, 9) == 0
    # the ring and the stem make up the circle
    assert throat_area(40, 8) + throat_area(8, 0) == pytest.approx(throat_area(40, 0))


def test_port_velocity_conserves_volume():
    # what passes the port in one stroke is what the piston sweeps
    velocity, area, speed = mean_port_velocity(101.6, 88.4, 6200, 1500), 1500e-6, 6200
    swept = 0.25 * 3.141592653589793 * 0.1016**2 * 0.0884
    assert velocity * area * (60 / speed / 2) == pytest.approx(swept)
