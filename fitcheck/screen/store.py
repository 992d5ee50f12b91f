"""The catalog: one table a class, in an embedded column store, in memory or in a file.

A figure stands in three columns: the text that a person reads (and that is read again wherever
rounding could matter), and the two ends of its interval as floats in base units. A choice stands
as its text and as masks. What is not told is NULL. Of sides see `tables.py`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from os import getpid
from pathlib import Path
from tempfile import gettempdir
from typing import TYPE_CHECKING, Any

from fitcheck.check.values import ValueReader
from fitcheck.knowledge import Knowledge
from fitcheck.model import (
    EVERYWHERE,
    SIDES,
    Evidence,
    Origin,
    Part,
    Selector,
    Statement,
)
from fitcheck.screen.tables import AT, columns_of, figures, inputs_of, names_of, sided_in
from fitcheck.source import BadInput, Place, Problem, Source, Text
from fitcheck.source import Sequence as Listed

if TYPE_CHECKING:
    import duckdb

ABOUT = (
    ("item", "VARCHAR"),
    ("name", "VARCHAR"),
    ("seller", "VARCHAR"),
    ("source", "VARCHAR"),
    ("kit", "VARCHAR"),
    ("row", "BIGINT"),
    ("evidence", "UTINYINT"),
    ("price", "DOUBLE"),
    ("pack", "BIGINT"),
    ("stock", "BIGINT"),
)
_ARROW = {"VARCHAR": "string", "BIGINT": "int64", "UTINYINT": "uint8", "DOUBLE": "float64"}
_MONEY, _LISTS = "priced_in", "lists"
PLACE = Place(Source("the catalog", ""))
# What the engine may hold in memory; it goes on to disk past that.
MEMORY = "1500MB"
# And while a list is taken in, whose texts are many times what is kept of them.
MEMORY_FOR_LISTS = "200MB"
_BATCH = 20_000  # rows that are fetched at a time


@dataclass(frozen=True, slots=True)
class CatalogPart:
    """One part of a catalog: its price, for how many pieces that is, its stock; None: not told."""

    number: int
    part: Part
    item: str
    source: str
    price: float | None
    pack: int | None
    stock: int | None


def quoted(text: str) -> str:
    """A text as it stands in a query."""
    return "'" + text.replace("'", "''") + "'"


def connect(path: Path | None = None) -> duckdb.DuckDBPyConnection:
    """The engine, with the catalog of a file or an empty one; raises BadInput."""
    try:
        import duckdb  # noqa: PLC0415  an extra, and slow to import
    except ImportError:
        mend = "pip install 'fitcheck[catalog]'"
        raise BadInput([Problem("catalogs need the package duckdb", None, mend)]) from None
    try:
        connection = duckdb.connect(str(path) if path else ":memory:")
    except duckdb.Error as error:
        raise _unusable(path, error) from None
    connection.execute(f"SET memory_limit = '{MEMORY}'")
    if path is not None:  # it spills beside the file, which is ours alone while it is open
        _sweep(path.with_name(f"{path.name}.tmp"))
    else:
        folder = Path(gettempdir()) / f"fitcheck-{getpid()}-{id(connection)}"
        connection.execute(f"SET temp_directory = {quoted(str(folder))}")
    return connection


def _sweep(folder: Path) -> None:
    """Take away what an engine that was killed had spilled."""
    with suppress(OSError):
        for left in folder.glob("duckdb_temp_*"):
            left.unlink()
        folder.rmdir()


def _unusable(path: Path | None, error: Exception) -> BadInput:
    what = f"it can't be used as a catalog: {str(error).splitlines()[0]}"
    mend = "name a catalog that fitcheck made, see that the disk has room, close what has it open"
    return BadInput([Problem(what, Place(Source(str(path or "the catalog"), "")), mend)])


class Catalog:
    """Parts by class. `attach` leaves an existing file as it is until something is added."""

    def __init__(self, knowledge: Knowledge, path: Path | None = None) -> None:
        self.knowledge = knowledge
        self.path = path
        self.connection = connect(path)
        if path is not None:
            self._check_own(path)

    def _check_own(self, path: Path) -> None:
        """Refuse a database that is no catalog, or one that other rules or versions made."""
        told = "SELECT table_name, column_name, data_type FROM duckdb_columns() WHERE NOT internal"
        tables: dict[str, dict[str, str]] = {}
        for table, column, kind in self.run(told):
            tables.setdefault(table, {})[column] = kind
        for table, columns in tables.items():
            known = table in self.knowledge.classes
            sided = {name.partition(AT)[0] for name in columns if AT in name}
            wanted = dict(self.kinds(table, sided)) if known else dict(ABOUT)
            if table in (_MONEY, _LISTS) or columns == wanted:
                continue
            if known or not wanted.items() <= columns.items():
                ours = known and dict(ABOUT).items() <= columns.items()
                what = (
                    f"the catalog was made with other attributes of '{table}'"
                    if ours
                    else f"this database is no catalog of fitcheck: it has a table '{table}'"
                )
                mend = "take the lists into a new catalog with fitcheck catalog NEW --add LIST"
                self.close()
                raise BadInput([Problem(what, Place(Source(str(path), "")), mend)])

    def source_of(self, path: Path) -> str:
        """What a list is called here: its name, with folders where another list has that name."""
        self.run(f"CREATE TABLE IF NOT EXISTS {_LISTS} (path VARCHAR, source VARCHAR)")
        real = path.resolve()
        known = dict(self.run(f"SELECT path, source FROM {_LISTS}"))
        if str(real) in known:
            return str(known[str(real)])
        parts = real.parts
        for count in range(1, len(parts) + 1):
            name = "/".join(parts[-count:])
            if name not in known.values():
                break
        self.run(f"INSERT INTO {_LISTS} VALUES ({quoted(str(real))}, {quoted(name)})")
        return name

    def listed_by(self, source: str, condition: str = "true") -> Counter[str]:
        """How many parts of each class came from a list."""
        told = f"WHERE source = {quoted(source)} AND {condition}"
        counts = {
            slot: self.run(f'SELECT count(*) FROM "{slot}" {told}')[0][0] for slot in self.slots()
        }
        return Counter({slot: count for slot, count in counts.items() if count})

    def drop(self, source: str) -> None:
        """Take out what came from a list."""
        for slot in self.slots():
            self.run(f'DELETE FROM "{slot}" WHERE source = {quoted(source)}')

    def close(self) -> None:
        """Close the file."""
        self.connection.close()

    def __enter__(self) -> Catalog:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def run(self, query: str) -> list[tuple[Any, ...]]:
        """Run a query of our own making; its rows. Raises BadInput where the disk fails it."""
        with self._failing_as_input():
            return self.connection.execute(query).fetchall()

    def rows(self, query: str) -> Iterator[tuple[Any, ...]]:
        """The rows of a query, so many at a time; no other may be run meanwhile."""
        with self._failing_as_input():
            self.connection.execute(query)
            while batch := self.connection.fetchmany(_BATCH):
                yield from batch

    @contextmanager
    def _failing_as_input(self) -> Iterator[None]:
        import duckdb  # noqa: PLC0415

        try:
            yield
        except (duckdb.Error, RuntimeError) as error:
            # What the engine makes of Ctrl-C, at its own work and in a calculation of ours.
            if isinstance(error, duckdb.InterruptException) or any(
                told in str(error) for told in ("interrupted", "KeyboardInterrupt")
            ):
                raise KeyboardInterrupt from None
            ours = (duckdb.ProgrammingError, duckdb.DataError, RuntimeError)
            if isinstance(error, ours):
                raise
            raise _unusable(self.path, error) from error

    @contextmanager
    def taking(self) -> Iterator[None]:
        """While a list is taken in: what is not at hand goes to the disk sooner.

        Each thread that puts rows in holds a block of each column, some 70 MB of springs.
        """
        self.run(f"SET memory_limit = '{MEMORY_FOR_LISTS}'")
        self.run("SET threads = 1")
        try:
            yield
        finally:
            self.run("RESET threads")
            self.run(f"SET memory_limit = '{MEMORY}'")

    @property
    def currency(self) -> str:
        """What the prices are in, by its ISO 4217 code; empty while none is told."""
        if not self.run(f"SELECT 1 FROM duckdb_tables() WHERE table_name = '{_MONEY}'"):
            return ""
        found: str = self.run(f"SELECT currency FROM {_MONEY}")[0][0]
        return found

    def priced_in(self, currency: str) -> None:
        """Keep what the prices are in: one currency for the whole catalog."""
        self.run(f"CREATE OR REPLACE TABLE {_MONEY} AS SELECT '{currency}' AS currency")

    def slots(self) -> list[str]:
        """The classes of which the catalog lists parts."""
        told = "SELECT table_name FROM duckdb_tables() WHERE NOT temporary ORDER BY 1"
        return [name for (name,) in self.run(told) if name in self.knowledge.classes]

    def count(self, slot: str) -> int:
        """How many parts of a class are listed."""
        if slot not in self.slots():
            return 0
        found: int = self.run(f'SELECT count(*) FROM "{slot}"')[0][0]
        return found

    def told(self, slot: str) -> list[str]:
        """The attributes of a class that any of its parts tells."""
        own = self.names(slot)
        if not self.count(slot):
            return []
        counts = self.run(f'SELECT {", ".join(f"""count("{n}")""" for n in own)} FROM "{slot}"')[0]
        told = (name for name, count in zip(own, counts, strict=True) if count)
        return list(dict.fromkeys(name.partition(AT)[0] for name in told))

    def names(self, slot: str) -> list[str]:
        """The columns of texts that the table of a class has: its figures, and those of a side."""
        return names_of(figures(slot, self.knowledge), self._sided(slot))

    def _sided(self, slot: str) -> list[str]:
        """The figures, by their short names, that have columns for each side."""
        told = "SELECT column_name FROM duckdb_columns() WHERE table_name = " + quoted(slot)
        names = {name for (name,) in self.run(f"{told} AND contains(column_name, '{AT}')")}
        return [own for own in figures(slot, self.knowledge) if f"{own}{AT}{SIDES[0]}" in names]

    def sided(self, slot: str) -> frozenset[str]:
        """The attributes of which parts may say another thing of each side."""
        return sided_in([f"{own}{AT}" for own in self._sided(slot)], slot, self.knowledge)

    def widen(self, slot: str, names: Iterable[str]) -> None:
        """Make room for figures of one side, by names such as `lobe_lift@intake`."""
        of = figures(slot, self.knowledge)
        there = self._sided(slot)
        for own in dict.fromkeys(name.partition(AT)[0] for name in names if AT in name):
            for side in SIDES if own in of and own not in there else ():
                for column, kind in columns_of(f"{own}{AT}{side}", of[own]):
                    self.run(f'ALTER TABLE "{slot}" ADD COLUMN "{column}" {kind}')

    def make(
        self,
        slot: str,
        name: str = "",
        *,
        temporary: bool = False,
        sided: Iterable[str] | None = None,
    ) -> None:
        """Make the table of a class, where it is not there yet; with `sided` figures by side."""
        columns = [f'"{column}" {kind}' for column, kind in self.kinds(slot, sided)]
        kind = "TEMP TABLE" if temporary else "TABLE"
        self.run(f'CREATE {kind} IF NOT EXISTS "{name or slot}" ({", ".join(columns)})')

    def add(self, slot: str, rows: Sequence[Mapping[str, Any]]) -> None:
        """Add rows given as column values; what a row does not hold is not told."""
        import pyarrow  # noqa: PLC0415

        self.make(slot)
        self.widen(slot, dict.fromkeys(name for row in rows for name in row if "__" not in name))
        kinds = dict(self.kinds(slot))
        columns = {
            name: pyarrow.array([row.get(name) for row in rows], _ARROW[kind])
            for name, kind in kinds.items()
        }
        with self.lent("added", pyarrow.table(columns)):
            self.run(f'INSERT INTO "{slot}" BY NAME SELECT * FROM added')

    @contextmanager
    def lent(self, name: str, table: Any) -> Iterator[None]:
        """A table of the caller's that queries can read for a while."""
        self.connection.register(name, table)
        try:
            yield
        finally:
            self.connection.unregister(name)

    def kinds(self, slot: str, sided: Iterable[str] | None = None) -> list[tuple[str, str]]:
        """The columns of a class's table with their types, `sided` figures by side too."""
        columns, of = list(ABOUT), figures(slot, self.knowledge)
        for name in names_of(of, self._sided(slot) if sided is None else sided):
            columns += columns_of(name, of[name.partition(AT)[0]])
        return columns

    def inputs(self, slot: str, keep: Iterable[str] = ()) -> dict[tuple[str, str], str]:
        """The text of each end that a rule can read of a candidate."""
        return inputs_of(slot, self.knowledge, keep, self.sided(slot))

    def listed(self, slot: str, numbers: Sequence[int]) -> list[CatalogPart]:
        """Parts by their row numbers, in the order asked for."""
        if not numbers:
            return []
        names = self.names(slot)
        texts = "".join(f', "{name}"' for name in names)
        rows = self.run(
            f"SELECT rowid, item, name, seller, source, evidence, price, pack, stock{texts} "
            f'FROM "{slot}" WHERE rowid IN ({", ".join(map(str, numbers))})'
        )
        reader = PartReader(self.knowledge, slot)
        found = {}
        for row, item, name, seller, source, evidence, price, pack, stock, *values in rows:
            told = dict(zip(names, values, strict=True))
            part = reader.part(name or item, seller or source, evidence, told)
            found[row] = CatalogPart(row, part, item, source, price, pack, stock)
        return [found[row] for row in numbers]


