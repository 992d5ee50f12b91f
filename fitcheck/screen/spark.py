"""The candidates of one open slot on Spark, for catalogs past one machine.

Spark reads the Parquet files and hands their parts out; on each worker the catalog's own engine is
given the same query as on one machine, word for word. So Spark plans a few passes over batches and
none of the arithmetic, whatever the number of rules. What is too near a limit for floats is decided
exactly, here, once for each set of figures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from fitcheck.knowledge import Knowledge, Rule
from fitcheck.language import CONFLICT, NEAR, STRADDLES
from fitcheck.language.columns import Called
from fitcheck.model import EngineBuild
from fitcheck.screen.opening import Frame, Opening, by_rule
from fitcheck.screen.screening import Count, decide, define_in, judging, told_by
from fitcheck.screen.store import Catalog, PartReader
from fitcheck.screen.tables import AT, columns_of, figures, sided_in
from fitcheck.source import Problem

# What tells one candidate from the others, and what else is handed through.
NAMED = ("item", "source", "row")
ABOUT_IT = {
    "item": "string",
    "source": "string",
    "kit": "string",
    "row": "bigint",
    "name": "string",
    "seller": "string",
    "price": "double",
    "pack": "bigint",
    "stock": "bigint",
    "evidence": "int",
}
# Rows that a worker judges at a time: a query's planning costs it a tenth of a second.
_ROWS = 100_000
_ARROW = {
    "string": "string",
    "bigint": "int64",
    "int": "int32",
    "tinyint": "int8",
    "double": "float64",
}
_BATCH = "batch"
Decisions = Mapping[int, Mapping[tuple[Any, ...], int]]


@dataclass
class JudgedCatalog:
    """The answer over all candidates.

    `table` is a Spark table with what `ABOUT_IT` names of each candidate, the texts of the figures
    `told`, and a column for each rule: r0, r1… in the order of `rules`, with its standing as
    `language/compiled.py` has it. `exact` is how many answers were too near a limit for floats
    and were decided exactly.
    """

    frame: Frame
    rules: list[Rule]
    told: list[str]
    table: Any
    exact: int
    fits: int
    possible: int
    ruled_out: int
    counts: list[Count]
    remarks: list[Count]
    failures: list[Problem] = field(default_factory=list)


def to_parquet(catalog: Catalog, slot: str, path: Path) -> None:
    """Write the parts of a class to a Parquet file with the columns that `judge` reads."""
    text = str(path).replace("'", "''")
    catalog.run(f"COPY (SELECT * FROM \"{slot}\") TO '{text}' (FORMAT parquet)")


def judge(
    session: Any,
    listed: str,
    knowledge: Knowledge,
    build: EngineBuild,
    opening: Opening,
    where: str = "kit IS NULL",
) -> JudgedCatalog:
    """Judge every candidate that a Spark session finds under a name; those alone `where` it says.

    `listed` is what Spark reads after FROM: the name of a table, or parquet.`a folder` of files
    that `to_parquet` wrote. The workers need fitcheck with its extra `catalog`. The answers lie in
    the session's checkpoint folder or, where none is set, on the workers, and are lost with a
    worker that is.
    """
    source = session.table(listed) if "`" not in listed else session.sql(f"SELECT * FROM {listed}")
    source = source.where(where)
    opening = replace(opening, sided=sided_in(source.columns, opening.slot, knowledge))
    frame = Frame(build, knowledge, [opening])
    rules = [factors[0].rule for factors in by_rule(frame.factors).values()]
    read = {rule.id: told_by(opening, rule, knowledge) for rule in rules}
    told = list(dict.fromkeys(name for names in read.values() for name in names))
    own = figures(opening.slot, knowledge)
    columns = [c for name in told for c, _ in columns_of(name, own[name.partition(AT)[0]])]
    source = source.select(*ABOUT_IT, *columns)
    keep = [f'"{name}"' for name in [*ABOUT_IT, *told]]
    query, calls = judging(frame, opening, _BATCH, keep)
    kinds = ABOUT_IT | dict.fromkeys(told, "string")
    standings = {f"r{i}": "tinyint" for i in range(len(rules))}
    first = kinds | standings
    started = _settled(_mapped(source, over_batches(query, calls, first), first))
    asked = [read[rule.id] for rule in rules]
    failures: list[Problem] = []
    reader = PartReader(knowledge, opening.slot)
    decided: dict[int, dict[tuple[Any, ...], int]] = {}
    for at, rows in _near(started, asked).items():
        found = decide(frame, opening, rules[at], rows, reader, failures)
        decided[at] = {tuple(row[:-1]): row[-1] for row in found}
    table = (
        _settled(_mapped(started, finished(asked, decided, first), first)) if decided else started
    )
    binding = [i for i, rule in enumerate(rules) if rule.severity != "advice"]
    exact, sums = _sums(started, table, len(rules), binding)
    counts = [Count(rule, *sums[3 + 3 * i : 6 + 3 * i]) for i, rule in enumerate(rules)]
    counts.sort(key=lambda one: (-one.out, -one.open, one.rule.id))
    return JudgedCatalog(
        frame,
        rules,
        told,
        table,
        exact,
        sums[0],
        sums[1],
        sums[2],
        [one for one in counts if one.rule.severity != "advice"],
        [one for one in counts if one.rule.severity == "advice"],
        failures,
    )


Over = Callable[[Iterable[Any]], Iterator[Any]]


def _mapped(table: Any, over: Over, kinds: Mapping[str, str]) -> Any:
    schema = ", ".join(f"`{name}` {kind}" for name, kind in kinds.items())
    return table.mapInArrow(over, schema)


def _settled(table: Any) -> Any:
    """A table computed now: what is asked of it later does not compute it again."""
    safe = table.sparkSession.sparkContext.getCheckpointDir() is not None
    return table.checkpoint() if safe else table.localCheckpoint()


def over_batches(query: str, calls: Sequence[Called], kinds: Mapping[str, str]) -> Over:
    """What a worker does with its share: the query, by the engine of catalogs."""
    casts = ", ".join(f'CAST("{name}" AS {_SQL[kind]}) AS "{name}"' for name, kind in kinds.items())
    whole = f"SELECT {casts} FROM ({query})"

    def over(batches: Iterable[Any]) -> Iterator[Any]:
        import duckdb  # noqa: PLC0415
        import pyarrow  # noqa: PLC0415

        schema = pyarrow.schema([(name, _ARROW[kind]) for name, kind in kinds.items()])
        connection = duckdb.connect()
        connection.execute("SET threads = 1")
        define_in(connection, calls)
        for table in _grouped(batches):
            connection.register(_BATCH, table)
            found = connection.sql(whole).to_arrow_table().cast(schema)
            connection.unregister(_BATCH)
            yield from found.to_batches()

    return over


_SQL = {
    "string": "VARCHAR",
    "bigint": "BIGINT",
    "int": "INTEGER",
    "tinyint": "TINYINT",
    "double": "DOUBLE",
}


def _grouped(batches: Iterable[Any]) -> Iterator[Any]:
    import pyarrow  # noqa: PLC0415

    some: list[Any] = []
    for batch in batches:
        some.append(batch)
        if sum(map(len, some)) >= _ROWS:
            yield pyarrow.Table.from_batches(some)
            some = []
    if some:
        yield pyarrow.Table.from_batches(some)


def _near(started: Any, asked: Sequence[Sequence[str]]) -> dict[int, list[tuple[Any, ...]]]:
    """For each rule the sets of figures, with the evidence, that are too near its limit."""
    import json  # noqa: PLC0415

    def over(batches: Iterable[Any]) -> Iterator[Any]:
        import pyarrow  # noqa: PLC0415

        seen = {
            (at, json.dumps(row))
            for batch in batches
            for at, names in enumerate(asked)
            for row in _rows(batch, at, names)
        }
        columns = [[at for at, _ in seen], [text for _, text in seen]]
        arrays = [pyarrow.array(columns[0], "int32"), pyarrow.array(columns[1], "string")]
        yield pyarrow.record_batch(arrays, names=["at", "figures"])

    found: dict[int, list[tuple[Any, ...]]] = {}
    rows = started.mapInArrow(over, "at int, figures string").collect()
    for at, text in sorted({(row[0], row[1]) for row in rows}):
        found.setdefault(at, []).append(tuple(json.loads(text)))
    return found


def _rows(batch: Any, at: int, names: Sequence[str]) -> list[list[Any]]:
    """The figures and the evidence of what is too near a rule's limit."""
    from pyarrow import compute  # noqa: PLC0415

    near = compute.equal(batch.column(batch.schema.get_field_index(f"r{at}")), NEAR)
    some = batch.filter(near)
    if not len(some):
        return []
    columns = [some.column(some.schema.get_field_index(n)) for n in [*names, "evidence"]]
    return [list(row) for row in zip(*(column.to_pylist() for column in columns), strict=True)]


