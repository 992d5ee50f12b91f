"""Screening: one open slot of a million candidates, and the ten cheapest sets over ten classes.

One open slot: the numeric rules that read the spring, with all else settled, over one table. The
query that fitcheck prints, one written by hand for the same engine, and common-expression-language
row by row. All must give the same counts before anything is timed.

Sets: the whole of fitcheck's rules over ten classes of invented parts for the service boat. DuckDB
and Polars are given the same parts after all single rules are applied, and only the rules between
two slots, each as a ready table of what goes together; they join and take the ten cheapest, within
a time limit.
"""

from __future__ import annotations

import argparse
import dataclasses
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from statistics import median
from typing import Any

import duckdb
import numpy as np
import pyarrow
import pyarrow.parquet

from fitcheck.check import read_build
from fitcheck.cli.demo import demo_folder
from fitcheck.knowledge import load_knowledge
from fitcheck.language import CONFLICT, FITS, STRADDLES, TRUE, Condition, Lowering, parse
from fitcheck.language.columns import Columns
from fitcheck.language.outcome import Fold, outcome
from fitcheck.screen.candidates import FromCatalog
from fitcheck.screen.importing import import_list
from fitcheck.screen.opening import Frame, Opening
from fitcheck.screen.screening import screen
from fitcheck.screen.sets import OpenSlots, best_sets
from fitcheck.screen.store import Catalog
from tests.benchmarks.engines import FIGURES
from tests.benchmarks.lowered import Lowered, read_limits
from tests.benchmarks.numeric_rules import ATTRIBUTES, FITCHECK
from tests.benchmarks.random_figures import FINE, random_build
from tests.benchmarks.texts import Infix, unfolded, verdict
from tests.benchmarks.timing import aim
from tests.invented.parts import MAKERS, write_demo

RULES = ("coil_bind", "weak_open", "lifter_overloaded", "pocket_tight", "boss_tight", "step_loose")
SHORTS = {short: name for name, short, _ in ATTRIBUTES if name.startswith("spring.")}
HAND_OVER_FITCHECK, CEL_OVER_FITCHECK, TEN_TIMES = 0.85, 100.0, 11.0
MOST_SECONDS, MOST_MEGABYTES = 2.0, 400.0

# Written by hand: what stays is put in as figures, worked out beforehand; a billionth is allowed.
HAND = """
SELECT
 CASE WHEN fitted_lo - {lift_hi} - bind_hi >= {bind_least} THEN 1
      WHEN fitted_hi - {lift_lo} - bind_lo < {bind_least} THEN 4 ELSE 2 END AS r0,
 CASE WHEN seat_load_lo + rate_lo * {lift_lo} >= {open_least} THEN 1
      WHEN seat_load_hi + rate_hi * {lift_hi} < {open_least} THEN 4 ELSE 2 END AS r1,
 CASE WHEN seat_load_hi + rate_hi * {lift_hi} <= {lifter_lo} THEN 1
      WHEN seat_load_lo + rate_lo * {lift_lo} > {lifter_hi} THEN 4 ELSE 2 END AS r2,
 CASE WHEN spring_od_hi <= {pocket_lo} - {pocket_least} THEN 1
      WHEN spring_od_lo > {pocket_hi} - {pocket_least} THEN 4 ELSE 2 END AS r3,
 CASE WHEN spring_id_lo >= {boss_hi} + {boss_least} THEN 1
      WHEN spring_id_hi < {boss_lo} + {boss_least} THEN 4 ELSE 2 END AS r4,
 CASE WHEN spring_id_hi <= {step_lo} + {step_most} THEN 1
      WHEN spring_id_lo > {step_hi} + {step_most} THEN 4 ELSE 2 END AS r5
FROM springs
"""


def seconds_of(runs: Mapping[str, Callable[[], Any]], rounds: int) -> dict[str, list[float]]:
    """Seconds by the clock, as the engine works on more than one core; all take turns."""
    taken: dict[str, list[float]] = {name: [] for name in runs}
    for run in runs.values():
        run()  # warm
    for _ in range(rounds):
        for name, run in runs.items():
            start = time.perf_counter()
            run()
            taken[name].append(time.perf_counter() - start)
    return taken


def ratio(taken: Mapping[str, list[float]], name: str, base: str) -> float:
    """The median of the rounds' ratios."""
    return median(a / b for a, b in zip(taken[name], taken[base], strict=True))


def counting(query: str) -> str:
    """What is asked of the answers: how many fit, may fit, are ruled out, by each rule."""
    sums = ", ".join(
        f"count(*) FILTER (r{i} = {standing})"
        for i in range(len(RULES))
        for standing in (FITS, STRADDLES, CONFLICT)
    )
    return f"SELECT {sums} FROM ({query})"


