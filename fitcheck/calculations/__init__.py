"""Calculations that are more than a line: one file a subject, all in the registry."""

from fitcheck.calculations import (
    cam,
    chamber,
    crank,
    milling,
    output,
    piston_to_valve,
    spring,
)  # fmt: skip
from fitcheck.calculations.registry import CALCULATIONS, Argument, Calculation, calculation

__all__ = [
    "CALCULATIONS",
    "Argument",
    "Calculation",
    "calculation",
    "cam",
    "chamber",
    "crank",
    "milling",
    "output",
    "piston_to_valve",
    "spring",
]  # fmt: skip
