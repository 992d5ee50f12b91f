"""Calculations that are more than a line: one file a subject, all in the registry."""

from fitcheck.calculations import (
    air,
    airflow,
    cam,
    chamber,
    contact,
    crank,
    fits,
    milling,
    output,
    piston_to_valve,
    restriction,
    spring,
    stackup,
    thread,
    timing,
    train,
)  # fmt: skip
from fitcheck.calculations.registry import CALCULATIONS, Argument, Calculation, calculation

__all__ = [
    "CALCULATIONS",
    "Argument",
    "Calculation",
    "air",
    "airflow",
    "calculation",
    "cam",
    "chamber",
    "contact",
    "crank",
    "fits",
    "milling",
    "output",
    "piston_to_valve",
    "restriction",
    "spring",
    "stackup",
    "thread",
    "timing",
    "train",
]  # fmt: skip
