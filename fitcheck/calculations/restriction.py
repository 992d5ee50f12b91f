"""Compressible flow of air through a restriction: a port on the flow bench, a throttle, a venturi.

The form is that of US 40 CFR 1065.640 and 1065.642, which calibrate and use flow meters.
"""

from __future__ import annotations

from math import inf, sqrt

from fitcheck.calculations.registry import calculation

GAMMA_AIR = 1.4
GAS_CONSTANT_AIR = 287.05  # dry air, J/(kg K)
_MOLAR_GAS_CONSTANT = 8.314472  # J/(mol K), the value printed in 40 CFR 1065.1005


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


def molar_flow(
    discharge: float,
    coefficient: float,
    area: float,
    pressure: float,
    molar_mass: float,
    temperature: float,
) -> float:
    """Molar flow through a restriction, `Cd Cf A p / sqrt(Z M R T)`, 40 CFR 1065.642.

    Parameters
    ----------
    discharge : float
        Discharge coefficient, [number]
    coefficient : float
        Flow function of `flow_coefficient`, [number]
    area : float
        Throat area, [m2]
    pressure : float
        Inlet stagnation pressure, absolute, [Pa]
    molar_mass : float
        Molar mass of the gas, [kg/mol]
    temperature : float
        Inlet stagnation temperature, [K]

    Returns
    -------
    flow : float
        Molar flow, [mol/s]

    Notes
    -----
    Assumes a perfect gas, compressibility 1.

    Examples
    --------
    The worked case of 40 CFR 1065.642 prints 33.690 mol/s:

    >>> round(molar_flow(0.985, 0.7219, 0.00456, 98836, 0.0287805, 378.15), 3)
    33.69
    """
    root = sqrt(molar_mass * _MOLAR_GAS_CONSTANT * temperature)
    return discharge * coefficient * area * pressure / root


@calculation(
    area="mm2 + 0..20000",
    discharge="number + 0..1.2",
    depression="kPa + 0..60",
    pressure="kPa - 50..120",
    temperature="degC + -40..80",
    gives="L/s",
)
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


@calculation(
    flow="L/s + 0..5000",
    depression="kPa - 0.7..7.5",
    wanted_depression="kPa + 0.7..7.5",
    gives="L/s",
    accuracy=0.045,
)
def flow_at_depression(flow: float, depression: float, wanted_depression: float) -> float:
    """Flow-bench figure told at another depression, by the square root of the ratio.

    Parameters
    ----------
    flow : float
        Measured volume flow, [L/s]
    depression : float
        Depression of the measurement, [kPa]
    wanted_depression : float
        Depression that the figure is wanted at, [kPa]

    Returns
    -------
    flow : float
        Flow at the wanted depression, [L/s]

    Notes
    -----
    Common practice, no source; the law of incompressible flow. Against compressible flow at
    101.325 kPa it is high by 0.43 % from 25 to 28 inH2O, 1.83 % from 15, 2.53 % from 10 and
    3.49 % from 3 (`square_root_rule_error`); at most 4.5 % either way within the range above
    from a barometer of 90 kPa up, which the bounds allow for.

    Examples
    --------
    100 L/s at 10 inH2O told at 28 inH2O:

    >>> round(flow_at_depression(100, 2.4909, 6.9745), 1)
    167.3
    """
    return flow * sqrt(wanted_depression / depression)


def square_root_rule_error(depression: float, wanted_depression: float, pressure: float) -> float:
    """Relative error of `flow_at_depression` against compressible flow.

    Parameters
    ----------
    depression : float
        Depression of the measurement, [kPa]
    wanted_depression : float
        Depression that the figure is wanted at, [kPa]
    pressure : float
        Absolute pressure before the port, [kPa]

    Returns
    -------
    error : float
        Rule over compressible flow, less one; infinite without depression, [number]

    Notes
    -----
    Assumes a discharge coefficient that does not change with the depression.

    Examples
    --------
    From 10 to 28 inH2O:

    >>> round(square_root_rule_error(2.4909, 6.9745, 101.325), 4)
    0.0253
    """
    if not depression > 0:
        return inf
    here = flow_coefficient(1 - depression / pressure, 0, GAMMA_AIR)
    there = flow_coefficient(1 - wanted_depression / pressure, 0, GAMMA_AIR)
    return sqrt(wanted_depression / depression) * here / there - 1
