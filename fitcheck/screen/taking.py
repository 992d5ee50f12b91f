"""Takes the rows of a list into the catalog: those that can be read whole, and no other.

Reasons why a row can't be taken are gathered in a table; rows without any are added.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import partial
from heapq import merge
from operator import itemgetter
from pathlib import Path
from typing import Any

from fitcheck.model import Attribute
from fitcheck.screen.aside import AsideRow, Imported, tell_unshown
from fitcheck.screen.cells import Cells
from fitcheck.screen.kits import BETWEEN, classes_in, leave_contradictions, tell_unclear
from fitcheck.screen.mapping import Column, ListFormat
from fitcheck.screen.raw import RAW, Raw, refuse
from fitcheck.screen.store import Catalog, quoted
from fitcheck.screen.tables import AT, columns_of, figures

# More different words for classes than this are none.
MOST_CLASS_WORDS = 1000
# Rows that are put in at a time: their joins and their order fit into little memory.
_ROWS = 100_000
_GOOD = (
    "parts.row NOT IN (SELECT row FROM why) "
    "AND parts.row NOT IN (SELECT row FROM twice WHERE alike)"
)
Progress = Callable[[str], None]


class Taking:
    """One import: reasons are gathered in a table, rows without any are added."""

    def __init__(
        self,
        catalog: Catalog,
        path: Path,
        raw: Raw,
        reading: ListFormat,
        found: Imported,
        progress: Progress,
    ) -> None:
        self.catalog = catalog
        self.path = path
        self.raw = raw
        self.reading = reading
        self.found = found
        self.progress = progress
        self.cells = Cells(catalog.knowledge, reading)
        self.at = {name: f"c{i}" for i, name in enumerate(raw.headers)}
        # Figures taken out of cells that hold several: the table of each, its column, its own name.
        self.apart: dict[str, list[tuple[str, Column, Attribute, str]]] = {}

    def look(self) -> None:
        """Read all cells, and gather what is wrong with them."""
        run = self.catalog.run
        run("CREATE OR REPLACE TEMP TABLE why (row BIGINT, reason VARCHAR)")
        blank = " AND ".join(f"coalesce(trim({name}), '') = ''" for name in self.at.values())
        self.found.blank = run(f"SELECT count(*) FROM {RAW} WHERE {blank}")[0][0]
        run(f"DELETE FROM {RAW} WHERE {blank}")
        run(
            "CREATE OR REPLACE TEMP TABLE parts AS SELECT row, unnest(slots) AS slot, "
            f"len(slots) > 1 AS in_kit, slots[1] AS first, {self._item()} AS item FROM "
            f"(SELECT *, coalesce({self._slots()}, [NULL]) AS slots FROM {RAW})"
        )
        self.slots = slots = [
            slot for (slot,) in run("SELECT DISTINCT slot FROM parts WHERE slot IS NOT NULL")
        ]
        self._no_double(slots)
        self._no_class()
        at = self.at.get(self.reading.about.get("price", ""))
        number = at is not None and int(at[1:]) in self.raw.numbers
        self._numbers("price", partial(self.cells.price, number=number), "DOUBLE")
        self._numbers("pack", self.cells.pack, "BIGINT")
        self._numbers("stock", self.cells.stock, "BIGINT")
        run("UPDATE parts SET price = 0 WHERE in_kit AND slot <> first AND price IS NOT NULL")
        tell_unclear(self.catalog, self.reading.columns, self.at)
        self._no_item()
        tell_unshown(self.catalog, {one: self.at[one] for one in self.reading.about.values()})
        self._lend("doubts", ["row", "reason"], ["int64", "string"], self.raw.doubts)
        run(f"INSERT INTO why SELECT * FROM doubts WHERE row IN (SELECT row FROM {RAW})")
        for slot in slots:
            self._read_columns(slot)
        self._headers_again()
        self._twice()

    def take(self) -> None:
        """Put the good rows in the place of what this list brought before; none replace nothing."""
        if not self.catalog.run(f"SELECT 1 FROM parts WHERE {_GOOD} LIMIT 1"):
            self.found.kept = self.catalog.listed_by(self.found.source)
            return
        self.catalog.drop(self.found.source)
        for slot in self.slots:
            self._add(slot)
        leave_contradictions(self.catalog, self.found.source)
        if "price" in self.reading.about:
            self.catalog.priced_in(self.reading.currency)
        self._count()

    def reconcile(self) -> None:
        """Rows read are rows taken and rows told."""
        found = self.found
        told = found.set_aside + found.twice + found.blank
        if self.raw.read != sum(found.added.values()) - found.in_kits + told:
            lost = f"{self.path}: {self.raw.read} rows read, {found.added} taken, {told} told"
            raise AssertionError(lost)

    def _slots(self) -> str:
        """The classes of a row: one, or all that a kit brings."""
        if self.reading.slot:
            return f"[{quoted(self.reading.slot)}]"
        text = f"trim({self.at[self.reading.slot_header]})"
        said = self.catalog.run(f"SELECT DISTINCT {text} FROM {RAW} LIMIT {MOST_CLASS_WORDS}")
        knowledge = self.catalog.knowledge
        words = {one: classes_in(one, knowledge) for (one,) in said if one}
        words |= {one: (slot,) for one, slot in self.reading.slot_words.items()}
        cases = "".join(
            f" WHEN {quoted(word)} THEN [{', '.join(map(quoted, slots))}]"
            for word, slots in words.items()
            if slots
        )
        return f"CASE {text}{cases} END" if cases else "CAST(NULL AS VARCHAR[])"

    def _item(self) -> str:
        if "item" not in self.reading.about:
            return "'row ' || row"
        return _one_line(self.at[self.reading.about["item"]])

    def _no_class(self) -> None:
        text = "'nothing'"
        if self.reading.slot_header:
            text = f"coalesce(trim(r.{self.at[self.reading.slot_header]}), 'nothing')"
        self.catalog.run(
            f"INSERT INTO why SELECT row, 'no part class: ' || {text} FROM parts AS p "
            f"JOIN {RAW} AS r USING (row) WHERE slot IS NULL"
        )

    def _no_item(self) -> None:
        self.catalog.run(
            "INSERT INTO why SELECT row, 'it has no number of its own' FROM parts "
            "WHERE item IS NULL"
        )

    def _numbers(self, own: str, read: Callable[[str], tuple[Any, str | None]], kind: str) -> None:
        """Prices, packs and stocks."""
        if own not in self.reading.about:
            self.catalog.run(f"ALTER TABLE parts ADD COLUMN {own} {kind}")
            return
        at = self.at[self.reading.about[own]]
        texts = [
            text
            for (text,) in self.catalog.run(
                f"SELECT DISTINCT {at} FROM {RAW} WHERE {at} IS NOT NULL"
            )
        ]
        self._lend(
            f"read_{own}",
            ["text", "value", "wrong"],
            ["string", "float64", "string"],
            [(text, *read(text)) for text in texts],
        )
        self.catalog.run(
            f"CREATE OR REPLACE TEMP TABLE parts AS SELECT p.*, d.value::{kind} AS {own} "
            f"FROM parts AS p JOIN {RAW} AS r USING (row) LEFT JOIN read_{own} AS d "
            f"ON d.text = r.{at}"
        )
        self.catalog.run(
            f"INSERT INTO why SELECT r.row, d.wrong FROM {RAW} AS r "
            f"JOIN read_{own} AS d ON d.text = r.{at} WHERE d.wrong IS NOT NULL"
        )

    def _lend(
        self, name: str, columns: Sequence[str], kinds: Sequence[str], rows: list[tuple[Any, ...]]
    ) -> None:
        import pyarrow  # noqa: PLC0415

        table = pyarrow.table(
            {
                column: pyarrow.array([row[i] for row in rows], kind)
                for i, (column, kind) in enumerate(zip(columns, kinds, strict=True))
            }
        )
        with self.catalog.lent("lent", table):
            self.catalog.run(f"CREATE OR REPLACE TEMP TABLE {name} AS SELECT * FROM lent")

    def _no_double(self, slots: Iterable[str]) -> None:
        """No two columns may tell the same of a part."""
        for slot in slots:
            first: dict[str, str] = {}
            for column in self.reading.columns:
                name = column.names.get(slot)
                if name and first.setdefault(name, column.header) != column.header:
                    refuse(
                        self.path,
                        f"the columns '{first[name]}' and '{column.header}' tell {slot}.{name}",
                        "leave one out, by a mapping file or in the list",
                    )

    def _alone(self, slot: str) -> bool:
        """Whether all rows are of one class."""
        if self.slots != [slot]:
            return False
        return not self.catalog.run("SELECT 1 FROM parts WHERE slot IS NULL LIMIT 1")

    def _told(self, slot: str) -> list[tuple[int, Column, Attribute]]:
        own = figures(slot, self.catalog.knowledge)
        return [
            (i, column, own[name])
            for i, column in enumerate(self.reading.columns)
            if (name := column.names.get(slot, "").partition(AT)[0]) in own
        ]

    def _read_columns(self, slot: str) -> None:
        mine = (
            "TRUE"
            if self._alone(slot)
            else f"row IN (SELECT row FROM parts WHERE slot = {quoted(slot)})"
        )
        told = self._told(slot)
        plain = {attribute.name: column.header for _, column, attribute in told}
        for i, column, attribute in told:
            at = self.at[column.header]
            texts = [
                text
                for (text,) in self.catalog.run(
                    f"SELECT DISTINCT {at} FROM {RAW} WHERE {mine} "
                    f"AND coalesce(trim({at}), '') <> ''"
                )
            ]
            texts = self._taken_apart(slot, i, column, attribute, texts, plain)
            numbers = int(at[1:]) in self.raw.numbers
            read = self.cells.figures(column, attribute, texts, numbers=numbers)
            self._lend(
                f"read_{slot}_{i}",
                ["text", "clean", "lo", "hi", "mask", "wrong"],
                ["string", "string", "float64", "float64", "int64", "string"],
                read.rows,
            )
            self.catalog.run(
                f"INSERT INTO why SELECT r.row, {quoted(column.header + ': ')} || d.wrong "
                f"FROM {RAW} AS r JOIN read_{slot}_{i} AS d ON d.text = r.{at} "
                f"WHERE d.wrong IS NOT NULL AND {mine}"
            )
        mapped = {column.header for _, column, _ in told}
        for column in self.reading.columns:
            if column.header not in mapped:
                others = ", ".join(quoted(one) for one in self.slots if column.names.get(one))
                title = self.catalog.knowledge.classes[slot].title
                self.catalog.run(
                    f"INSERT INTO why SELECT row, {quoted(f'{column.header}: a {title} has none')} "
                    f"FROM {RAW} WHERE {mine} AND row NOT IN "
                    f"(SELECT row FROM parts WHERE in_kit AND slot IN ({others or 'NULL'})) "
                    f"AND coalesce(trim({self.at[column.header]}), '') <> ''"
                )

    def _taken_apart(
        self,
        slot: str,
        i: int,
        column: Column,
        attribute: Attribute,
        texts: list[str],
        plain: dict[str, str],
    ) -> list[str]:
        """The texts that are one figure; a load with its height, or what is told of each side,
        becomes figures of its own.

        What another column tells as well is left to be told as no figure.
        """
        found: dict[tuple[Attribute, str], list[tuple[Any, ...]]] = {}
        sided = AT in column.names[slot]
        left = []
        for text in texts:
            pieces = self.cells.apart(column, attribute, text, sided=sided)
            others = {p.attribute.name for p in pieces} - {attribute.name}
            if not pieces or others & plain.keys():
                left.append(text)
                continue
            for piece in pieces:
                bare = Column(column.header, {})
                read = self.cells.figures(bare, piece.attribute, [piece.text], numbers=False)
                row = (text, *read.rows[0][1:])
                found.setdefault((piece.attribute, piece.side), []).append(row)
        for (of, side), rows in found.items():
            own = of.short_name
            table = f"apart_{slot}_{i}_{own}{side}"
            self._lend(
                table,
                ["text", "clean", "lo", "hi", "mask", "wrong"],
                ["string", "string", "float64", "float64", "int64", "string"],
                rows,
            )
            name = f"{own}{AT}{side}" if side else own
            self.apart.setdefault(slot, []).append((table, column, of, name))
        return left

    def _headers_again(self) -> None:
        """A list of several pages has its headers on each: such a row needs one reason."""
        read = [*self.reading.about.values(), *(column.header for column in self.reading.columns)]
        same = " AND ".join(f"trim({self.at[one]}) = {quoted(one)}" for one in read)
        again = f"FROM {RAW} WHERE {same or False}"
        self.catalog.run(f"DELETE FROM why WHERE row IN (SELECT row {again})")
        self.catalog.run(f"INSERT INTO why SELECT row, 'the headers once more' {again}")

    def _twice(self) -> None:
        """Of rows with one number the first holds; one that says the same is dropped."""
        self.catalog.run(
            "CREATE OR REPLACE TEMP TABLE twice AS SELECT p.row, first.row AS first, "
            "p.said = first.said AS alike FROM "
            f"(SELECT parts.row, slot, item, concat_ws('\x1f', {_known(self.at)}) AS said "
            f"FROM parts JOIN {RAW} USING (row)) AS p JOIN "
            f"(SELECT min(parts.row) AS row, slot, item, "
            f"arg_min(concat_ws('\x1f', {_known(self.at)}), parts.row) AS said "
            f"FROM parts JOIN {RAW} USING (row) WHERE row NOT IN (SELECT row FROM why) "
            "GROUP BY slot, item HAVING count(*) > 1) AS first USING (slot, item) "
            "WHERE p.row > first.row"
        )
        self.catalog.run(
            "INSERT INTO why SELECT row, 'it is listed before, with other figures, in "
            "row ' || first FROM twice WHERE NOT alike"
        )
        told = (
            "SELECT count(DISTINCT row) FROM twice WHERE alike AND row NOT IN (SELECT row FROM why)"
        )
        self.found.twice = self.catalog.run(told)[0][0]

    def _add(self, slot: str) -> None:
        self.catalog.make(slot)
        names: list[str] = []
        values: list[str] = []
        joins: list[str] = []
        told: dict[str, str] = {}
        for own in ("name", "seller"):
            if own in self.reading.about:
                names.append(own)
                values.append(_one_line(f"r.{self.at[self.reading.about[own]]}"))
        if "seller" not in names:
            names.append("seller")
            values.append(quoted(self.reading.title))
        for i, column, attribute in self._told(slot):
            joins.append(
                f"LEFT JOIN read_{slot}_{i} AS d{i} ON d{i}.text = r.{self.at[column.header]}"
            )
            parts = ("clean", "lo", "hi") if attribute.kind is not None else ("clean", "mask")
            for (name, _), part in zip(
                columns_of(column.names[slot], attribute), parts, strict=True
            ):
                told[name] = f"d{i}.{part}"
        for n, (table, column, attribute, own) in enumerate(self.apart.get(slot, ())):
            joins.append(f"LEFT JOIN {table} AS e{n} ON e{n}.text = r.{self.at[column.header]}")
            for (name, _), part in zip(
                columns_of(own, attribute), ("clean", "lo", "hi"), strict=True
            ):
                told[name] = f"coalesce(e{n}.{part}, {told.get(name, 'NULL')})"
        self.catalog.widen(slot, [name for name in told if "__" not in name])
        names += [f'"{name}"' for name in told]
        values += told.values()
        adding = (
            f'INSERT INTO "{slot}" (item, source, kit, row, evidence, price, pack, stock, '
            f"{', '.join(names)}) "
            f"SELECT parts.item, {quoted(self.found.source)}, CASE WHEN in_kit THEN "
            f"{quoted(self.found.source + BETWEEN)} || parts.item END, parts.row, "
            f"{int(self.reading.evidence)}, "
            f"parts.price, parts.pack, parts.stock, {', '.join(values)} FROM parts "
            f"JOIN {RAW} AS r USING (row) "
            f"{' '.join(joins)} WHERE parts.slot = {quoted(slot)} AND {_GOOD}"
        )
        first, last = self.catalog.run(f"SELECT coalesce(min(row), 0), max(row) FROM {RAW}")[0]
        for row in range(first, (last or 0) + 1, _ROWS):
            here = f"BETWEEN {row} AND {row + _ROWS - 1}"
            self.catalog.run(f"{adding} AND parts.row {here} AND r.row {here} ORDER BY parts.row")
        self.progress(f"{slot}: added")

    def _count(self) -> None:
        self.found.added = self.catalog.listed_by(self.found.source)
        beyond = f"SELECT count(*) - count(DISTINCT row) FROM parts WHERE {_GOOD}"
        self.found.in_kits = self.catalog.run(beyond)[0][0]
        self.found.unpriced = self.catalog.listed_by(self.found.source, "price IS NULL").total()
        used = {
            *self.reading.about.values(),
            *(c.header for c in self.reading.columns),
            self.reading.slot_header,
        }
        self.found.unused = [name for name in self.raw.headers if name and name not in used]

    def kept_aside(self) -> Iterable[AsideRow]:
        """The rows set aside: number, part's own number, why, cells."""
        cells = "".join(f", r.{name}" for name in self.at.values())
        rows = self.catalog.rows(
            f"SELECT w.row, coalesce(p.item, ''), string_agg(DISTINCT w.reason, '; '){cells} "
            f"FROM why AS w JOIN {RAW} AS r USING (row) JOIN parts AS p USING (row) "
            f"GROUP BY w.row, p.item{cells} ORDER BY w.row"
        )
        refused = ((row, item, why, cells) for row, item, why, *cells in rows)
        broken = sorted((line, "", why, [text]) for line, text, why in self.raw.broken)
        return merge(refused, broken, key=itemgetter(0))


def _one_line(cell: str) -> str:
    return f"nullif(trim(regexp_replace({cell}, '\\s+', ' ', 'g')), '')"


def _known(at: dict[str, str]) -> str:
    return ", ".join(f"coalesce({name}, '')" for name in at.values())
