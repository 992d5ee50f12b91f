"""Power, torque and mean effective pressure against printed cases, a units library and open data."""

import csv
from itertools import product
from pathlib import Path

import numpy as np
import pint
import pytest
import statsmodels

from fitcheck.calculations.chamber import swept_volume
from fitcheck.calculations.output import (
    brake_mean_effective_pressure,
    brake_mean_effective_pressure_of_torque,
    brake_power,
    mean_piston_speed,
)
from tests.calculations.printed import agrees


def test_piston_speed_of_a_formulary():
    # web formulary of automotive engineering (kfz-tech): 85 mm, 5500 rpm: 15.58 m/s
    assert agrees(mean_piston_speed(85, 5500), "15.58")


def test_torque_case_of_gupta():
    # Gupta, Fundamentals of IC Engines (2006), Ex 16.3 p 522: 4 cyl 90 x 100 mm, 120 N m:
    # 5.93 bar (companion's output)
    displacement = 4 * swept_volume(90, 100) / 1000
    assert agrees(brake_mean_effective_pressure_of_torque(120, displacement), "5.93")


@pytest.mark.parametrize("torque,litres,speed", list(product([9, 400.5], [0.1, 7.0], [900, 7200])))
def test_against_a_units_library(torque, litres, speed):
    # pint carries the units of the definitions: work of a cycle over swept volume
    unit = pint.UnitRegistry()
    newton_metres, volume = torque * unit.newton * unit.metre, litres * unit.litre
    turns = speed * unit.revolution / unit.minute
    pressure = (newton_metres * 2 * unit.revolution / volume).to("bar").magnitude
    power = (newton_metres * turns).to("kW").magnitude
    assert brake_mean_effective_pressure_of_torque(torque, litres) == pytest.approx(pressure)
    assert brake_power(torque, speed) == pytest.approx(power)
    assert brake_mean_effective_pressure(power, litres, speed) == pytest.approx(pressure)


def _automobiles():
    path = Path(statsmodels.__file__).parent / "gam" / "tests" / "results" / "autos.csv"
    with path.open(newline="") as file:
        return [row for row in csv.DictReader(file) if row["bore"] not in ("", "NA", "?")]


def test_against_open_data():
    # UCI Automobile data set (1985) as statsmodels carries it; the column named eng_cc holds
    # cubic inches. Naturally aspirated petrol engines of 1985 reach 7.4 to 9.9 bar at peak power.
    pressures, speeds = [], []
    for row in _automobiles():
        if "NA" in (row["hp"], row["rpm"]) or not row["hp"] or not row["rpm"]:
            continue
        litres, rpm = float(row["eng_cc"]) * 0.016387064, float(row["rpm"])
        speeds.append(mean_piston_speed(float(row["stroke"]) * 25.4, rpm))
        if row["fuel"] == "gas" and row["aspir"] == "std":
            power = float(row["hp"]) * 0.745699872
            pressures.append(brake_mean_effective_pressure(power, litres, rpm))
    assert len(pressures) == 155
    low, middle, high = np.percentile(pressures, [5, 50, 95])
    assert [round(float(value), 2) for value in (low, middle, high)] == [7.36, 8.16, 9.88]
    assert round(min(speeds), 1) == 9.2
    assert round(max(speeds), 1) == 17.6
