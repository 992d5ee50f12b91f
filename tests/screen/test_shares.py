"""A folder of Parquet in shares: the answers are those of one catalog, whoever screens the shares.

Here in turn; and by Spark in its local mode on two workers, as a stand-in for a cluster. Spark is an
extra that weighs 450 MB and wants Java: CI runs it.
"""

from __future__ import annotations

import os
from functools import reduce

import pytest

from fitcheck.cli.demo import demo_folder
from fitcheck.plan.at_place import known_of_place
from fitcheck.screen import shares
from fitcheck.screen.candidates import FromCatalog
from fitcheck.screen.folder import read_folder, write_folder
from fitcheck.screen.importing import import_list
from fitcheck.screen.kits import whole_within
from fitcheck.screen.opening import Frame, Opening
from fitcheck.screen.screening import screen
from fitcheck.screen.sets import OpenSlots, best_sets
from fitcheck.screen.shares import MOST_MISSES, job_of, left_of
from fitcheck.screen.spark import spark
from fitcheck.screen.store import Catalog
from tests.screen.candidates import random_rows

BOAT = str(demo_folder() / "service_boat/build.yaml")
NAMED = 'SELECT p.item, p.source, p.row FROM "spring" AS p'
ASKED = "FITCHECK_SPARK" in os.environ
CI = "Spark takes half a minute: FITCHECK_SPARK=1 runs it, with its extra and Java 17"


class Here:
    """An engine of shares that has one worker: this process."""

    def __init__(self, answers):
        self.answers = answers

    def filter(self, of):
        return Here(list(filter(of, self.answers)))

    def collect(self):
        return self.answers

    def first(self, most, key):
        return sorted(self.answers, key=key)[:most]


def here(job, work, some):
    found = {}
    for share in some:
        for key, one in work(job, share):
            found.setdefault(key, []).append(one)
    return Here([(key, reduce(lambda a, b: a.with_(b), own)) for key, own in found.items()])


@pytest.fixture(scope="module", params=["here", "spark"])
def engine(request):
    if request.param == "here":
        yield here
    elif not ASKED:
        pytest.skip(CI)
    else:
        with spark("local[2]", {}) as started:
            yield started


def left(engine, folder, knowledge, build, openings):
    catalog = Catalog(knowledge)
    return left_of(job_of(folder, catalog, build, openings), folder, catalog, engine)


def test_few_come_here_and_what_is_told_of_all_is_what_one_catalog_tells(
    knowledge, boat, engine, tmp_path, monkeypatch
):
    """Springs in two files, one of which alone tells figures by side; in shares of some rows each."""
    monkeypatch.setattr(shares, "ROWS", 20)
    opening, rows = Opening("spring"), random_rows(knowledge, "spring", 3, 20)
    plain = [row for row in rows if not any("@" in name for name in row)]
    for name, some in (("parts", rows), ("more", plain)):
        with Catalog(knowledge) as catalog:
            catalog.add("spring", [row | {"source": name} for row in some])
            catalog.priced_in("EUR")
            write_folder(catalog, tmp_path / name)
    whole = tmp_path / "parts"
    (whole / "spring/more").mkdir()
    (tmp_path / "more/spring/parts.parquet").rename(whole / "spring/more/part-0.parquet")
    with Catalog(knowledge) as catalog:
        read_folder(catalog, whole)
        assert (catalog.count("spring"), catalog.currency) == (len(rows + plain), "EUR")
        wanted = screen(catalog, boat, opening)
        rows_left = catalog.run(f"{NAMED} JOIN standing ON p.rowid = number WHERE clashes = 0")
    fewer = left(engine, whole, knowledge, boat, [opening])
    found = fewer.counted(screen(fewer.catalog, boat, opening))
    assert wanted.exact > 0 and wanted.ruled_out > 9 and not fewer.cut
    came = wanted.fits + wanted.possible + min(MOST_MISSES, wanted.ruled_out)
    assert fewer.catalog.count("spring") == came
    for name in ("total", "fits", "possible", "ruled_out", "exact", "counts", "remarks"):
        assert getattr(found, name) == getattr(wanted, name), name
    assert set(rows_left) <= set(fewer.catalog.run(NAMED))
    assert fewer.catalog.currency == "EUR"


KITS = """class,item,coil_bind_height [in],retainer lock_angle [deg],locks lock_angle [deg],price [EUR],pack
"spring, retainer + locks",whole,1.150,7,7,240,16
"spring, retainer + locks",solid,1.700,7,7,90,16
spring + retainer,half,1.160,7,,80,16
spring,S-1,1.120,,,10,
retainer,R-1,,7,,,
locks,L-1,,,7,2,
"""


def test_a_kit_comes_here_whole_where_nothing_rules_a_part_of_it_out(
    knowledge, boat, engine, tmp_path
):
    """A spring solid at 1.700 in leaves the boat's valves no lift at 1.780 in (invented kits)."""
    if not ASKED:
        pytest.skip(CI)
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
        wanted = sets(catalog)
    found = left(engine, tmp_path / "parts", knowledge, boat, openings).catalog
    assert [row[0] for row in found.run("SELECT item FROM retainer ORDER BY 1")] == [
        "R-1",
        "half",
        "whole",
    ]
    assert sets(found) == wanted
    assert {frozenset(names) for names, _ in wanted} == {
        frozenset({"whole"}),
        frozenset({"half", "L-1"}),
        frozenset({"S-1", "R-1", "L-1"}),
    }
