"""Spark over a million and ten million springs: the same answers, and no more than ten times the time.

Invented springs, listed over and over under other row numbers, as Parquet. Spark runs in its local mode
on two workers; how long its start takes is told apart. What two hundred springs take is what Spark and
its workers need before they reckon. The counts must be those of the catalog's own engine, times as
many, and so must the first ones by price; that engine's own time and memory stand beside.

    python -m tests.benchmarks.spark --rows 1000000
    python -m tests.benchmarks.spark --rows 1000000 --here
"""

from __future__ import annotations

import argparse
import resource
import tempfile
import time
from pathlib import Path
from typing import Any

from fitcheck.check import read_build
from fitcheck.cli.demo import demo_folder
from fitcheck.knowledge import load_knowledge
from fitcheck.plan.at_place import known_of_place
from fitcheck.screen.folder import read_folder
from fitcheck.screen.importing import import_list
from fitcheck.screen.opening import Opening
from fitcheck.screen.screening import screen
from fitcheck.screen.shares import job_of, left_of
from fitcheck.screen.spark import spark
from fitcheck.screen.store import Catalog, quoted
from tests.benchmarks.timing import aim

TEN_TIMES, PLANNING, MEGABYTES = 11.0, 10.0, 2048.0


def repeated(catalog: Catalog, folder: Path, times: int, listed: int) -> Path:
    """The listed springs so many times over, as one file of a folder."""
    (folder / "spring").mkdir(parents=True)
    target = quoted(str(folder / "spring" / "parts.parquet"))
    catalog.run(
        f'COPY (SELECT p.* REPLACE (p.row + n.range * {listed} AS row) FROM "spring" AS p, '
        f"range({times}) AS n) TO {target} (FORMAT parquet)"
    )
    return folder


def counts_of(found: Any, times: int = 1) -> tuple[Any, ...]:
    """What is counted of a screening, as if it were so many times as long."""
    sums = (found.total, found.fits, found.possible, found.ruled_out, found.exact)
    rules = [(c.rule.id, c.out, c.alone, c.open) for c in found.counts + found.remarks]
    return (*(n * times for n in sums), [(id_, *(n * times for n in some)) for id_, *some in rules])


def peak() -> float:
    """The most memory that this process, or one beneath it, ever had: megabytes."""
    own, beneath = resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN
    return max(resource.getrusage(who).ru_maxrss for who in (own, beneath)) / 1024


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--master", default="local[2]")
    parser.add_argument("--here", action="store_true", help="without Spark, ten times the rows")
    options = parser.parse_args()
    knowledge = load_knowledge()
    build = read_build(demo_folder() / "service_boat/build.yaml", knowledge)
    opening = Opening("spring", keep=known_of_place(build, knowledge, "spring"))
    with tempfile.TemporaryDirectory() as text, Catalog(knowledge) as catalog:
        folder = Path(text)
        import_list(catalog, demo_folder() / "parts/spring.csv")
        listed = catalog.count("spring")
        wanted = screen(catalog, build, opening)
        start = time.perf_counter()

        def timed(times: int, engine: Any = None) -> float:
            path = repeated(catalog, folder / f"{times} {engine is None}", times, listed)
            start = time.perf_counter()
            with Catalog(knowledge) as some:
                if engine is None:
                    read_folder(some, path)
                    found = screen(some, build, opening)
                else:
                    left = left_of(job_of(path, some, build, [opening]), path, some, engine)
                    found = left.counted(screen(left.catalog, build, opening))
            taken = time.perf_counter() - start
            assert counts_of(found) == counts_of(wanted, times)
            print(f"{times * listed:>12,} springs: {taken:.1f} s, {found.ruled_out:,} ruled out")
            return taken

        many = options.rows // listed
        if options.here:
            timed(many * 10)
            print(aim("megabytes of this process, ten times the rows", peak(), MEGABYTES))
            return
        with spark(options.master, {}, print) as engine:
            print(f"Spark started in {time.perf_counter() - start:.1f} s")
            first, few = timed(1, engine), timed(2, engine)
            one, ten = timed(many, engine), timed(many * 10, engine)
    print(f"first two hundred, its workers started: {first:.1f} s; then four hundred: {few:.1f} s")
    print(aim("seconds before anything is reckoned", first, PLANNING))
    print(aim("ten times the rows", ten / one, TEN_TIMES))
    print(f"the largest process of all: {peak():.0f} megabytes")


if __name__ == "__main__":
    main()
