"""Quantities: intervals with exact ends, units, and their text in and out."""

from fitcheck.quantity.interval import Interval
from fitcheck.quantity.showing import System, finer_apart, show, show_safe
from fitcheck.quantity.text import (
    EXACT,
    Quantity,
    QuantityError,
    Tolerance,
    kind_of,
    read_quantity,
)
from fitcheck.quantity.tidy import tidied
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
    "finer_apart",
    "kind_of",
    "read_quantity",
    "show",
    "show_safe",
    "tidied",
]
