"""The catalog: one table a class, in an embedded column store, in memory or in a file.

A figure stands in three columns: the text that a person reads (and that is read again wherever
rounding could matter), and the two ends of its interval as floats in base units. A choice stands
as its text and as masks. What is not told is NULL.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.check.values import ValueReader
from fitcheck.knowledge import Knowledge
from fitcheck.language.columns import number
from fitcheck.model import EVERYWHERE, Attribute, Evidence, Origin, Part, Statement
from fitcheck.model.evidence import UNTOLD
from fitcheck.source import BadInput, Place, Problem, Source, Text
from fitcheck.source import Sequence as Listed

if TYPE_CHECKING:
    import duckdb

ABOUT = (
    ("item", "VARCHAR"),
    ("name", "VARCHAR"),
    ("seller", "VARCHAR"),
    ("source", "VARCHAR"),
    ("row", "BIGINT"),
    ("evidence", "UTINYINT"),
    ("price", "DOUBLE"),
    ("pack", "BIGINT"),
    ("stock", "BIGINT"),
)
_ARROW = {"VARCHAR": "string", "BIGINT": "int64", "UTINYINT": "uint8", "DOUBLE": "float64"}
_MONEY, _LISTS = "priced_in", "lists"
PLACE = Place(Source("the catalog", ""))
_FROM_LISTING = ("present", "comes_with_head")
# What the engine may hold in memory; it goes on to disk past that.
MEMORY = "1500MB"


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


def figures(slot: str, knowledge: Knowledge) -> dict[str, Attribute]:
    """The attributes of a class that a catalog can state, by their own short names."""
    own = knowledge.classes[slot].attributes
    return {
        name.partition(".")[2]: attribute
        for name, attribute in own.items()
        if not attribute.text and name.partition(".")[2] not in _FROM_LISTING
    }


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
    return connection


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
            wanted = dict(self.kinds(table)) if known else dict(ABOUT)
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
        import duckdb  # noqa: PLC0415

        try:
            return self.connection.execute(query).fetchall()
        except (duckdb.ProgrammingError, duckdb.DataError):  # a fault of our own
            raise
        except duckdb.Error as error:
            raise _unusable(self.path, error) from error

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
        own = list(figures(slot, self.knowledge))
        if not self.count(slot):
            return []
        counts = self.run(f'SELECT {", ".join(f"""count("{n}")""" for n in own)} FROM "{slot}"')[0]
        return [name for name, count in zip(own, counts, strict=True) if count]

    def make(self, slot: str, name: str = "", *, temporary: bool = False) -> None:
        """Make the table of a class, where it is not there yet."""
        columns = [f'"{column}" {kind}' for column, kind in self.kinds(slot)]
        kind = "TEMP TABLE" if temporary else "TABLE"
        self.run(f'CREATE {kind} IF NOT EXISTS "{name or slot}" ({", ".join(columns)})')

    def add(self, slot: str, rows: Sequence[Mapping[str, Any]]) -> None:
        """Add rows given as column values; what a row does not hold is not told."""
        import pyarrow  # noqa: PLC0415

        self.make(slot)
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

    def kinds(self, slot: str) -> list[tuple[str, str]]:
        """The columns of a class's table with their types."""
        columns = list(ABOUT)
        for own, attribute in figures(slot, self.knowledge).items():
            columns += columns_of(own, attribute)
        return columns

    def inputs(self, slot: str, keep: Iterable[str] = ()) -> dict[tuple[str, str], str]:
        """The text of each end that a rule can read of a candidate."""
        return inputs_of(slot, self.knowledge, keep)

    def listed(self, slot: str, numbers: Sequence[int]) -> list[CatalogPart]:
        """Parts by their row numbers, in the order asked for."""
        if not numbers:
            return []
        names = list(figures(slot, self.knowledge))
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


