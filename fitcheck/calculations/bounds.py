"""Bounds of a calculation over a box of arguments, where one direction each is not enough."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product

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