def one_slot(knowledge: Any, rows: int, rounds: int) -> None:
    """One open slot, in the engine."""
    import random

    lowered = Lowered(knowledge)
    build = random_build(random.Random(3), knowledge, FINE)
    fixed = build.ends()
    engine = duckdb.connect()
    print(f"one open slot, {len(RULES)} rules, {rows:,} candidates")
    columns = random_springs(build, rows)
    engine.register("made", pyarrow.table(columns))
    engine.execute("CREATE TABLE springs AS SELECT * FROM made")
    lowering = Lowering()
    known = {
        (name, end): fixed[f"{short}_{'lo' if end == 'lower' else 'hi'}"]
        for name, short, _ in ATTRIBUTES
        if short not in SHORTS
        for end in ("lower", "upper")
    }
    fold = Fold(known)
    outcomes = []
    for rule in RULES:
        node = parse(FITCHECK[rule], lowered.find, numbers=False)
        condition = Condition((TRUE, TRUE), tuple(lowering.clauses(node)))
        outcomes.append(fold.outcome(outcome(condition, lowering.forest)))
    inputs = {
        (name, end): f"{short}_{tail}"
        for short, name in SHORTS.items()
        for end, tail in (("lower", "lo"), ("upper", "hi"))
    }
    printed = Columns(inputs, [part for one in outcomes for part in one.parts])
    results = [f"{printed.standing([one])} AS r{i}" for i, one in enumerate(outcomes)]
    query = counting(printed.query("springs", [], results))
    by_hand = counting(HAND.format(**hand_figures(fixed)))
    answer = engine.execute(query).fetchall()
    assert answer == engine.execute(by_hand).fetchall(), "the two queries differ"
    assert sum(answer[0]) == rows * len(RULES), "an answer is too near to tell"
    print(f"both queries agree: {answer[0]}")
    tenth = query.replace("FROM springs", f"FROM (SELECT * FROM springs LIMIT {rows // 10})")
    taken = seconds_of(
        {
            "fitcheck": lambda: engine.execute(query).fetchall(),
            "by hand": lambda: engine.execute(by_hand).fetchall(),
            "a tenth": lambda: engine.execute(tenth).fetchall(),
        },
        rounds,
    )
    own = median(taken["fitcheck"])
    cel = cel_seconds(columns, fixed, 20_000) * rows / 20_000
    told = ", ".join(f"{name} {median(some):.4f} s" for name, some in taken.items())
    print(f"{told} of the rows, common-expression-language {cel:.1f} s (by 20,000 rows)")
    print(
        aim(
            "speed of fitcheck's query over the one by hand",
            ratio(taken, "by hand", "fitcheck"),
            HAND_OVER_FITCHECK,
            at_least=True,
        )
    )
    print(
        aim("common-expression-language over fitcheck", cel / own, CEL_OVER_FITCHECK, at_least=True)
    )
    print(aim("ten times the rows", ratio(taken, "fitcheck", "a tenth"), TEN_TIMES))


def random_springs(build: Any, rows: int) -> dict[str, Any]:
    """Springs scattered about the build's own, as wide as its figures are known."""
    random = np.random.default_rng(7)
    found = {}
    for short, name in SHORTS.items():
        interval = build.intervals[name]
        low, high = float(interval.lower), float(interval.upper)
        shift = (random.random(rows) - 0.5) * 0.2 * high
        found[f"{short}_lo"], found[f"{short}_hi"] = low + shift, high + shift
    return found


def hand_figures(fixed: dict[str, float]) -> dict[str, str]:
    """The figures of what stays, as a person would work them out."""
    limits = {name: float(limit.lower) for name, limit in read_limits().items()}
    slack = 1e-9
    found = {
        "lift_lo": fixed["lobe_lo"] * fixed["ratio_lo"],
        "lift_hi": fixed["lobe_hi"] * fixed["ratio_hi"],
        "bind_least": limits["bind_least"] - slack,
        "open_least": limits["open_least"] - slack,
        "lifter_lo": fixed["lifter_load_lo"] + slack,
        "lifter_hi": fixed["lifter_load_hi"] + slack,
        "pocket_least": limits["pocket_least"] - slack,
        "boss_least": limits["boss_least"] - slack,
        "step_most": limits["step_most"] + slack,
    }
    found |= {
        key: fixed[key]
        for key in ("pocket_lo", "pocket_hi", "boss_lo", "boss_hi", "step_lo", "step_hi")
    }
    return {name: f"{value!r}::DOUBLE" for name, value in found.items()}


