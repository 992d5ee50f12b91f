"""The query of a catalog read by Spark: standing for standing what DuckDB answers.

Spark runs here on one machine (its local mode), as a stand-in for a cluster; it is an engine of its own,
written in another language than DuckDB. It is an extra that weighs 450 MB and wants Java: CI runs it.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

import fitcheck
from fitcheck.language import CONFLICT, FITS, SILENT, STRADDLES
from fitcheck.plan.at_place import known_of_place
from fitcheck.screen.candidates import FromCatalog
from fitcheck.screen.cluster import MOST_MISSES, left_of
from fitcheck.screen.folder import read_folder, write_folder
from fitcheck.screen.importing import import_list
from fitcheck.screen.kits import whole_within
from fitcheck.screen.opening import Frame, Opening
from fitcheck.screen.ranking import best
from fitcheck.screen.screening import screen
from fitcheck.screen.sets import OpenSlots, best_sets
from fitcheck.screen.spark import NAMED, judge, to_parquet
from fitcheck.screen.store import Catalog
from tests.screen.candidates import random_rows

ASKED = "FITCHECK_SPARK" in os.environ
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
    if not ASKED:
        pytest.skip("Spark takes minutes: FITCHECK_SPARK=1 runs it, with its extra and Java 17")
    from pyspark import sql

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
    table = found.table.select(*NAMED, *(f"r{i}" for i in range(len(found.rules))))
    told = sorted((tuple(row) for row in table.collect()), key=lambda row: row[2])
    assert [rule.id for rule in found.rules] == [rule.id for rule in wanted.rules]
    for own, other in zip(told, rows, strict=True):
        assert own[:3] == other[:3]
        for rule, one, same in zip(found.rules, own[3:], other[3:], strict=True):
            assert one == same, f"{rule.id} of {own[0]}"
    assert {SILENT, FITS, STRADDLES, CONFLICT} == {one for row in told for one in row[3:]}
    assert found.exact == wanted.exact > 0
    assert (found.fits, found.possible, found.ruled_out) == (
        wanted.fits,
        wanted.possible,
        wanted.ruled_out,
    )
    assert (found.counts, found.remarks) == (wanted.counts, wanted.remarks)


def test_what_is_left_of_a_folder_is_screened_here_as_without_spark(
    knowledge, boat, spark, tmp_path
):
    """Few come here, and what is told of them and of all is what one machine tells."""
    opening = Opening("spring")
    with Catalog(knowledge) as catalog:
        catalog.add("spring", random_rows(knowledge, "spring", 9, 60))
        catalog.priced_in("EUR")
        write_folder(catalog, tmp_path / "parts")
    with Catalog(knowledge) as catalog:
        read_folder(catalog, tmp_path / "parts")
        assert (catalog.count("spring"), catalog.currency) == (60, "EUR")
        whole = screen(catalog, boat, opening)
        wanted = best(whole, "price", 60)
        left = left_of(spark, tmp_path / "parts", knowledge, boat, [opening])
        assert left.catalog.count("spring") == whole.fits + whole.possible + min(
            MOST_MISSES, whole.ruled_out
        )
        found = screen(left.catalog, boat, opening)
        told = best(found, "price", 60)
        counted = left.counted(found)
    names = [[one.offer.item for one in some.ranked] for some in (told, wanted)]
    assert names[0] == names[1] and told.standings == wanted.standings
    assert (counted.total, counted.ruled_out, counted.counts) == (
        60,
        whole.ruled_out,
        whole.counts,
    )


KITS = """class,item,coil_bind_height [in],retainer lock_angle [deg],locks lock_angle [deg],price [EUR],pack
"spring, retainer + locks",whole,1.150,7,7,240,16
"spring, retainer + locks",solid,1.700,7,7,90,16
spring + retainer,half,1.160,7,,80,16
spring,S-1,1.120,,,10,
retainer,R-1,,7,,,
locks,L-1,,,7,2,
"""


def test_a_kit_comes_here_whole_where_nothing_rules_a_part_of_it_out(
    knowledge, boat, spark, tmp_path
):
    """A spring solid at 1.700 in leaves the boat's valves no lift at 1.780 in (invented kits)."""
    (tmp_path / "kits.csv").write_text(KITS)
    openings = [
        Opening(slot, keep=known_of_place(boat, knowledge, slot))
        for slot in ("spring", "retainer", "locks")
    ]

    def sets(catalog):
        whole = whole_within(catalog, [one.slot for one in openings])
        some = {one.slot: FromCatalog(catalog, one, whole) for one in openings}
        found = best_sets(OpenSlots(Frame(boat, knowledge, openings), some), 10)
        return [
            ({some[slot].names([at])[0] for slot, at in one.chosen.items()}, one.price)
            for one in found
        ]

    with Catalog(knowledge) as catalog:
        import_list(catalog, tmp_path / "kits.csv")
        write_folder(catalog, tmp_path / "parts")
        here = sets(catalog)
    left = left_of(spark, tmp_path / "parts", knowledge, boat, openings)
    assert left.catalog.run("SELECT item FROM retainer ORDER BY 1") == [
        ("R-1",),
        ("half",),
        ("whole",),
    ]
    assert sets(left.catalog) == here
    assert {frozenset(names) for names, _ in here} == {
        frozenset({"whole"}),
        frozenset({"half", "L-1"}),
        frozenset({"S-1", "R-1", "L-1"}),
    }
