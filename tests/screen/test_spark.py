"""The query of a catalog read by Spark: standing for standing what DuckDB answers.

Spark runs here on one machine (its local mode), as a stand-in for a cluster; it is an engine of its own,
written in another language than DuckDB. It is an extra that weighs 450 MB and wants Java, so the test
is skipped, and says so, where either is missing.
"""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

import pytest

import fitcheck
from fitcheck.calculations import CALCULATIONS
from fitcheck.language.columns import CONFLICT, FITS, NEAR, OPEN, SILENT, Columns
from fitcheck.language.outcome import Outcome
from fitcheck.language.plain import FALSE, Plain
from fitcheck.screen.opening import Opening
from fitcheck.screen.screening import screen
from fitcheck.screen.spark import NAMED, judge, over_series, to_parquet
from fitcheck.screen.store import Catalog
from tests.screen.candidates import random_rows

CANDIDATES = int(os.environ.get("FITCHECK_CANDIDATES", "300"))
OPENINGS = [
    (Opening("spring"), 0.4),
    (Opening("valve", "exhaust"), 0.2),
    (Opening("spring", keep=frozenset(["spring.installed_height", "spring.seat_load"])), 0.1),
    (Opening("cam"), 0.2),
    (Opening("head"), 0.1),
]
# Planning a query takes Spark seconds: all five are run by hand, with a number of candidates named.
OPENINGS = OPENINGS if "FITCHECK_CANDIDATES" in os.environ else OPENINGS[:2]


@pytest.fixture(scope="module")
def spark():
    sql = pytest.importorskip(
        "pyspark.sql", reason="Spark is not installed: pip install 'fitcheck[spark]'"
    )
    if not (shutil.which("java") or os.environ.get("JAVA_HOME")):
        pytest.skip("Spark needs Java 17, and there is none on PATH nor under JAVA_HOME")
    settings = {
        "spark.executorEnv.PYTHONPATH": str(Path(fitcheck.__file__).parent.parent),
        "spark.ui.enabled": "false",
        "spark.driver.bindAddress": "127.0.0.1",
        "spark.driver.host": "127.0.0.1",
        "spark.sql.shuffle.partitions": "2",
    }
    builder = sql.SparkSession.builder.master("local[2]").appName("fitcheck")
    for name, value in settings.items():
        builder = builder.config(name, value)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PYSPARK_PYTHON", sys.executable)  # workers with the same packages
        session = builder.getOrCreate()
        session.sparkContext.setLogLevel("ERROR")
        yield session
        session.stop()


@pytest.mark.parametrize(("opening", "share"), OPENINGS, ids=lambda one: getattr(one, "slot", ""))
def test_every_standing_is_that_of_the_catalogs_own_engine(
    knowledge, boat, spark, tmp_path, opening, share
):
    slot, total = opening.slot, round(CANDIDATES * share)
    with Catalog(knowledge) as catalog:
        catalog.add(slot, random_rows(knowledge, slot, 7, total))
        to_parquet(catalog, slot, tmp_path / "list.parquet")
        wanted = screen(catalog, boat, opening)
        names = ", ".join(f'"{name}"' for name in NAMED)
        rows = catalog.run(
            f'SELECT {names}, j.* EXCLUDE (number) FROM "{slot}" AS p '
            "JOIN judged AS j ON p.rowid = j.number ORDER BY p.rowid"
        )
    found = judge(spark, f"parquet.`{tmp_path}/list.parquet`", knowledge, boat, opening)
    told = sorted((tuple(row) for row in found.table.collect()), key=lambda row: row[2])
    assert [rule.id for rule in found.rules] == [rule.id for rule in wanted.rules]
    for own, other in zip(told, rows, strict=True):
        assert own[:3] == other[:3]
        for rule, one, same in zip(found.rules, own[3:], other[3:], strict=True):
            assert one == same, f"{rule.id} of {own[0]}"
    assert {SILENT, FITS, OPEN, CONFLICT} == {one for row in told for one in row[3:]}
    assert found.exact == wanted.exact > 0
    assert (found.fits, found.possible, found.ruled_out) == (
        wanted.fits,
        wanted.possible,
        wanted.ruled_out,
    )
    assert (found.counts, found.remarks) == (wanted.counts, wanted.remarks)


def test_a_calculation_that_fails_is_no_bound(spark):
    """Spark makes NULL of a NaN, and the greatest of NULL and 1 is 1: that would fit."""
    zero = Plain("var", value=("a", "lower"))
    calculation = next(one for one in CALCULATIONS.values() if fails_at_zero(one))
    count = len(calculation.arguments) * (2 if calculation.bounds else 1)
    call = Plain("call", (zero,) * count, (calculation, 1))
    fits = Plain("ge", (Plain("max", (call, Plain("const", value=1.0))),), 1)
    outcome = Outcome(FALSE, fits, FALSE, FALSE)
    printed = Columns({("a", "lower"): "a"}, outcome.parts)
    for called in printed.calls.values():
        spark.udf.register(called.name, over_series(called))
    query = printed.query("(SELECT 0e0 AS a)", [], [f"{printed.standing([outcome])} AS r0"])
    assert spark.sql(query).collect()[0][0] == NEAR


def fails_at_zero(calculation):
    ends = [0.0] * len(calculation.arguments)
    try:
        calculation.upper(ends, ends)
    except (ArithmeticError, ValueError):
        return True
    return False
