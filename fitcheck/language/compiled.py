"""Compiled trees: what the Python printer makes, kept between runs and called.

Apart from the printer, which a command whose knowledge is kept does without.
"""

from __future__ import annotations

import marshal
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import isqrt, sqrt
from typing import Any

from fitcheck.calculations import CALCULATIONS
from fitcheck.source import frozen

# A rule's answers, from the mildest to the gravest: the worst of several places is the greatest.
SILENT, FITS, STRADDLES, NEAR, CONFLICT = range(5)
Input = tuple[str, str]
# An exact root is taken to whole steps of one over this.
ROOT_DIGITS = 10**15


@frozen
class BoundOf:
    """The name of a calculation's bound in compiled source, to be looked up when it is run."""

    calculation: str
    end: int
    exact: bool

    def function(self) -> Callable[..., Any]:
        """The bound itself."""
        function = CALCULATIONS[self.calculation].at(self.end)
        return _exactly(function) if self.exact else function


@dataclass
class Compiled:
    """A function of a list of values, one for each input in order.

    It can be pickled: bytecode and the values of its names travel, the source does not; the
    function is made where it is first called.
    """

    inputs: tuple[Input, ...]
    source: str
    names: dict[str, Fraction | BoundOf]
    bytecode: bytes

    @cached_property
    def function(self) -> Callable[[Sequence[Any]], tuple[Any, ...]]:
        """The function."""
        space: dict[str, Any] = {"sqrt": _root, "root_down": _root_down, "root_up": _root_up}
        for name, value in self.names.items():
            space[name] = value.function() if isinstance(value, BoundOf) else value
        exec(marshal.loads(self.bytecode), space)
        function: Callable[[Sequence[Any]], tuple[Any, ...]] = space["f"]
        return function

    def exactly(self, facts: Mapping[str, Any]) -> tuple[Any, ...]:
        """What it gives for facts, at their ends as they are."""
        return self.function([facts[name].exact_end(end) for name, end in self.inputs])

    def __getstate__(self) -> dict[str, Any]:
        kept = {key: value for key, value in self.__dict__.items() if key != "function"}
        return kept | {"source": ""}


def _root(value: float) -> float:
    return sqrt(value) if value > 0 else 0.0


def _root_down(value: Fraction) -> Fraction:
    return Fraction(_whole_root(value), ROOT_DIGITS)


def _root_up(value: Fraction) -> Fraction:
    return Fraction(_whole_root(value) + 1, ROOT_DIGITS)


def _whole_root(value: Fraction) -> int:
    scaled = max(Fraction(0), value) * ROOT_DIGITS**2
    return isqrt(scaled.numerator // scaled.denominator)


def _exactly(function: Callable[..., float]) -> Callable[..., Fraction]:
    def exact(*args: Fraction) -> Fraction:
        return Fraction(function(*map(float, args)))

    return exact
