"""Quantities: intervals with exact ends, units, and their text in and out."""

from fitcheck.quantity.interval import Interval
from fitcheck.quantity.text import (
    EXACT,
    Quantity,
    QuantityError,
    System,
    Tolerance,
    kind_of,
    read_quantity,
    show,
)
from fitcheck.quantity.units import KINDS, NUMBER, Dimension, Kind

__all__ = [
    "EXACT",
    "KINDS",
    "NUMBER",
    "Dimension",
    "Interval",
    "Kind",
    "Quantity",
    "QuantityError",
    "System",
    "Tolerance",
    "kind_of",
    "read_quantity",
    "show",
]