def finished(asked: Sequence[Sequence[str]], decided: Decisions, kinds: Mapping[str, str]) -> Over:
    """What a worker does with answers too near a limit: each as it was decided."""

    def over(batches: Iterable[Any]) -> Iterator[Any]:
        import numpy as np  # noqa: PLC0415
        import pyarrow  # noqa: PLC0415

        schema = pyarrow.schema([(name, _ARROW[kind]) for name, kind in kinds.items()])
        for batch in batches:
            columns = {n: batch.column(batch.schema.get_field_index(n)) for n in kinds}
            for at, standings in decided.items():
                own = columns[f"r{at}"].to_numpy(zero_copy_only=False).copy()
                rows = _rows(batch, at, asked[at])
                own[np.flatnonzero(own == NEAR)] = [standings[tuple(row)] for row in rows]
                columns[f"r{at}"] = pyarrow.array(own, "int8")
            yield pyarrow.record_batch(list(columns.values()), schema=schema)

    return over


def _sums(started: Any, table: Any, rules: int, binding: Sequence[int]) -> tuple[int, list[int]]:
    """How many answers lay near a limit; how many fit, may fit and are ruled out; each rule's."""

    def over(batches: Iterable[Any]) -> Iterator[Any]:
        import numpy as np  # noqa: PLC0415
        import pyarrow  # noqa: PLC0415

        total = np.zeros(4 + 3 * rules, np.int64)
        for batch in batches:
            total += _counted(batch, rules, binding)
        yield pyarrow.record_batch([pyarrow.array([total.tolist()])], names=["sums"])

    def summed(some: Any) -> list[int]:
        rows = some.mapInArrow(over, "sums array<bigint>").collect()
        return [sum(row[0][i] for row in rows) for i in range(4 + 3 * rules)]

    first = summed(started)
    last = first if table is started else summed(table)
    return first[0], last[1:]


def _counted(batch: Any, rules: int, binding: Sequence[int]) -> Any:
    import numpy as np  # noqa: PLC0415

    columns = [batch.column(batch.schema.get_field_index(f"r{i}")) for i in range(rules)]
    standing = np.array([one.to_numpy(zero_copy_only=False) for one in columns])
    if not rules:
        return np.array([0, len(batch), 0, 0])
    out, still_open = standing == CONFLICT, standing == STRADDLES
    clashes = out[list(binding)].sum(axis=0)
    questions = still_open[list(binding)].sum(axis=0)
    each = [
        (int(out[i].sum()), int((out[i] & (clashes == 1)).sum()), int(still_open[i].sum()))
        for i in range(rules)
    ]
    clear = clashes == 0
    head = [
        int((standing == NEAR).sum()),
        int((clear & (questions == 0)).sum()),
        int((clear & (questions > 0)).sum()),
        int((~clear).sum()),
    ]
    return np.array([*head, *(number for row in each for number in row)])
