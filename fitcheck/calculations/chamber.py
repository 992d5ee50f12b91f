"""Volumes above the piston and what they make of the compression ratio."""

from __future__ import annotations

from math import pi

from fitcheck.calculations.bounds import corners
from fitcheck.calculations.crank import piston_position
from fitcheck.calculations.registry import calculation


@calculation(bore="mm + 20..250", stroke="mm + 10..300", gives="cc")
def swept_volume(bore: float, stroke: float) -> float:
    """Volume that one piston sweeps, `pi/4 B^2 S`.

    Parameters
    ----------
    bore : float
        Cylinder bore, [mm]
    stroke : float
        Stroke, twice the crank throw, [mm]

    Returns
    -------
    volume : float
        Swept volume of one cylinder, [cc]

    Notes
    -----
    Geometry; holds for any right cylinder. Never falls as bore or stroke grows.

    Examples
    --------
    Four cylinders of 68 x 75 mm (Mathur & Sharma, Internal Combustion Engines, Ex 1.1):

    >>> round(4 * swept_volume(68, 75), 1)
    1089.5
    """
    return pi / 4 * bore**2 * stroke / 1000


def _deck_volume(bore: float, piston_below_deck: float) -> float:
    return pi / 4 * bore**2 * piston_below_deck / 1000


@calculation(
    bore="mm ~ 20..250",
    piston_below_deck="mm + -20..40",
    gives="cc",
    bounds=corners(_deck_volume),
)
def deck_volume(bore: float, piston_below_deck: float) -> float:
    """Volume between the piston's flat at top dead centre and the deck, `pi/4 B^2 h`.

    Parameters
    ----------
    bore : float
        Cylinder bore, [mm]
    piston_below_deck : float
        How far the piston's flat stays below the deck; negative where it stands proud, [mm]

    Returns
    -------
    volume : float
        Deck volume; negative where the piston stands proud, [cc]

    Notes
    -----
    Geometry. Dish, dome and valve pockets are counted apart, from the same flat. A proud piston
    takes more room away the larger the bore, so the direction in the bore turns with the sign.

    Examples
    --------
    >>> round(deck_volume(100, 0.5), 3), round(deck_volume(100, -0.5), 3)
    (3.927, -3.927)
    """
    return _deck_volume(bore, piston_below_deck)


@calculation(swept="cc + 1..15000", clearance="cc - 0.1..5000", gives="number")
def compression_ratio(swept: float, clearance: float) -> float:
    """Static compression ratio, `(Vs + Vc) / Vc`.

    Parameters
    ----------
    swept : float
        Swept volume of the cylinder, [cc]
    clearance : float
        All volume above the piston at top dead centre, [cc]

    Returns
    -------
    ratio : float
        Compression ratio, [number]

    Notes
    -----
    Geometry; says nothing of valve timing (see `effective_compression`).

    Examples
    --------
    140 in3 squeezed into 20 in3 (US FAA powerplant handbook): 7 to 1.

    >>> round(compression_ratio((140 - 20) * 16.387064, 20 * 16.387064), 9)
    7.0
    """
    return 1 + swept / clearance


def trapped_volume(
    bore: float, stroke: float, rod_length: float, clearance: float, intake_closing: float
) -> float:
    """Volume above the piston when the intake valve closes.

    Parameters
    ----------
    bore : float
        Cylinder bore, [mm]
    stroke : float
        Stroke, [mm]
    rod_length : float
        Rod length between centres, [mm]
    clearance : float
        All volume above the piston at top dead centre, [cc]
    intake_closing : float
        Crank angle past bottom dead centre at which the valve closes, [deg]

    Returns
    -------
    volume : float
        Trapped volume, [cc]

    Notes
    -----
    Exact piston motion (`piston_position`), pressure waves left out. Which lift counts as
    closed is a convention: say it together with the angle.

    Examples
    --------
    80 x 100 mm, closing 60 degrees past bottom dead centre, compression 8 from there on, rod so
    long that the motion is harmonic (Gupta, Fundamentals of IC Engines, Ex 11.4: 0.00043 m3):

    >>> clearance = 0.75 * swept_volume(80, 100) / (8 - 1)
    >>> round(trapped_volume(80, 100, 1e9, clearance, 60), 2)
    430.85
    """
    below = piston_position(stroke, rod_length, 180 - intake_closing)
    return clearance + pi / 4 * bore**2 * below / 1000


@calculation(
    bore="mm + 20..250",
    stroke="mm + 10..300",
    rod_length="mm - 20..800",
    clearance="cc - 0.1..5000",
    intake_closing="deg - 0..180",
    gives="number",
)
def effective_compression(
    bore: float, stroke: float, rod_length: float, clearance: float, intake_closing: float
) -> float:
    """Compression ratio counted from the closing of the intake valve.

    Parameters
    ----------
    bore : float
        Cylinder bore, [mm]
    stroke : float
        Stroke, [mm]
    rod_length : float
        Rod length between centres, [mm]
    clearance : float
        All volume above the piston at top dead centre, [cc]
    intake_closing : float
        Crank angle past bottom dead centre at which the valve closes, [deg]

    Returns
    -------
    ratio : float
        Trapped volume over clearance volume, [number]

    Notes
    -----
    Exact piston motion; a comparison figure, since it leaves the speed of the air out.

    Examples
    --------
    With harmonic motion a closing at 60 degrees leaves three quarters of the stroke, so that
    9 to 1 becomes 7 to 1:

    >>> swept = swept_volume(86, 86)
    >>> round(effective_compression(86, 86, 1e9, swept / (9 - 1), 60), 6)
    7.0
    """
    return trapped_volume(bore, stroke, rod_length, clearance, intake_closing) / clearance


@calculation(
    deck_height="mm + 50..600",
    stroke="mm - 10..300",
    rod_length="mm - 20..800",
    compression_height="mm - 5..200",
    gives="mm",
)
def piston_below_deck(
    deck_height: float, stroke: float, rod_length: float, compression_height: float
) -> float:
    """How far the piston's flat stays below the deck at top dead centre, `H - S/2 - L - h`.

    Parameters
    ----------
    deck_height : float
        From the crank's axis to the deck, [mm]
    stroke : float
        Stroke, [mm]
    rod_length : float
        Rod length between centres, [mm]
    compression_height : float
        From the piston pin's axis to the piston's flat, [mm]

    Returns
    -------
    below : float
        Distance below the deck; negative where the piston stands proud, [mm]

    Notes
    -----
    Geometry, cold and at rest. Four lengths whose errors add up: a measurement replaces it.

    Examples
    --------
    >>> round(piston_below_deck(229.4, 88.4, 144.8, 39.6), 2)
    0.8
    """
    return deck_height - stroke / 2 - rod_length - compression_height