class PartReader:
    """Makes parts again from the texts that a catalog holds, each text read once."""

    def __init__(self, knowledge: Knowledge, slot: str) -> None:
        self._slot = slot
        self._figures = figures(slot, knowledge)
        self._problems: list[Problem] = []
        self._values = ValueReader(knowledge, self._problems)
        self._known: dict[tuple[str, str, int], Any] = {}

    def part(self, name: str, seller: str, evidence: int, told: Mapping[str, str | None]) -> Part:
        """A part of which the texts say all that is known."""
        statements, kind, origin = [], Evidence(evidence), Origin(by=seller)
        said = {own: text for own, text in told.items() if text is not None}
        for own, text in said.items():
            base, _, side = own.partition(AT)
            attribute = self._figures[base]
            value = self.value(own, text, kind)
            # What is told of one side alone comes before what is told of both.
            sides = [one for one in SIDES if f"{base}{AT}{one}" not in said]
            where = [Selector(side=side)] if side else [Selector(side=one) for one in sides]
            for selector in where if side or len(sides) < len(SIDES) else [EVERYWHERE]:
                statements.append(Statement(attribute, selector, kind, value, origin))
        return Part(self._slot, name, seller, tuple(statements))

    def value(self, own: str, text: str, evidence: Evidence) -> Any:
        """The value that a text of the catalog stands for."""
        key = (own, text, int(evidence))
        if key not in self._known:
            attribute = self._figures[own.partition(AT)[0]]
            node: Any = Text(text, PLACE)
            if attribute.several:
                node = Listed([Text(one, PLACE) for one in text.split(", ") if one])
                node.place = PLACE
            value = self._values.value(attribute, node, evidence)
            if value is None:
                raise BadInput(self._problems)
            self._known[key] = value
        return self._known[key]
