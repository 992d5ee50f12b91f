"""Compressible flow of air through a restriction: a port on the flow bench, a throttle, a venturi.

The form is that of US 40 CFR 1065.640 and 1065.642, which calibrate and use flow meters.
"""

from __future__ import annotations

from math import sqrt

from fitcheck.calculations.registry import calculation

GAMMA_AIR = 1.4
GAS_CONSTANT_AIR = 287.05  # dry air, J/(kg K)


def critical_pressure_ratio(beta: float, gamma: float) -> float:
    """Throat over inlet pressure at which the flow chokes, 40 CFR 1065.640.

    Parameters
    ----------
    beta : float
        Throat over inlet diameter; 0 for a plenum, [number]
    gamma : float
        Ratio of specific heats, [number]

    Returns
    -------
    ratio : float
        Critical ratio of absolute pressures, [number]

    Notes
    -----
    Root of `r^((1-g)/g) + (g-1)/2 b^4 r^(2/g) = (g+1)/2`, found by bisection: the left side
    falls from above to below between 0.1 and 1 for every beta below 1. Assumes a perfect gas.

    Examples
    --------
    Air from a plenum (NACA Report 1135 tabulates 0.5283; from memory):

    >>> round(critical_pressure_ratio(0, 1.4), 4)
    0.5283
    """
    low, high = 0.1, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        left = middle ** ((1 - gamma) / gamma)
        left += (gamma - 1) / 2 * beta**4 * middle ** (2 / gamma)
        if left > (gamma + 1) / 2:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def flow_coefficient(ratio: float, beta: float, gamma: float) -> float:
    """Flow function `Cf` of a restriction, 40 CFR 1065.640.

    Parameters
    ----------
    ratio : float
        Throat over inlet absolute pressure, [number]
    beta : float
        Throat over inlet diameter; 0 for a plenum, [number]
    gamma : float
        Ratio of specific heats, [number]

    Returns
    -------
    coefficient : float
        Flow over that of `A p / sqrt(Z M R T)`, [number]

    Notes
    -----
    `sqrt(2 g/(g-1) (1 - r^((g-1)/g)) / (r^(-2/g) - b^4))`; past the critical ratio the flow
    chokes and the ratio is held there. Assumes a perfect gas and no loss before the throat.

    Examples
    --------
    Choked from a plenum at 1.399 (40 CFR 1065.640, table 1, prints 0.6846):

    >>> round(flow_coefficient(0.4, 0, 1.399), 4)
    0.6846
    """
    held = max(ratio, critical_pressure_ratio(beta, gamma))
    drop = 2 * gamma / (gamma - 1) * (1 - held ** ((gamma - 1) / gamma))
    return sqrt(drop / (held ** (-2 / gamma) - beta**4))


def restriction_air_flow(
    area: float, discharge: float, depression: float, pressure: float, temperature: float
) -> float:
    """Air drawn through a restriction, told at the state before it, `Cd Cf A sqrt(R T)`.

    Parameters
    ----------
    area : float
        Area that the discharge coefficient is referred to, [mm2]
    discharge : float
        Discharge coefficient on that area, [number]
    depression : float
        Pressure drop from before to behind the restriction, [kPa]
    pressure : float
        Absolute pressure before it, [kPa]
    temperature : float
        Temperature before it, [degC]

    Returns
    -------
    flow : float
        Volume flow at the state before the restriction, [L/s]

    Notes
    -----
    The form of 40 CFR 1065.640 with a plenum before the restriction, for dry air with a ratio of
    specific heats of 1.4; past the critical ratio the flow chokes. The flow function rises with
    the depression and falls with the pressure until then. Assumes still air before the
    restriction and a coefficient that does not change with the depression.

    Examples
    --------
    Choked, 1 cm2 passes 0.6847 sqrt(R T) of air at 15 C:

    >>> round(restriction_air_flow(100, 1, 55, 101.325, 15), 2)
    19.69
    """
    ratio = 1 - depression / pressure
    root = sqrt(GAS_CONSTANT_AIR * (temperature + 273.15))
    return discharge * flow_coefficient(ratio, 0, GAMMA_AIR) * area * root / 1000


@calculation(
    flow="L/s + 0..5000",
    area="mm2 - 20..20000",
    depression="kPa - 0.2..60",
    pressure="kPa + 50..120",
    temperature="degC - -40..80",
    gives="number",
)
def discharge_coefficient(
    flow: float, area: float, depression: float, pressure: float, temperature: float
) -> float:
    """Discharge coefficient that a measured flow stands for.

    Parameters
    ----------
    flow : float
        Volume flow at the state before the restriction, [L/s]
    area : float
        Area that the coefficient is referred to, [mm2]
    depression : float
        Pressure drop across the restriction, [kPa]
    pressure : float
        Absolute pressure before it, [kPa]
    temperature : float
        Temperature before it, [degC]

    Returns
    -------
    coefficient : float
        Measured over loss-free flow, [number]

    Notes
    -----
    The inverse of `restriction_air_flow` and bound to its assumptions. Name the area with every
    figure: curtain, throat and valve head give different coefficients for one flow.

    Examples
    --------
    The flow that `restriction_air_flow` gives for a coefficient of 0.6:

    >>> there = restriction_air_flow(900, 0.6, 7, 101, 20)
    >>> round(discharge_coefficient(there, 900, 7, 101, 20), 9)
    0.6
    """
    return flow / restriction_air_flow(area, 1, depression, pressure, temperature)
