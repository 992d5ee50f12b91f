"""How a calculation is declared, so that an interval passes through it soundly.

A calculation is a plain function of floats in the units that its declaration names:

    @calculation(stroke="mm + 10..300", speed="rpm + 0..20000", gives="m/s")
    def mean_piston_speed(stroke: float, speed: float) -> float: ...

Each argument is declared as `unit direction low..high`: `+` the result never falls as the
argument grows, `-` it never rises, `~` neither. The range is where the formula holds; the
knowledge loads only if every argument stays inside it. With a `~`, the declaration names
`bounds`, a function that takes the lower ends and the upper ends of all arguments (two tuples)
and returns bounds of the result over that box. `arrays` may name the same formula (or, with
`bounds`, the same bounds) written for numpy arrays, for catalogs. `accuracy` is the relative error
of the result; every bound is moved outward by it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import field
from fractions import Fraction
from typing import Any, Literal

from fitcheck.quantity.units import KINDS, UNITS, Dimension, Unit
from fitcheck.source import frozen

Bounds = Callable[[tuple[float, ...], tuple[float, ...]], tuple[float, float]]
_DECLARATION = re.compile(
    r"(?P<unit>\S.*?) (?P<direction>[-+~]) (?P<low>-?[\d.e-]+?)\.\.(?P<high>-?[\d.e]+)"
)
_DIRECTIONS = {"+": 1, "-": -1, "~": 0}


# Of units that several kinds share a name for, the first in the table.
_UNITS = {unit.name: unit for unit in reversed(UNITS)}


def _unit(name: str) -> Unit:
    found = _UNITS.get("" if name == "number" else name)
    if found is None:
        raise ValueError(f"the unit '{name}' is not in the table of units")
    return found


@frozen
class Argument:
    """One argument: its unit, direction (1, -1 or 0) and the range in that unit."""

    name: str
    unit: Unit
    direction: int
    low: float
    high: float

    @property
    def dimension(self) -> Dimension:
        """The dimension that a value handed to this argument must have."""
        return KINDS[self.unit.kind].dimension

    @property
    def base_range(self) -> tuple[Fraction, Fraction]:
        """The range in base units."""
        low, high = Fraction(str(self.low)), Fraction(str(self.high))
        unit = self.unit
        return (low + unit.offset) * unit.factor, (high + unit.offset) * unit.factor

    @classmethod
    def declared(cls, name: str, text: str) -> Argument:
        """Read `mm + 10..300`."""
        match = _DECLARATION.fullmatch(text)
        if not match:
            raise ValueError(f"'{name}' is declared as '{text}'; write: unit + low..high")
        return cls(
            name,
            _unit(match["unit"]),
            _DIRECTIONS[match["direction"]],
            float(match["low"]),
            float(match["high"]),
        )


@frozen
class Calculation:
    """A registered function with what the language needs to know of it."""

    name: str
    arguments: tuple[Argument, ...]
    gives: Unit
    function: Callable[..., float] = field(repr=False)
    bounds: Bounds | None = field(repr=False)
    accuracy: float
    arrays: Callable[..., Any] | None = field(default=None, repr=False)

    @property
    def dimension(self) -> Dimension:
        """The dimension of the result."""
        return KINDS[self.gives.kind].dimension

    def __reduce__(self) -> tuple[object, ...]:
        return _registered, (self.name,)

    def lower(self, lows: Sequence[float], highs: Sequence[float]) -> float:
        """A lower bound of the result over the box, all in base units."""
        return float(self.at(-1)(*self._wanted(-1, lows, highs)))

    def upper(self, lows: Sequence[float], highs: Sequence[float]) -> float:
        """An upper bound of the result over the box, all in base units."""
        return float(self.at(1)(*self._wanted(1, lows, highs)))

    def _wanted(self, end: int, lows: Sequence[float], highs: Sequence[float]) -> list[float]:
        if self.bounds is not None:
            return [*lows, *highs]
        return [
            highs[i] if argument.direction == end else lows[i]
            for i, argument in enumerate(self.arguments)
        ]

    def at(self, end: int, *, arrays: bool = False) -> Callable[..., Any]:
        """The lower (-1) or upper (1) bound as a function of the ends that decide it.

        Those are one end of each argument, by its direction; with `bounds`, the lower ends of
        all arguments and then the upper ends. All in base units. With `arrays`, of numpy arrays,
        where the calculation is written for them.
        """
        units = [(float(a.unit.factor), float(a.unit.offset)) for a in self.arguments]
        factor, offset = float(self.gives.factor), float(self.gives.offset)
        function, bounds, count, accuracy = self.function, self.bounds, len(units), self.accuracy
        if arrays:
            assert self.arrays is not None
            function, bounds = self.arrays, bounds and self.arrays

        def bound(*ends: Any) -> Any:
            values = [x / f - o for x, (f, o) in zip(ends, units * 2, strict=False)]
            if bounds is None:
                value = function(*values)
            else:
                value = bounds(tuple(values[:count]), tuple(values[count:]))[end > 0]
            base = (value + offset) * factor
            return base + end * accuracy * abs(base)

        return bound


CALCULATIONS: dict[str, Calculation] = {}


def _registered(name: str) -> Calculation:
    return CALCULATIONS[name]


def calculation(
    *,
    gives: str,
    bounds: Bounds | None = None,
    accuracy: float = 1e-9,
    arrays: Callable[..., Any] | Literal[True] | None = None,
    **arguments: str,
) -> Callable[[Callable[..., float]], Callable[..., float]]:
    """Register the decorated function under its own name; the function itself is unchanged.

    `arrays` is the function, or with `bounds` those, written for arrays; True where the function is
    plain arithmetic, which arrays can do as well.
    """
    declared = tuple(Argument.declared(name, text) for name, text in arguments.items())

    def register(function: Callable[..., float]) -> Callable[..., float]:
        name = function.__name__
        if name in CALCULATIONS:
            raise ValueError(f"the calculation '{name}' is registered twice")
        if bounds is None and any(argument.direction == 0 for argument in declared):
            raise ValueError(f"'{name}' has an argument declared ~ and no bounds")
        CALCULATIONS[name] = Calculation(
            name,
            declared,
            _unit(gives),
            function,
            bounds,
            accuracy,
            function if arrays is True else arrays,
        )
        return function

    return register
