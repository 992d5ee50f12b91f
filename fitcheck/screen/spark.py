"""The candidates of one open slot on Spark, for catalogs past one machine.

Spark is given the query that the catalog's own engine is given, word for word, over a table with
the same columns. Python does what it does there: calculations run over whole arrays, on the
workers, and what is too near a limit for floats is decided exactly, here, once for each set of
figures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fitcheck.knowledge import Knowledge, Rule
from fitcheck.language.columns import NEAR, Called
from fitcheck.model import Build
from fitcheck.screen.opening import Frame, Opening, by_rule
from fitcheck.screen.screening import Count, count, decide, judging, told_by
from fitcheck.screen.store import Catalog, PartReader
from fitcheck.source import Problem

# A name in double quotes is a column, as in the catalog's own engine. What is used twice the query
# computes in a layer of its own; an optimizer that folds layers into each other again did not come
# to an end within minutes.
SETTINGS = {
    "spark.sql.ansi.enabled": "true",
    "spark.sql.ansi.doubleQuotedIdentifiers": "true",
    "spark.sql.constraintPropagation.enabled": "false",
    "spark.sql.optimizer.excludedRules": (
        "org.apache.spark.sql.catalyst.optimizer.CollapseProject"
    ),
}
# What tells one candidate from the others.
NAMED = ("item", "source", "row")
_STARTED, _JUDGED = "judged_in_floats", "judged"


@dataclass
class Judged:
    """The answer over all candidates.

    `table` is a Spark table with `item`, `source` and `row` of each candidate, and a column for
    each rule: r0, r1… in the order of `rules`, the standings as `language/columns.py` numbers
    them. `exact` is how many answers were too near a limit for floats and were decided exactly.
    """

    frame: Frame
    rules: list[Rule]
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
    session: Any, listed: str, knowledge: Knowledge, build: Build, opening: Opening
) -> Judged:
    """Judge every candidate that a Spark session finds under a name.

    `listed` is what Spark reads after FROM: the name of a table, or parquet.`a folder` of files
    that `to_parquet` wrote. The caller's session keeps its settings, views and functions.
    The answers lie in its checkpoint folder or, where none is set, on the workers, and are lost
    with a worker that is.
    """
    frame = Frame(build, knowledge, [opening])
    rules = [factors[0].rule for factors in by_rule(frame.factors).values()]
    own = session.newSession()
    for setting, value in SETTINGS.items():
        own.conf.set(setting, value)
    read = {rule.id: told_by(opening, rule, knowledge) for rule in rules}
    told = dict.fromkeys(name for names in read.values() for name in names)
    keep = [f'"{name}"' for name in [*NAMED, "evidence", *told]]
    query, calls = judging(frame, opening, listed, keep)
    for called in calls:
        own.udf.register(called.name, over_series(called))
    started = _settled(own, query)
    started.createOrReplaceTempView(_STARTED)
    failures: list[Problem] = []
    finished, exact = _decide_near(own, frame, opening, rules, read, failures)
    table = _settled(own, finished)
    table.createOrReplaceTempView(_JUDGED)
    sums, counts, remarks = count(lambda text: own.sql(text).collect(), rules, _JUDGED)
    return Judged(frame, rules, table, exact, *sums, counts, remarks, failures)


def over_series(called: Called) -> Any:
    """A calculation's bound as Spark calls it; NaN, or NULL, where it fails."""
    import numpy as np  # noqa: PLC0415
    import pandas as pd  # noqa: PLC0415
    from pyspark.sql.pandas.functions import pandas_udf  # noqa: PLC0415

    from fitcheck.screen.spans import asked  # noqa: PLC0415

    def over(*columns: Any) -> Any:
        values = [np.asarray(one, float) for one in columns]
        return pd.Series(asked(called.calculation, called.end, values))

    # Spark tells from the annotations that whole columns are meant.
    over.__annotations__ = {"columns": pd.Series, "return": pd.Series}
    as_called: Any = pandas_udf
    return as_called(over, "double")


def _settled(own: Any, query: str) -> Any:
    """A query's answer, computed now: what is asked of it later does not plan the query again."""
    found = own.sql(query)
    safe = own.sparkContext.getCheckpointDir() is not None
    return found.checkpoint() if safe else found.localCheckpoint()


def _decide_near(
    own: Any,
    frame: Frame,
    opening: Opening,
    rules: Sequence[Rule],
    read: dict[str, list[str]],
    failures: list[Problem],
) -> tuple[str, int]:
    """The query of the answers with what floats cannot tell decided; how many those were."""
    sums = ", ".join(f"count(*) FILTER (WHERE r{i} = {NEAR})" for i in range(len(rules)))
    near = own.sql(f"SELECT {sums or 0} FROM {_STARTED}").collect()[0]
    reader = PartReader(frame.knowledge, opening.slot)
    results, joins = [], ""
    for i, rule in enumerate(rules):
        if not near[i]:
            results.append(f"r{i}")
            continue
        names = [*read[rule.id], "evidence"]
        texts = ", ".join(f'"{name}"' for name in names)
        rows = own.sql(f"SELECT DISTINCT {texts} FROM {_STARTED} WHERE r{i} = {NEAR}").collect()
        decided = decide(frame, opening, rule, rows, reader, failures)
        kinds = [f"`{name}` string" for name in names[:-1]]
        kinds += ["`evidence` int", "`standing` tinyint"]
        own.createDataFrame(decided, ", ".join(kinds)).createOrReplaceTempView(f"decided{i}")
        same = [f'd{i}."{name}" IS NOT DISTINCT FROM j."{name}"' for name in names]
        joins += f" LEFT JOIN decided{i} AS d{i} ON {' AND '.join([f'r{i} = {NEAR}', *same])}"
        results.append(f"coalesce(d{i}.standing, r{i}) AS r{i}")
    kept = [f'j."{name}"' for name in NAMED]
    query = f"SELECT {', '.join([*kept, *results])} FROM {_STARTED} AS j{joins}"
    return query, sum(near) if rules else 0
