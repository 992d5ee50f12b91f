"""Calculations that are more than a line: one file a subject, all in the registry."""

from fitcheck.calculations import (
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
    spring_stress,
    stackup,
    thread,
    timing,
    train,
)
from fitcheck.calculations.registry import CALCULATIONS, Argument, Calculation, calculation

__all__ = [
    "CALCULATIONS",
    "Argument",
    "Calculation",
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
    "spring_stress",
    "stackup",
    "thread",
    "timing",
    "train",
]
