"""What every calculation declares is true: bounds hold what lies inside, directions never turn.

The truth is the function itself at points drawn inside the box; nothing of the registry's own
arithmetic is used to make it.
"""

from __future__ import annotations

from zlib import crc32

import numpy as np
import pytest

import fitcheck.calculations
from fitcheck.calculations import CALCULATIONS, Calculation

BOXES = 200
INSIDE = 10  # points a box
PAIRS = 2000  # for the directions, shared out among the arguments
ALL = sorted(CALCULATIONS.values(), key=lambda calculation: calculation.name)


def _random(calculation: Calculation) -> np.random.Generator:
    return np.random.default_rng(crc32(calculation.name.encode()))


def _ends(calculation: Calculation) -> tuple[np.ndarray, np.ndarray]:
    low = np.array([argument.low for argument in calculation.arguments], float)
    return low, np.array([argument.high for argument in calculation.arguments], float)


def _points(random: np.random.Generator, low: np.ndarray, high: np.ndarray, count: int):
    """Places in the range: even, or crowded to one end where the formula may be extreme."""
    shape = count, low.size
    share = random.random(shape) ** random.choice([1, 1, 3, 8], shape)
    mirrored = random.random(shape) < 0.3
    return low + (high - low) * np.where(mirrored, 1 - share, share)


def _boxes(random: np.random.Generator, low: np.ndarray, high: np.ndarray):
    """First corners, last corners and points inside (box, point, argument)."""
    shape = BOXES, low.size
    width = (high - low) * 10.0 ** random.uniform(-5, 0, shape)
    width[random.random(shape) < 0.25] = 0  # some arguments are known exactly
    start = _points(random, low, high, BOXES)
    first = np.maximum(low, start - width / 2)
    last = np.maximum(first, np.minimum(high, start + width / 2))
    share = random.random((BOXES, INSIDE, low.size))
    corner = random.random(share.shape) < 0.4
    share = np.where(corner, np.round(share), share)
    inside = first[:, None] + (last - first)[:, None] * share
    return first, last, np.clip(inside, first[:, None], last[:, None])


def _to_base(calculation: Calculation, values: np.ndarray) -> np.ndarray:
    offset = np.array([float(argument.unit.offset) for argument in calculation.arguments])
    factor = np.array([float(argument.unit.factor) for argument in calculation.arguments])
    return (values + offset) * factor


def _rounding(*values: float) -> float:
    """What floats may lose on figures of this size: far below any figure that is shown."""
    return 1e-12 * (1e-3 + max(map(abs, values)))


def test_all_modules_with_calculations_are_imported_with_the_package():
    from pathlib import Path

    folder = Path(fitcheck.calculations.__file__).parent
    declaring = {
        path.stem
        for path in folder.glob("*.py")
        if "\n@calculation(" in path.read_text(encoding="utf-8")
    }
    imported = {calculation.function.__module__.rpartition(".")[2] for calculation in ALL}
    assert declaring == imported


@pytest.mark.parametrize("calculation", ALL, ids=lambda calculation: calculation.name)
def test_bounds_hold_every_point_inside(calculation):
    first, last, inside = _boxes(_random(calculation), *_ends(calculation))
    lows, highs = _to_base(calculation, first).tolist(), _to_base(calculation, last).tolist()
    offset, factor = float(calculation.gives.offset), float(calculation.gives.factor)
    for low, high, points in zip(lows, highs, inside.tolist(), strict=True):
        lower, upper = calculation.lower(low, high), calculation.upper(low, high)
        slack = _rounding(lower, upper, *low, *high)
        for point in points:
            value = (calculation.function(*point) + offset) * factor
            assert lower - slack <= value <= upper + slack, point


@pytest.mark.parametrize("calculation", ALL, ids=lambda calculation: calculation.name)
def test_directions_are_true(calculation):
    random, (low, high) = _random(calculation), _ends(calculation)
    with_direction = [i for i, argument in enumerate(calculation.arguments) if argument.direction]
    for i in with_direction:
        rising = calculation.arguments[i].direction > 0
        count = max(100, PAIRS // len(with_direction))
        points = _points(random, low, high, count)
        others = points.copy()
        step = (high[i] - low[i]) * 10.0 ** random.uniform(-5, 0, count)
        others[:, i] = np.minimum(high[i], points[:, i] + step)
        moved = 0
        for point, other in zip(points.tolist(), others.tolist(), strict=True):
            before, after = calculation.function(*point), calculation.function(*other)
            less, more = (before, after) if rising else (after, before)
            slack = calculation.accuracy * max(abs(less), abs(more)) + _rounding(*point, less)
            assert more >= less - slack, (calculation.arguments[i].name, point, other)
            moved += less != more
        # an argument that is declared but forgotten in the formula would pass everything else
        assert moved, f"{calculation.arguments[i].name} never changes the result"


@pytest.mark.parametrize("calculation", ALL, ids=lambda calculation: calculation.name)
def test_bounds_close_in_on_a_point(calculation):
    """Sound bounds may be wide, but not where every argument is known exactly."""
    random, ends = _random(calculation), _ends(calculation)
    points = _points(random, *ends, 40)
    offset, factor = float(calculation.gives.offset), float(calculation.gives.factor)
    for point, base in zip(points.tolist(), _to_base(calculation, points).tolist(), strict=True):
        value = (calculation.function(*point) + offset) * factor
        slack = max(3 * calculation.accuracy, 1e-6) * abs(value) + 2e-6 * factor
        assert calculation.lower(base, base) >= value - slack, point
        assert calculation.upper(base, base) <= value + slack, point


@pytest.mark.parametrize(
    "calculation", [one for one in ALL if one.arrays is not None], ids=lambda one: one.name
)
def test_what_is_written_for_arrays_says_the_same(calculation):
    random = _random(calculation)
    low, high = _ends(calculation)
    first, last, _ = _boxes(random, low, high)
    first, last = _to_base(calculation, first), _to_base(calculation, last)
    for end in (-1, 1):
        ends = calculation._wanted(end, list(first.T), list(last.T))
        found = calculation.at(end, arrays=True)(*ends)
        rows = zip(*(end.tolist() for end in ends), strict=True)
        single = [calculation.at(end)(*row) for row in rows]
        np.testing.assert_allclose(found, single, rtol=1e-14)
