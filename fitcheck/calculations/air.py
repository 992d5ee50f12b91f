"""The air outside: its density, and power told at a standard state."""

from __future__ import annotations

from math import exp, log, pow, sqrt

from fitcheck.calculations.registry import calculation

_DRY_AIR = 287.05  # J/(kg K)
_VAPOUR = 461.5  # J/(kg K)
# Coefficients of the saturation pressure over water in ASHRAE Fundamentals (from memory; held
# against steam-table values in the tests).
_WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673)


@calculation(temperature="degC + -40..100", gives="kPa", accuracy=1e-3)
def saturation_pressure(temperature: float) -> float:
    """Pressure of saturated water vapour over water.

    Parameters
    ----------
    temperature : float
        Air temperature, [degC]

    Returns
    -------
    pressure : float
        Saturation pressure, [kPa]

    Notes
    -----
    Hyland and Wexler's fit as ASHRAE Fundamentals gives it. Below freezing it is that of
    supercooled water, higher than over ice; what that does to the density of air is below 0.1 %.

    Examples
    --------
    25 C (steam tables: 3.169 kPa):

    >>> round(saturation_pressure(25), 3)
    3.169
    """
    kelvin = temperature + 273.15
    a, b, c, d, e, f = _WATER
    fit = a / kelvin + b + c * kelvin + d * kelvin**2 + e * kelvin**3 + f * log(kelvin)
    return exp(fit) / 1000


@calculation(
    pressure="kPa + 50..120",
    temperature="degC - -40..60",
    humidity="% - 0..100",
    gives="kPa",
)
def dry_air_pressure(pressure: float, temperature: float, humidity: float) -> float:
    """Barometric pressure less that of the water vapour.

    Parameters
    ----------
    pressure : float
        Absolute barometric pressure, [kPa]
    temperature : float
        Air temperature, [degC]
    humidity : float
        Relative humidity, [%]

    Returns
    -------
    pressure : float
        Partial pressure of the dry air, [kPa]

    Notes
    -----
    Dalton's law. The pressure at the place, not the one reduced to sea level.

    Examples
    --------
    >>> round(dry_air_pressure(101.325, 25, 50), 2)
    99.74
    """
    return pressure - humidity / 100 * saturation_pressure(temperature)


@calculation(
    pressure="kPa + 50..120",
    temperature="degC - -40..60",
    humidity="% - 0..100",
    gives="kg/m3",
    accuracy=2e-3,
)
def air_density(pressure: float, temperature: float, humidity: float) -> float:
    """Density of moist air, `pd / (Rd T) + pv / (Rv T)`.

    Parameters
    ----------
    pressure : float
        Absolute barometric pressure, [kPa]
    temperature : float
        Air temperature, [degC]
    humidity : float
        Relative humidity, [%]

    Returns
    -------
    density : float
        Density, [kg/m3]

    Notes
    -----
    Perfect gases; real air differs by less than a thousandth. Falls with humidity because vapour
    is lighter than air, and with temperature for both reasons.

    Examples
    --------
    Standard atmosphere at sea level (ISO 2533: 1.225):

    >>> round(air_density(101.325, 15, 0), 3)
    1.225
    """
    kelvin = temperature + 273.15
    vapour = humidity / 100 * saturation_pressure(temperature)
    return 1000 * ((pressure - vapour) / _DRY_AIR + vapour / _VAPOUR) / kelvin


@calculation(dry_pressure="kPa - 50..120", temperature="degC + -40..60", gives="number")
def power_correction_sae(dry_pressure: float, temperature: float) -> float:
    """Correction of SAE J1349 (June 1990), `1.18 (990/pd) sqrt((t+273)/298) - 0.18`.

    Parameters
    ----------
    dry_pressure : float
        Partial pressure of the dry air at the test, [kPa]
    temperature : float
        Intake air temperature at the test, [degC]

    Returns
    -------
    factor : float
        Corrected over measured power, [number]

    Notes
    -----
    For naturally aspirated spark-ignition engines; assumes a mechanical efficiency of 0.85. Later
    issues of the standard differ. The standard trusts it only near 1 (0.93 to 1.07, from memory).

    Examples
    --------
    The standard's own state, 990 mbar and 25 C:

    >>> round(power_correction_sae(99, 25), 9)
    1.0
    """
    return 1.18 * (99 / dry_pressure) * sqrt((temperature + 273) / 298) - 0.18


@calculation(dry_pressure="kPa - 50..120", temperature="degC + -40..60", gives="number")
def power_correction_iso(dry_pressure: float, temperature: float) -> float:
    """Correction of ISO 1585 for spark ignition, `(99/pd)^1.2 (T/298)^0.6`.

    Parameters
    ----------
    dry_pressure : float
        Partial pressure of the dry air at the test, [kPa]
    temperature : float
        Intake air temperature at the test, [degC]

    Returns
    -------
    factor : float
        Corrected over measured power, [number]

    Notes
    -----
    The form is from memory, the standard was not seen: use it to compare, not to certify. It
    trusts itself only near 1 (0.93 to 1.07, from memory).

    Examples
    --------
    The standard's own state, 99 kPa and 298 K:

    >>> round(power_correction_iso(99, 25), 9)
    1.0
    """
    return pow(99 / dry_pressure, 1.2) * pow((temperature + 273) / 298, 0.6)