def columns_of(own: str, attribute: Attribute) -> list[tuple[str, str]]:
    """The columns of an attribute."""
    if attribute.kind is not None:
        return [(own, "VARCHAR"), (f"{own}__lo", "DOUBLE"), (f"{own}__hi", "DOUBLE")]
    return [(own, "VARCHAR"), (f"{own}__mask", "BIGINT")]


def inputs_of(
    slot: str, knowledge: Knowledge, keep: Iterable[str] = ()
) -> dict[tuple[str, str], str]:
    """The text of each end that a rule can read of a candidate, over the table of its class."""
    found: dict[tuple[str, str], str] = {}
    for own, attribute in figures(slot, knowledge).items():
        if attribute.name not in keep:
            found |= _inputs(own, attribute)
    return found


def _inputs(own: str, attribute: Attribute) -> dict[tuple[str, str], str]:
    name = attribute.name
    found = {(name, "given"): f'("{own}" IS NOT NULL)'}
    # A number, as one less than an evidence of a byte's width would be out of the byte's range.
    untold, told = number(float(UNTOLD)), "CAST(evidence AS DOUBLE)"
    found[name, "rank"] = f'CASE WHEN "{own}" IS NULL THEN {untold} ELSE {told} END'
    if attribute.spread_of:
        return found | _spread_inputs(own, attribute)
    if attribute.kind is not None and attribute.plausible is not None:
        ends = attribute.plausible.lower, attribute.plausible.upper
        for end, column, bound in zip(("lower", "upper"), ("lo", "hi"), ends, strict=True):
            found[name, end] = f'coalesce("{own}__{column}", {number(bound)})'
        return found
    every = (1 << len(attribute.options)) - 1
    found[name, "mask"] = found[name, "upper"] = f'coalesce("{own}__mask", {every})'
    found[name, "lower"] = f'coalesce("{own}__mask", 0)'
    return found


def _spread_inputs(own: str, attribute: Attribute) -> dict[tuple[str, str], str]:
    """A spread that is not told is at most what its single figures, all alike, leave open."""
    assert attribute.plausible is not None
    base = attribute.spread_of.partition(".")[2]
    most = number(attribute.plausible.upper)
    least = number(attribute.plausible.lower)
    single = f'least("{base}__hi" - "{base}__lo", {most})'
    told = (
        f'("{own}" IS NOT NULL AND ("{base}" IS NULL OR evidence = 0 OR "{own}__lo" <= {single}))'
    )
    known = f'("{base}" IS NOT NULL AND evidence <= {int(Evidence.PREDICTED)})'
    return {
        (attribute.name, "rank"): f"CASE WHEN {told} OR {known} THEN CAST(evidence AS DOUBLE) "
        f"ELSE {number(float(UNTOLD))} END",
        (attribute.name, "lower"): f'CASE WHEN {told} THEN "{own}__lo" '
        f'WHEN "{base}" IS NOT NULL THEN 0e0 ELSE {least} END',
        (attribute.name, "upper"): f'CASE WHEN {told} THEN "{own}__hi" '
        f'WHEN "{base}" IS NOT NULL THEN {single} ELSE {most} END',
    }


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
        statements = []
        for own, text in told.items():
            if text is not None:
                attribute, kind = self._figures[own], Evidence(evidence)
                value = self.value(own, text, kind)
                origin = Origin(by=seller)
                statements.append(Statement(attribute, EVERYWHERE, kind, value, origin))
        return Part(self._slot, name, seller, tuple(statements))

    def value(self, own: str, text: str, evidence: Evidence) -> Any:
        """The value that a text of the catalog stands for."""
        key = (own, text, int(evidence))
        if key not in self._known:
            attribute = self._figures[own]
            node: Any = Text(text, PLACE)
            if attribute.several:
                node = Listed([Text(one, PLACE) for one in text.split(", ") if one])
                node.place = PLACE
            value = self._values.value(attribute, node, evidence)
            if value is None:
                raise BadInput(self._problems)
            self._known[key] = value
        return self._known[key]
