"""A catalog past one machine: Spark leaves few candidates of each slot, the rest is done here.

What a rule surely rules out is left out on the workers, slot by slot. The cheapest of those left
come here, with the nearest misses, and are screened or combined as any catalog is; the counts are
those of all.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from fitcheck.knowledge import Knowledge
from fitcheck.language import CONFLICT
from fitcheck.model import EngineBuild, Evidence
from fitcheck.plan.at_place import remembered
from fitcheck.quantity import Quantity
from fitcheck.screen.cost import need_of
from fitcheck.screen.folder import currency_of
from fitcheck.screen.opening import Opening
from fitcheck.screen.screening import Screen
from fitcheck.screen.spark import ABOUT_IT, JudgedCatalog, judge
from fitcheck.screen.store import Catalog, PartReader
from fitcheck.source import BadInput, Problem

# So many of a slot come here: the cheapest that nothing rules out, and the nearest misses.
MOST_LEFT = 2000
MOST_MISSES = 50


@dataclass
class Fewer:
    """The catalog of those that came here, and what Spark counted, by slot."""

    catalog: Catalog
    judged: dict[str, JudgedCatalog]

    @property
    def cut(self) -> list[str]:
        """The slots of which more were left than came here."""
        return [slot for slot, one in self.judged.items() if one.fits + one.possible > MOST_LEFT]

    def counted(self, found: Screen) -> Screen:
        """A screening of those that came here, with the counts of all."""
        own = self.judged[found.opening.slot]
        total = own.fits + own.possible + own.ruled_out
        return replace(
            found,
            total=total,
            fits=own.fits,
            possible=own.possible,
            ruled_out=own.ruled_out,
            counts=own.counts,
            remarks=own.remarks,
            exact=own.exact,
        )


def session_of(master: str, settings: Mapping[str, str]) -> Any:
    """A Spark session; raises BadInput where Spark or its Java is not to be had."""
    try:
        from pyspark.sql import SparkSession  # noqa: PLC0415  an extra of 450 MB
    except ImportError:
        mend = "pip install 'fitcheck[spark]', and have Java 17 on PATH"
        raise BadInput(
            [Problem("the engine spark needs the package pyspark", None, mend)]
        ) from None
    builder = SparkSession.builder.appName("fitcheck")
    quiet = {"spark.ui.enabled": "false", "spark.ui.showConsoleProgress": "false"}
    for name, value in {**quiet, **settings}.items():
        builder = builder.config(name, value)
    if master:
        builder = builder.master(master)
    if master.startswith("local"):  # workers beside this process have its packages
        os.environ.setdefault("PYSPARK_PYTHON", sys.executable)
    try:
        session = builder.getOrCreate()
    except Exception as error:  # whatever a missing Java or an unknown master makes of its start
        what = f"Spark can't be started: {str(error).splitlines()[0]}"
        raise BadInput([Problem(what, None, "have Java 17 on PATH, check --master")]) from error
    session.sparkContext.setLogLevel("ERROR")
    return session


def left_of(
    session: Any,
    folder: Path,
    knowledge: Knowledge,
    build: EngineBuild,
    openings: Sequence[Opening],
) -> Fewer:
    """What is left of a folder of Parquet, a folder beneath it for each class."""
    missing = [one.slot for one in openings if not (folder / one.slot).is_dir()]
    if missing:
        mend = "write one with fitcheck catalog CATALOG --parquet FOLDER"
        raise BadInput(
            [Problem(f"{folder} has no folder '{slot}'", None, mend) for slot in missing]
        )
    slots = [opening.slot for opening in openings]
    build = remembered(build, knowledge, slots)
    for opening in openings:
        build = opening.emptied(build)
    several = len(slots) > 1 and not any(opening.side for opening in openings)
    where = "TRUE" if several else "kit IS NULL"  # kits are chosen whole, with all their slots
    judged = {
        one.slot: judge(session, f"parquet.`{folder / one.slot}`", knowledge, build, one, where)
        for one in openings
    }
    kits = _kits_of(session, folder, judged, knowledge) if several else []
    catalog = Catalog(knowledge)
    for slot, one in judged.items():
        catalog.make(slot)
        catalog.add(slot, _rows(one, build, knowledge, kits))
    if currency := currency_of(folder):
        catalog.priced_in(currency)
    return Fewer(catalog, judged)


def _clashes(one: JudgedCatalog) -> str:
    """How many rules rule a candidate out."""
    binding = [i for i, rule in enumerate(one.rules) if rule.severity != "advice"]
    return " + ".join(f"CAST(r{i} = {CONFLICT} AS INT)" for i in binding) or "0"


def _kits_of(
    session: Any, folder: Path, judged: Mapping[str, JudgedCatalog], knowledge: Knowledge
) -> list[str]:
    """The cheapest kits of which each part has an open slot, and nothing rules one out."""
    listed = [slot for slot in knowledge.classes if (folder / slot).is_dir()]
    every = " UNION ALL ".join(
        f"SELECT kit FROM parquet.`{folder / slot}` WHERE kit IS NOT NULL" for slot in listed
    )
    left = None
    for one in judged.values():
        own = one.table.where(f"kit IS NOT NULL AND {_clashes(one)} = 0").select("kit", "price")
        left = own if left is None else left.unionAll(own)
    assert left is not None
    left.createOrReplaceTempView("left_of_kits")
    return [
        row[0]
        for row in session.sql(
            f"SELECT kit FROM (SELECT kit, count(*) AS parts FROM ({every}) GROUP BY kit) JOIN "
            "(SELECT kit, count(*) AS parts, sum(price) AS price FROM left_of_kits GROUP BY kit) "
            f"USING (kit, parts) ORDER BY price NULLS LAST, kit LIMIT {MOST_LEFT}"
        ).collect()
    ]


def _rows(
    one: JudgedCatalog, build: EngineBuild, knowledge: Knowledge, kits: Sequence[str]
) -> list[dict[str, Any]]:
    """The rows of a catalog's table of those that come here, with the parts of some kits."""
    (opening,) = one.frame.openings.values()
    names = [f"`{name}`" for name in (*ABOUT_IT, *one.told)]
    cost = need_of(build, knowledge, opening).sql
    every = one.table.selectExpr(*names, f"{_clashes(one)} AS clashes", f"{cost} AS cost")
    table = every.where("kit IS NULL")
    cheapest = table.where("clashes = 0").orderBy(table["cost"].asc_nulls_last(), "source", "row")
    left = cheapest.limit(MOST_LEFT).collect()
    left += every.where(every["kit"].isin(kits)).collect() if kits else []
    misses = table.where("clashes > 0").orderBy("clashes", "row").limit(MOST_MISSES).collect()
    reader, found = PartReader(knowledge, opening.slot), []
    for row in [*left, *misses]:
        told = row.asDict()
        made = {name: told[name] for name in ABOUT_IT}
        for own in one.told:
            if told[own] is None:
                continue
            value = reader.value(own, told[own], Evidence(told["evidence"]))
            made[own] = told[own]
            if isinstance(value, Quantity):
                made[f"{own}__lo"], made[f"{own}__hi"] = float(value.lower), float(value.upper)
            else:
                made[f"{own}__mask"] = value
        found.append(made)
    return found
