"""Valve events: when valves open and close, from durations and where the cam is installed."""

from __future__ import annotations

from fitcheck.calculations.registry import calculation


@calculation(duration="deg + 100..420", intake_centreline="deg + 30..180", gives="deg", arrays=True)
def intake_closing(duration: float, intake_centreline: float) -> float:
    """Crank angle after bottom dead centre at which the intake valve closes, `D/2 + C - 180`.

    Parameters
    ----------
    duration : float
        Intake duration in crank degrees, [deg]
    intake_centreline : float
        Full lift of the intake lobe after top dead centre, as installed, [deg]

    Returns
    -------
    closing : float
        Closing after bottom dead centre; negative when before it, [deg]

    Notes
    -----
    Assumes a lobe symmetric about full lift. Holds at the lift that the duration is stated at.

    Examples
    --------
    Opening 28 before top dead centre and 279 degrees open (US Army TM 9-8000, figs 2-54, 2-55):

    >>> intake_closing(279, 279 / 2 - 28)
    71.0
    """
    return duration / 2 + intake_centreline - 180


@calculation(
    lobe_separation="deg + 80..140", intake_centreline="deg - 30..180", gives="deg", arrays=True
)
def exhaust_centreline(lobe_separation: float, intake_centreline: float) -> float:
    """Full lift of the exhaust lobe before top dead centre, `2 LSA - C`.

    Parameters
    ----------
    lobe_separation : float
        Angle between the full lifts of both lobes, in cam degrees, [deg]
    intake_centreline : float
        Full lift of the intake lobe after top dead centre, as installed, [deg]

    Returns
    -------
    centreline : float
        Full exhaust lift before top dead centre in crank degrees, [deg]

    Notes
    -----
    The cam turns at half crank speed, so the lobes lie twice their separation apart on the crank.

    Examples
    --------
    >>> exhaust_centreline(110, 106)
    114
    """
    return 2 * lobe_separation - intake_centreline


@calculation(
    intake_duration="deg + 100..420",
    exhaust_duration="deg + 100..420",
    lobe_separation="deg - 80..140",
    gives="deg",
)
def overlap(intake_duration: float, exhaust_duration: float, lobe_separation: float) -> float:
    """Crank angle over which both valves are open, `(Di + De)/2 - 2 LSA`.

    Parameters
    ----------
    intake_duration : float
        Intake duration in crank degrees, [deg]
    exhaust_duration : float
        Exhaust duration in crank degrees, [deg]
    lobe_separation : float
        Angle between the full lifts of both lobes, in cam degrees, [deg]

    Returns
    -------
    overlap : float
        Overlap in crank degrees; negative where the exhaust closes first, [deg]

    Notes
    -----
    Intake opening plus exhaust closing; the installed centreline cancels. Both durations at the
    same stated lift, lobes symmetric.

    Examples
    --------
    Intake opening 28 before and exhaust closing 45 degrees after top dead centre overlap by 73
    (US Army TM 9-8000, fig 2-55); with 279 and 290 degrees open that is 105.75 between lobes:

    >>> overlap(279, 290, 105.75)
    73.0
    """
    return (intake_duration + exhaust_duration) / 2 - 2 * lobe_separation
