"""Density, vapour pressure and correction factors against tables and the standards' own states."""

from math import log

import fluids
import pytest

from fitcheck.calculations.air import (
    air_density,
    dry_air_pressure,
    power_correction_iso,
    power_correction_sae,
    saturation_pressure,
)
from tests.calculations.printed import agrees


@pytest.mark.parametrize(
    "celsius,printed", [(0.01, 0.6117), (20, 2.3392), (25, 3.1698), (30, 4.2469), (40, 7.3851)]
)
def test_saturation_pressure_of_the_steam_tables(celsius, printed):
    # steam tables (from memory, as in Cengel & Boles, table A-4); the fit is older than the tables
    # and within the accuracy that it declares
    assert saturation_pressure(celsius) == pytest.approx(printed, rel=1e-3)


def test_boiling_point_of_water():
    # 100 C at one standard atmosphere, by the old definition
    assert saturation_pressure(100) == pytest.approx(101.325, rel=1e-3)


@pytest.mark.parametrize("metres", [0, 500, 1500, 3000])
def test_density_of_the_standard_atmosphere(metres):
    # fluids' US Standard Atmosphere 1976, dry
    air = fluids.ATMOSPHERE_1976(metres)
    density = air_density(air.P / 1000, air.T - 273.15, 0)
    assert density == pytest.approx(air.rho, rel=1e-4)


def test_sea_level_of_iso_2533():
    # ISO 2533: 1.225 kg/m3 at 101.325 kPa and 15 C
    assert agrees(air_density(101.325, 15, 0), "1.225")


def test_moist_air_is_the_mean_of_its_molecules():
    # by moles: 28.9647 g/mol of dry air, 18.0153 of water (CIPM-2007), universal gas constant
    pressure, celsius, share = 98.0, 32.0, 0.8
    moles = pressure * 1000 / (8.314462618 * (celsius + 273.15))
    water = share * saturation_pressure(celsius) / pressure
    expected = moles * (28.9647 * (1 - water) + 18.0153 * water) / 1000
    assert air_density(pressure, celsius, 100 * share) == pytest.approx(expected, rel=1e-4)
    dry = dry_air_pressure(pressure, celsius, 100 * share)
    assert dry == pytest.approx(pressure * (1 - water))


def test_correction_is_one_at_the_standard_state():
    # SAE J1349 (June 1990): 990 mbar dry, 25 C; the inch form has 29.23 inHg and 77 F
    assert agrees(power_correction_sae(99, 25), "1.000")
    assert agrees(power_correction_sae(29.23 * 3.386389, (77 - 32) / 1.8), "1.000")
    # ISO 1585: 99 kPa dry, 298 K (from memory)
    assert agrees(power_correction_iso(99, 25), "1.000")
    # its exponents, 1.2 on pressure and 0.6 on temperature (from memory)
    assert log(power_correction_iso(49.5, 25)) / log(2) == pytest.approx(1.2)
    assert log(power_correction_iso(99, 59)) / log(332 / 298) == pytest.approx(0.6)


def test_the_two_standards_agree_near_their_state():
    # both stand for the same engines: within half a percent where they trust themselves
    for pressure in (95, 97, 101):
        for celsius in (15, 25, 35):
            sae = power_correction_sae(pressure, celsius)
            assert power_correction_iso(pressure, celsius) == pytest.approx(sae, rel=5e-3)