def cel_seconds(columns: dict[str, Any], fixed: dict[str, float], rows: int) -> float:
    """The same rules in common-expression-language, one compiled program, row by row."""
    import cel

    name = unfolded(Infix(), str)
    program = cel.compile(f"[{', '.join(verdict(rule, Infix(), name) for rule in RULES)}]")
    shorts = list(columns)
    cells = zip(*(columns[short][:rows].tolist() for short in shorts), strict=True)
    contexts = [{**fixed, **dict(zip(shorts, row, strict=True))} for row in cells]
    assert set(contexts[0]) >= set(FIGURES)
    start = time.process_time()
    for context in contexts:
        program.execute(context)
    return time.process_time() - start


def whole(knowledge: Any, folder: Path, rows: int) -> None:
    """All of fitcheck's rules over a catalog of springs, import included; told, with no aim."""
    from tests.invented.parts import demo_parts, texts

    build = boat(knowledge)
    for count in (rows // 10, rows):
        table = texts(demo_parts("spring", count, 3))
        path = folder / f"springs_{count}.parquet"
        pyarrow.parquet.write_table(pyarrow.table(table), path)
        del table
        with Catalog(knowledge) as catalog:
            start = time.perf_counter()
            taken = import_list(catalog, path)
            imported = time.perf_counter() - start
            start = time.perf_counter()
            found = screen(catalog, build, Opening("spring"))
            print(
                f"{count:,} springs: import {imported:.1f} s ({taken.set_aside} set aside), screen by "
                f"{len(found.rules)} rules {time.perf_counter() - start:.1f} s, "
                f"{found.exact:,} answers decided exactly"
            )


def boat(knowledge: Any) -> Any:
    """The service boat, its distributor gear not told."""
    build = read_build(demo_folder() / "service_boat/build.yaml", knowledge)
    parts = {slot: own for slot, own in build.parts.items() if slot != "drive_gear"}
    return dataclasses.replace(build, parts=parts)


def filled(knowledge: Any, folder: Path, count: int) -> Catalog:
    """A catalog of invented parts."""
    catalog = Catalog(knowledge)
    for path in write_demo(folder / f"parts_{count}", count):
        import_list(catalog, path)
    return catalog


def find_sets(catalog: Catalog, knowledge: Any) -> tuple[float, float, list[Any], OpenSlots]:
    """The ten cheapest sets, from the table to the answer; time by the clock and of the processor."""
    start, began = time.perf_counter(), time.process_time()
    frame = Frame(boat(knowledge), knowledge, [Opening(slot) for slot in MAKERS])
    candidates = {slot: FromCatalog(catalog, Opening(slot)) for slot in MAKERS}
    problem = OpenSlots(frame, candidates)
    found = best_sets(problem, 10)
    return time.perf_counter() - start, time.process_time() - began, found, problem


def sets(knowledge: Any, folder: Path, limit: float, rounds: int) -> None:
    """Ten classes."""
    with filled(knowledge, folder, 1000) as catalog:
        clock, taken = [], []
        for _ in range(rounds):
            seconds, processor, found, problem = find_sets(catalog, knowledge)
            clock.append(seconds)
            taken.append(processor)
        left = {slot: int(alive.sum()) for slot, alive in problem.alive.items()}
        for_joins(problem, folder)
    print(f"\nten classes of 1,000: left after single rules {left}")
    print(
        f"the ten cheapest: {[round(one.price, 2) for one in found]}; first {taken[0]:.2f} s "
        f"of the processor, median {median(taken):.2f} s; by the clock {median(clock):.2f} s"
    )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(aim("seconds of the processor", median(taken), MOST_SECONDS))
    print(aim("megabytes of the whole process, engine included", peak, MOST_MEGABYTES))
    for engine in ("duckdb", "polars"):
        command = [
            sys.executable,
            "-m",
            "tests.benchmarks.screen",
            "--join",
            engine,
            "--at",
            str(folder),
        ]
        start = time.perf_counter()
        try:
            told = subprocess.run(
                command, capture_output=True, text=True, timeout=limit, check=True
            )
            print(
                f"{engine}, joins of two-slot rules alone: {time.perf_counter() - start:.1f} s  {told.stdout.strip()}"
            )
        except subprocess.TimeoutExpired:
            print(f"{engine}, joins of two-slot rules alone: stopped after {limit:.0f} s")
        except subprocess.CalledProcessError as error:
            lines = error.stderr.strip().splitlines() or [f"ended by signal {-error.returncode}"]
            print(f"{engine}, joins of two-slot rules alone: failed, {lines[-1][:150]}")


def for_joins(problem: OpenSlots, folder: Path) -> None:
    """Candidates left, with a key for each rule of two slots, and what goes together by keys."""
    pairs = [d for d in problem.demands if len(d.slots) == 2 and d.tabled]
    for slot in problem.slots:
        left = np.flatnonzero(problem.alive[slot])
        columns = {"number": left, "price": problem.fixed[slot][left]}
        columns |= {f"k{i}": d.keys[slot][left] for i, d in enumerate(pairs) if slot in d.slots}
        pyarrow.parquet.write_table(pyarrow.table(columns), folder / f"slot_{slot}.parquet")
    for i, demand in enumerate(pairs):
        a, b = np.nonzero(demand.table() != CONFLICT)
        path = folder / f"pair_{i}_{demand.slots[0]}_{demand.slots[1]}.parquet"
        pyarrow.parquet.write_table(pyarrow.table({"a": a, "b": b}), path)


def join_duckdb(folder: Path) -> None:
    """All slots joined along what goes together, the ten cheapest."""
    engine = duckdb.connect()
    engine.execute("SET memory_limit = '3GB'")
    slots = sorted(path.stem.removeprefix("slot_") for path in folder.glob("slot_*.parquet"))
    tables = [f"'{folder}/slot_{slot}.parquet' AS {slot}" for slot in slots]
    where = []
    for path in sorted(folder.glob("pair_*.parquet")):
        _, number, first, second = path.stem.split("_")
        tables.append(f"'{path}' AS p{number}")
        where.append(f"{first}.k{number} = p{number}.a AND {second}.k{number} = p{number}.b")
    total = " + ".join(f"{slot}.price" for slot in slots)
    query = f"SELECT {total} AS total FROM {', '.join(tables)} WHERE {' AND '.join(where)} ORDER BY 1 LIMIT 10"
    print([row[0] / 100 for row in engine.execute(query).fetchall()])


def join_polars(folder: Path) -> None:
    """The same in Polars' lazy frames, joined in an order in which each is tied to one before."""
    import polars

    pairs = [[*path.stem.split("_"), path] for path in sorted(folder.glob("pair_*.parquet"))]
    slots = sorted(path.stem.removeprefix("slot_") for path in folder.glob("slot_*.parquet"))

    def frame(slot: str) -> Any:
        scanned = polars.scan_parquet(folder / f"slot_{slot}.parquet")
        return scanned.rename({name: f"{slot}_{name}" for name in scanned.collect_schema().names()})

    done, joined = [slots[0]], frame(slots[0])
    while len(done) < len(slots):
        slot = next(
            (
                s
                for s in slots
                if s not in done and any({f, g} == {s, d} for _, _, f, g, _ in pairs for d in done)
            ),
            next(s for s in slots if s not in done),
        )
        ties = [
            (n, f, g, p) for _, n, f, g, p in pairs if slot in (f, g) and (f in done or g in done)
        ]
        other = frame(slot)
        if not ties:
            joined = joined.join(other, how="cross")
        for i, (number, first, second, path) in enumerate(ties):
            able = polars.scan_parquet(path)
            old, new = ("a", "b") if second == slot else ("b", "a")
            known = first if second == slot else second
            if i == 0:
                other = other.join(able, left_on=f"{slot}_k{number}", right_on=new)
                joined = joined.join(other, left_on=f"{known}_k{number}", right_on=old)
            else:
                joined = joined.join(
                    able,
                    left_on=[f"{known}_k{number}", f"{slot}_k{number}"],
                    right_on=[old, new],
                    how="semi",
                )
        done.append(slot)
    total = polars.sum_horizontal([f"{slot}_price" for slot in slots])
    found = joined.select(total.alias("total")).bottom_k(10, by="total").collect(engine="streaming")
    print([value / 100 for value in sorted(found["total"].to_list())])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rules", type=Path, default=None, help="a rules folder of your own")
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--rounds", type=int, default=15)
    parser.add_argument("--limit", type=float, default=60.0, help="seconds that joins are given")
    parser.add_argument("--join", choices=("duckdb", "polars"), help=argparse.SUPPRESS)
    parser.add_argument("--at", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.join:
        (join_duckdb if options.join == "duckdb" else join_polars)(options.at)
        return
    knowledge = load_knowledge(options.rules)
    with tempfile.TemporaryDirectory() as folder:
        sets(knowledge, Path(folder), options.limit, min(options.rounds, 5))
        print()
        one_slot(knowledge, options.rows, options.rounds)
        print()
        whole(knowledge, Path(folder), options.rows)


if __name__ == "__main__":
    main()
