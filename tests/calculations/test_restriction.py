"""Compressible flow against US 40 CFR 1065, gas tables and the nozzle formulas of ISO 5167."""

from math import pi, sqrt

import fluids
import pytest
from scipy.optimize import minimize_scalar

from fitcheck.calculations.restriction import (
    GAS_CONSTANT_AIR,
    critical_pressure_ratio,
    discharge_coefficient,
    flow_coefficient,
    restriction_air_flow,
)
from tests.calculations.printed import agrees

INCH_OF_WATER = 0.24908891  # kPa
ATMOSPHERE = 101.325


@pytest.mark.parametrize(
    "beta,diluted,air",
    [
        (0, "0.6822", "0.6846"),
        (0.5, "0.6910", "0.6934"),
        (0.6, "0.7011", "0.7036"),
        (0.7, "0.7193", "0.7219"),
        (0.8, "0.7527", "0.7555"),
        (0.85, "0.7798", "0.7828"),
    ],
)
def test_choked_table_of_the_code_of_federal_regulations(beta, diluted, air):
    # US 40 CFR 1065.640, table of choked Cf for specific-heat ratios 1.385 and 1.399
    assert agrees(flow_coefficient(0.3, beta, 1.385), diluted)
    assert agrees(flow_coefficient(0.3, beta, 1.399), air)


def _mass_flow(coefficient, area, pressure, kelvin):
    return coefficient * area * pressure / sqrt(287 * kelvin)


def test_choked_flows_of_cengel():
    # Cengel & Cimbala, Fluid Mechanics, Ex 12-5: 4 mm leak at 314 kPa and 298 K: 0.554 kg/min;
    # Ex 12-6: 20 cm2 throat at 1 MPa and 800 K: 2.86 kg/s (inputs read, answers from memory)
    choked = flow_coefficient(0.3, 0, 1.4)
    leak = _mass_flow(choked, pi / 4 * 0.004**2, 314e3, 298)
    assert agrees(60 * leak, "0.554")
    assert agrees(_mass_flow(choked, 20e-4, 1e6, 800), "2.86")


@pytest.mark.parametrize(
    "mach,pressure,area",
    [
        (0.3, "0.9395", "2.0351"),
        (0.5, "0.8430", "1.3398"),
        (0.7, "0.7209", "1.0944"),
        (0.9, "0.5913", "1.0089"),
    ],
)
def test_subsonic_tables_of_naca(mach, pressure, area):
    # NACA Report 1135, table I (from memory): pressure and area ratios at a Mach number; the
    # flow function is to its choked value as the throat is to the local area
    ratio = (1 + 0.2 * mach**2) ** -3.5
    assert agrees(ratio, pressure)
    share = flow_coefficient(0.1, 0, 1.4) / flow_coefficient(ratio, 0, 1.4)
    assert agrees(share, area)


def test_critical_ratio_against_a_library():
    # fluids.P_critical_flow
    for gamma in (1.3, 1.385, 1.4):
        expected = fluids.P_critical_flow(1, gamma)
        assert critical_pressure_ratio(0, gamma) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("beta", [0, 0.5, 0.85])
def test_flow_chokes_where_it_is_greatest(beta):
    # the flow function of 40 CFR 1065.640 without the choking limit, by a library's search
    gamma = 1.399

    def flow(ratio):
        drop = 2 * gamma / (gamma - 1) * (1 - ratio ** ((gamma - 1) / gamma))
        return sqrt(drop / (ratio ** (-2 / gamma) - beta**4))

    found = minimize_scalar(lambda r: -flow(r), bounds=(0.2, 0.95), options={"xatol": 1e-12})
    assert critical_pressure_ratio(beta, gamma) == pytest.approx(found.x, rel=1e-6)


@pytest.mark.parametrize("beta", [1e-4, 0.3, 0.6])
@pytest.mark.parametrize("ratio", [0.8, 0.93, 0.99])
def test_subsonic_flow_against_the_nozzle_of_iso_5167(beta, ratio):
    # fluids' expansibility of a nozzle: m = e A sqrt(2 rho dp / (1 - b^4))
    pressure, kelvin, gamma, area = 1e5, 300.0, 1.4, 1e-3
    density = pressure / (GAS_CONSTANT_AIR * kelvin)
    expansibility = fluids.flow_meter.nozzle_expansibility(
        D=1, Do=beta, P1=pressure, P2=ratio * pressure, k=gamma, beta=beta
    )
    drop = pressure * (1 - ratio)
    expected = expansibility * area * sqrt(2 * density * drop / (1 - beta**4))
    coefficient = flow_coefficient(ratio, beta, gamma)
    mass = coefficient * area * pressure / sqrt(GAS_CONSTANT_AIR * kelvin)
    assert mass == pytest.approx(expected, rel=1e-9)


def test_volume_flow_is_the_mass_flow_over_the_density_before():
    depression, pressure, celsius = 28 * INCH_OF_WATER, 98.0, 25.0
    kelvin = celsius + 273.15
    coefficient = flow_coefficient(1 - depression / pressure, 0, 1.4)
    mass = 0.62 * coefficient * 1200e-6 * pressure * 1000 / sqrt(GAS_CONSTANT_AIR * kelvin)
    density = pressure * 1000 / (GAS_CONSTANT_AIR * kelvin)
    flow = restriction_air_flow(1200, 0.62, depression, pressure, celsius)
    assert flow == pytest.approx(1000 * mass / density)
    found = discharge_coefficient(flow, 1200, depression, pressure, celsius)
    assert found == pytest.approx(0.62)


def test_a_choked_port_takes_no_more():
    choked = restriction_air_flow(1200, 0.6, 50, 101, 20)
    assert restriction_air_flow(1200, 0.6, 60, 101, 20) == choked
    assert restriction_air_flow(1200, 0.6, 40, 101, 20) < choked
