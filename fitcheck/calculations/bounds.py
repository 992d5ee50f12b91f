"""Bounds of a calculation over a box of arguments, where one direction each is not enough."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product
from math import ceil, floor, pi

Ends = tuple[float, ...]
Range = tuple[float, float]


def corners(function: Callable[..., float]) -> Callable[[Ends, Ends], Range]:
    """Bounds of a function that is monotone in each argument while the others stand still.

    The direction in one argument may turn with the value of another (a volume falls as the bore
    grows where the piston stands proud). The extremes then lie on corners of the box, because
    from any point a move along each axis in turn reaches a corner without passing a better one.
    """

    def bounds(lows: Ends, highs: Ends) -> Range:
        values = [function(*corner) for corner in product(*zip(lows, highs, strict=True))]
        return min(values), max(values)

    return bounds


def _passes(low: float, high: float, peak: float) -> bool:
    """Whether `peak` or a whole turn from it lies between the two angles."""
    return floor((high - peak) / (2 * pi)) >= ceil((low - peak) / (2 * pi))


def times(first: Range, second: Range) -> Range:
    """Range of the product of two numbers known by their ranges."""
    products = [a * b for a, b in product(first, second)]
    return min(products), max(products)


def plus(first: Range, second: Range) -> Range:
    """Range of the sum of two numbers known by their ranges."""
    return first[0] + second[0], first[1] + second[1]
