"""Calculations that are more than a line: one file a subject, all in the registry."""

from fitcheck.calculations import chamber, output
from fitcheck.calculations.registry import CALCULATIONS, Argument, Calculation, calculation

__all__ = ["CALCULATIONS", "Argument", "Calculation", "calculation", "chamber", "output"]
