"""Interference and clearance fits, cold and hot: seats, guides, stems."""

from __future__ import annotations

from fitcheck.calculations.registry import calculation


def _grown(
    diameter: float, grows: float, grows_rise: float, shrinks: float, shrinks_rise: float
) -> float:
    return diameter * (grows * grows_rise - shrinks * shrinks_rise) / 1e6


def _hot_bounds(lows: tuple[float, ...], highs: tuple[float, ...]) -> tuple[float, float]:
    # The last two arguments close the gap that the two before them open; for each sign the
    # diameter's part is linear, so its extremes lie at the ends.
    least = [_grown(d, lows[4], lows[5], highs[2], highs[3]) for d in (lows[1], highs[1])]
    most = [_grown(d, highs[4], highs[5], lows[2], lows[3]) for d in (lows[1], highs[1])]
    return lows[0] + min(least), highs[0] + max(most)


@calculation(
    interference="mm + -1..1",
    diameter="mm ~ 4..150",
    housing_expansion="um/m/K - 0..40",
    housing_rise="K - 0..800",
    insert_expansion="um/m/K + 0..40",
    insert_rise="K + 0..800",
    gives="mm",
    bounds=_hot_bounds,
)
def interference_hot(
    interference: float,
    diameter: float,
    housing_expansion: float,
    housing_rise: float,
    insert_expansion: float,
    insert_rise: float,
) -> float:
    """Interference left at running temperature, `delta + d (ai dTi - ah dTh)`.

    Parameters
    ----------
    interference : float
        Insert outside less bore when cold, [mm]
    diameter : float
        Diameter of the fit, [mm]
    housing_expansion : float
        Thermal expansion of the housing, [um/m/K]
    housing_rise : float
        How much hotter the housing is than when it was measured, [K]
    insert_expansion : float
        Thermal expansion of the insert, [um/m/K]
    insert_rise : float
        How much hotter the insert is than when it was measured, [K]

    Returns
    -------
    interference : float
        Interference when hot; negative means that the insert is loose, [mm]

    Notes
    -----
    Free linear expansion of both parts, each at one temperature, at or above that of measuring.
    Neglects creep and stress relief, which only take interference away.

    Examples
    --------
    40 mm grey iron (11.4) in aluminium 356.0 (21.5; both Callister, Materials Science and
    Engineering, Table B.6), both 175 K hotter, loses 70.7 um:

    >>> round(interference_hot(0.1, 40, 21.5, 175, 11.4, 175), 4)
    0.0293
    """
    gain = _grown(diameter, insert_expansion, insert_rise, housing_expansion, housing_rise)
    return interference + gain


@calculation(
    clearance="mm + -1..1",
    diameter="mm ~ 4..150",
    inner_expansion="um/m/K - 0..40",
    inner_rise="K - 0..800",
    outer_expansion="um/m/K + 0..40",
    outer_rise="K + 0..800",
    gives="mm",
    bounds=_hot_bounds,
)
def clearance_hot(
    clearance: float,
    diameter: float,
    inner_expansion: float,
    inner_rise: float,
    outer_expansion: float,
    outer_rise: float,
) -> float:
    """Clearance at running temperature, such as of a stem in its guide.

    Parameters
    ----------
    clearance : float
        Bore less stem when cold, [mm]
    diameter : float
        Stem diameter, [mm]
    inner_expansion : float
        Thermal expansion of the stem, [um/m/K]
    inner_rise : float
        How much hotter the stem is than when it was measured, [K]
    outer_expansion : float
        Thermal expansion of the guide, [um/m/K]
    outer_rise : float
        How much hotter the guide is than when it was measured, [K]

    Returns
    -------
    clearance : float
        Clearance when hot; negative means that the stem seizes, [mm]

    Notes
    -----
    Free linear expansion of both parts, each at one temperature, at or above that of measuring.
    A guide held by a head of another metal grows more or less than alone.

    Examples
    --------
    An 8 mm stem of 304 steel (17.2), 400 K hotter, in bronze C93200 (18.0; both Callister,
    Materials Science and Engineering, Table B.6), 150 K hotter:

    >>> round(clearance_hot(0.05, 8, 17.2, 400, 18.0, 150), 4)
    0.0166
    """
    gain = _grown(diameter, outer_expansion, outer_rise, inner_expansion, inner_rise)
    return clearance + gain
