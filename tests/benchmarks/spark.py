"""Spark over a million and ten million springs: the same answers, and no more than ten times the time.

Invented springs, listed over and over under other row numbers, as Parquet. Spark runs in its local mode
on two workers; how long its start takes, and what a thousand candidates take, which is nearly all
planning, is told apart. The counts must be those of the catalog's own engine, times as many.

    python -m tests.benchmarks.spark --rows 1000000
"""

from __future__ import annotations

import argparse
import tempfile
import time
from pathlib import Path
from typing import Any

from fitcheck.check import read_build
from fitcheck.cli.demo import demo_folder
from fitcheck.knowledge import load_knowledge
from fitcheck.plan.at_place import known_of_place
from fitcheck.screen.cluster import session_of
from fitcheck.screen.importing import import_list
from fitcheck.screen.opening import Opening
from fitcheck.screen.screening import screen
from fitcheck.screen.spark import judge
from fitcheck.screen.store import Catalog, quoted
from tests.benchmarks.timing import aim

TEN_TIMES, PLANNING = 11.0, 10.0
LOCAL = {"spark.driver.host": "127.0.0.1", "spark.driver.bindAddress": "127.0.0.1"}


def repeated(catalog: Catalog, folder: Path, times: int, listed: int) -> Path:
    """The listed springs so many times over, as one file of a folder."""
    folder.mkdir()
    target = quoted(str(folder / "parts.parquet"))
    catalog.run(
        f'COPY (SELECT p.* REPLACE (p.row + n.range * {listed} AS row) FROM "spring" AS p, '
        f"range({times}) AS n) TO {target} (FORMAT parquet)"
    )
    return folder


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--master", default="local[2]")
    options = parser.parse_args()
    knowledge = load_knowledge()
    build = read_build(demo_folder() / "service_boat/build.yaml", knowledge)
    opening = Opening("spring", keep=known_of_place(build, knowledge, "spring"))
    with tempfile.TemporaryDirectory() as text, Catalog(knowledge) as catalog:
        folder = Path(text)
        import_list(catalog, demo_folder() / "parts/spring.csv")
        listed = catalog.count("spring")
        here = screen(catalog, build, opening)
        start = time.perf_counter()
        session = session_of(options.master, LOCAL)
        print(f"Spark {session.version} started in {time.perf_counter() - start:.1f} s")
        taken: list[float] = []
        for number, times in enumerate((1, options.rows // listed, options.rows * 10 // listed)):
            path = repeated(catalog, folder / str(number), times, listed)
            start = time.perf_counter()
            found: Any = judge(session, f"parquet.`{path}`", knowledge, build, opening)
            taken.append(time.perf_counter() - start)
            counts = found.fits, found.possible, found.ruled_out
            wanted = tuple(n * times for n in (here.fits, here.possible, here.ruled_out))
            assert counts == wanted, (counts, wanted)
            print(f"{times * listed:>12,} springs: {taken[-1]:.1f} s, {counts}")
        session.stop()
    print(aim("seconds for few candidates, nearly all planning", taken[0], PLANNING))
    print(aim("ten times the rows", taken[2] / taken[1], TEN_TIMES))


if __name__ == "__main__":
    main()
