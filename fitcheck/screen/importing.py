"""Takes a list into the catalog; what can't be read is named, row by row, and kept aside.

A list replaces what an earlier import of the same file brought, so that importing twice changes
nothing. Rows are kept whole or not at all: one bad cell sets its row aside, with the reason.
"""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fitcheck.check.read import read_part
from fitcheck.model import Attribute, Evidence, Layout, Statement
from fitcheck.quantity import Quantity
from fitcheck.screen.cells import Cells
from fitcheck.screen.mapping import Column, Reading, from_headers
from fitcheck.screen.raw import RAW, Raw, read_raw, refuse
from fitcheck.screen.store import Catalog, columns_of, figures
from fitcheck.source import BadInput, Mapping, Problem, Text, nearest, read_yaml
from fitcheck.source import Sequence as Listed

Progress = Callable[[str], None]
# So many rows set aside are kept to be named; the file beside holds all of them.
MOST_NAMED = 10


@dataclass
class Imported:
    """What became of a list: parts by class, rows set aside with why, columns not used."""

    source: str
    added: Counter[str] = field(default_factory=Counter)
    aside: list[tuple[int, str, str]] = field(default_factory=list)
    set_aside: int = 0
    twice: int = 0
    unpriced: int = 0
    unused: list[str] = field(default_factory=list)
    aside_file: Path | None = None


def import_list(
    catalog: Catalog,
    path: Path,
    reading: Reading | None = None,
    aside: Path | None = None,
    progress: Progress = lambda _: None,
) -> Imported:
    """Take a list into the catalog; raises BadInput for a file that is no list at all.

    `aside` is where rows that can't be read are written; without it beside the list.
    """
    found = Imported(path.name)
    if path.suffix.lower() in (".yaml", ".yml"):
        _yaml(catalog, path, found, aside)
        return found
    raw = read_raw(catalog, path, reading.sheet if reading else "")
    if reading is None:
        reading = from_headers(raw.headers, path.stem, catalog.knowledge)
    _check_headers(path, raw, reading)
    progress(f"{path.name}: read; now its figures")
    work = _Work(catalog, path, raw, reading, found, progress)
    work.run()
    _write_aside(path, raw.headers, work.kept_aside(), found, aside)
    return found


def _check_headers(path: Path, raw: Raw, reading: Reading) -> None:
    named = [*reading.about.values(), *(column.header for column in reading.columns)]
    if reading.slot_header:
        named.append(reading.slot_header)
    missing = [name for name in named if name not in raw.headers]
    if missing:
        raise BadInput([Problem(f"{path} has no column '{name}'", None, nearest(name, raw.headers))
                        for name in missing])  # fmt: skip
    if not reading.slot and not reading.slot_header:
        refuse(path, "nothing says which class these parts are of",
               "add a column 'class', or a mapping file with classes: spring")  # fmt: skip
    if not reading.columns:
        refuse(path, "no column tells an attribute",
               "name columns as in 'rate [lbf/in]', or give a mapping file")  # fmt: skip


class _Work:
    """One import: reasons are gathered in a table, rows without any are added."""

    def __init__(
        self, catalog: Catalog, path: Path, raw: Raw, reading: Reading, found: Imported,
        progress: Progress,
    ) -> None:  # fmt: skip
        self.catalog = catalog
        self.path = path
        self.raw = raw
        self.reading = reading
        self.found = found
        self.progress = progress
        self.cells = Cells(catalog.knowledge, reading)
        self.at = {name: f"c{i}" for i, name in enumerate(raw.headers)}

    def run(self) -> None:
        run = self.catalog.run
        run("CREATE OR REPLACE TEMP TABLE why (row BIGINT, reason VARCHAR)")
        blank = " AND ".join(f"coalesce(trim({name}), '') = ''" for name in self.at.values())
        run(f"DELETE FROM {RAW} WHERE {blank}")
        run(f"CREATE OR REPLACE TEMP TABLE parts AS SELECT row, {self._slot()} AS slot, "
            f"{self._item()} AS item FROM {RAW}")  # fmt: skip
        slots = [slot for (slot,) in run("SELECT DISTINCT slot FROM parts WHERE slot IS NOT NULL")]
        self._no_class()
        self._numbers("price", self.cells.price, "DOUBLE")
        self._numbers("stock", self.cells.stock, "BIGINT")
        self._no_item()
        for slot in slots:
            self._read_columns(slot)
        self._twice()
        run("BEGIN")
        try:
            for slot in self.catalog.slots():
                run(f'DELETE FROM "{slot}" WHERE source = {quoted(self.found.source)}')
            for slot in slots:
                self._add(slot)
        except BaseException:
            run("ROLLBACK")
            raise
        run("COMMIT")
        self._count()

    def _slot(self) -> str:
        if self.reading.slot:
            return quoted(self.reading.slot)
        text = f"trim({self.at[self.reading.slot_header]})"
        words = {**{slot: slot for slot in self.catalog.knowledge.classes}, **self.reading.slot_words}
        cases = " ".join(f"WHEN {quoted(word)} THEN {quoted(slot)}" for word, slot in words.items())
        return f"CASE {text} {cases} END"

    def _item(self) -> str:
        if "item" not in self.reading.about:
            return "'row ' || row"
        return f"nullif(trim({self.at[self.reading.about['item']]}), '')"

    def _no_class(self) -> None:
        text = "'nothing'"
        if self.reading.slot_header:
            text = f"coalesce(trim(r.{self.at[self.reading.slot_header]}), 'nothing')"
        self.catalog.run(
            f"INSERT INTO why SELECT row, 'no part class: ' || {text} FROM parts AS p "
            f"JOIN {RAW} AS r USING (row) WHERE slot IS NULL"
        )

    def _no_item(self) -> None:
        self.catalog.run("INSERT INTO why SELECT row, 'it has no number of its own' FROM parts "
                         "WHERE item IS NULL")  # fmt: skip

    def _numbers(self, own: str, read: Callable[[str], tuple[Any, str | None]], kind: str) -> None:
        """Prices and stocks."""
        if own not in self.reading.about:
            self.catalog.run(f"ALTER TABLE parts ADD COLUMN {own} {kind}")
            return
        at = self.at[self.reading.about[own]]
        texts = [text for (text,) in self.catalog.run(
            f"SELECT DISTINCT {at} FROM {RAW} WHERE {at} IS NOT NULL")]  # fmt: skip
        self._lend(f"read_{own}", ["text", "value", "wrong"], ["string", "float64", "string"],
                   [(text, *read(text)) for text in texts])  # fmt: skip
        self.catalog.run(
            f"CREATE OR REPLACE TEMP TABLE parts AS SELECT p.*, d.value::{kind} AS {own} "
            f"FROM parts AS p JOIN {RAW} AS r USING (row) LEFT JOIN read_{own} AS d "
            f"ON d.text = r.{at}"
        )
        self.catalog.run(f"INSERT INTO why SELECT r.row, d.wrong FROM {RAW} AS r "
                         f"JOIN read_{own} AS d ON d.text = r.{at} WHERE d.wrong IS NOT NULL")  # fmt: skip

    def _lend(
        self, name: str, columns: Sequence[str], kinds: Sequence[str], rows: list[tuple[Any, ...]]
    ) -> None:
        import pyarrow  # noqa: PLC0415

        table = pyarrow.table({
            column: pyarrow.array([row[i] for row in rows], kind)
            for i, (column, kind) in enumerate(zip(columns, kinds, strict=True))
        })  # fmt: skip
        with self.catalog.lent("lent", table):
            self.catalog.run(f"CREATE OR REPLACE TEMP TABLE {name} AS SELECT * FROM lent")

    def _told(self, slot: str) -> list[tuple[int, Column, Attribute]]:
        own = figures(slot, self.catalog.knowledge)
        return [(i, column, own[column.attribute]) for i, column in enumerate(self.reading.columns)
                if column.attribute in own]  # fmt: skip

    def _read_columns(self, slot: str) -> None:
        mine = f"(SELECT row FROM parts WHERE slot = {quoted(slot)})"
        told = self._told(slot)
        for i, column, attribute in told:
            at = self.at[column.header]
            texts = [text for (text,) in self.catalog.run(
                f"SELECT DISTINCT {at} FROM {RAW} WHERE row IN {mine} "
                f"AND coalesce(trim({at}), '') <> ''")]  # fmt: skip
            numbers = int(at[1:]) in self.raw.numbers
            read = self.cells.figures(column, attribute, texts, numbers=numbers)
            self._lend(f"read_{slot}_{i}", ["text", "clean", "lo", "hi", "mask", "wrong"],
                       ["string", "string", "float64", "float64", "int64", "string"], read.rows)  # fmt: skip
            self.catalog.run(
                f"INSERT INTO why SELECT r.row, {quoted(column.header + ': ')} || d.wrong "
                f"FROM {RAW} AS r JOIN read_{slot}_{i} AS d ON d.text = r.{at} "
                f"WHERE d.wrong IS NOT NULL AND r.row IN {mine}"
            )
        mapped = {column.attribute for _, column, _ in told}
        for column in self.reading.columns:
            if column.attribute not in mapped:
                title = self.catalog.knowledge.classes[slot].title
                self.catalog.run(
                    f"INSERT INTO why SELECT row, {quoted(f'{column.header}: a {title} has none')} "
                    f"FROM {RAW} WHERE row IN {mine} "
                    f"AND coalesce(trim({self.at[column.header]}), '') <> ''"
                )

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
        self.catalog.run("INSERT INTO why SELECT row, 'it is listed before, with other figures, in "
                         "row ' || first FROM twice WHERE NOT alike")  # fmt: skip
        self.found.twice = self.catalog.run("SELECT count(*) FROM twice WHERE alike")[0][0]

    def _add(self, slot: str) -> None:
        self.catalog.make(slot)
        names, values, joins = [], [], []
        for own in ("name", "seller"):
            if own in self.reading.about:
                names.append(own)
                values.append(f"nullif(trim(r.{self.at[self.reading.about[own]]}), '')")
        if "seller" not in names:
            names.append("seller")
            values.append(quoted(self.reading.title))
        for i, column, attribute in self._told(slot):
            joins.append(f"LEFT JOIN read_{slot}_{i} AS d{i} ON d{i}.text = r.{self.at[column.header]}")
            parts = ("clean", "lo", "hi") if attribute.kind is not None else ("clean", "mask")
            for (name, _), part in zip(columns_of(column.attribute, attribute), parts, strict=True):
                names.append(f'"{name}"')
                values.append(f"d{i}.{part}")
        self.catalog.run(
            f'INSERT INTO "{slot}" (item, source, row, evidence, price, stock, {", ".join(names)}) '
            f"SELECT p.item, {quoted(self.found.source)}, p.row, {int(self.reading.evidence)}, "
            f"p.price, p.stock, {', '.join(values)} FROM parts AS p JOIN {RAW} AS r USING (row) "
            f"{' '.join(joins)} WHERE p.slot = {quoted(slot)} AND p.row NOT IN (SELECT row FROM why) "
            "AND p.row NOT IN (SELECT row FROM twice WHERE alike) ORDER BY p.row"
        )
        self.progress(f"{slot}: added")

    def _count(self) -> None:
        source = quoted(self.found.source)
        for slot in self.catalog.slots():
            told = f'SELECT count(*), count(*) FILTER (price IS NULL) FROM "{slot}" WHERE source = {source}'
            count, unpriced = self.catalog.run(told)[0]
            if count:
                self.found.added[slot] = count
                self.found.unpriced += unpriced
        used = {*self.reading.about.values(), *(c.header for c in self.reading.columns),
                self.reading.slot_header}  # fmt: skip
        self.found.unused = [name for name in self.raw.headers if name and name not in used]

    def kept_aside(self) -> list[tuple[int, str, str, Sequence[str]]]:
        """The rows set aside: number, part's own number, why, cells."""
        cells = "".join(f", r.{name}" for name in self.at.values())
        rows = self.catalog.run(
            f"SELECT w.row, coalesce(p.item, ''), string_agg(DISTINCT w.reason, '; '){cells} "
            f"FROM why AS w JOIN {RAW} AS r USING (row) JOIN parts AS p USING (row) "
            f"GROUP BY w.row, p.item{cells} ORDER BY w.row"
        )
        found = [(row, item, why, list(told)) for row, item, why, *told in rows]
        found += [(line, "", why, [text]) for line, text, why in self.raw.broken]
        return sorted(found, key=lambda one: one[0])


def _known(at: dict[str, str]) -> str:
    return ", ".join(f"coalesce({name}, '')" for name in at.values())


def quoted(text: str) -> str:
    """A text as it stands in a query."""
    return "'" + text.replace("'", "''") + "'"


def _write_aside(
    path: Path,
    headers: Sequence[str],
    rows: list[tuple[int, str, str, Sequence[str]]],
    found: Imported,
    aside: Path | None,
) -> None:
    found.set_aside = len(rows)
    found.aside = [(row, item, why) for row, item, why, _ in rows[:MOST_NAMED]]
    target = aside or path.with_name(f"{path.stem}.set_aside.csv")
    if not rows:
        return
    try:
        with target.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(["row", "why", *headers])
            writer.writerows([[row, why, *cells] for row, _, why, cells in rows])
    except OSError as error:
        raise BadInput([Problem(f"{target} can't be written: {(error.strerror or '').lower()}", None,
                                "name another file with --aside")]) from error  # fmt: skip
    found.aside_file = target


# Short lists as YAML: parts one after the other, each as in a build file.


def _yaml(catalog: Catalog, path: Path, found: Imported, aside: Path | None) -> None:
    problems: list[Problem] = []
    node = read_yaml(path, problems)
    if problems or node is None:
        raise BadInput(problems)
    parts = node.get(Text("parts", node.place)) if isinstance(node, Mapping) else None
    if not isinstance(parts, Listed):
        refuse(path, "a list of parts starts with 'parts:'", "write one '- spring: {…}' a part")
        return
    rows: dict[str, list[dict[str, Any]]] = {}
    kept: list[tuple[int, str, str, Sequence[str]]] = []
    for one in parts:
        own: list[Problem] = []
        told = _yaml_part(catalog, one, own, found.source)
        if told is None:
            why = "; ".join(f"{p.what}{f' ({p.mend})' if p.mend else ''}" for p in own)
            kept.append((one.place.line, "", why, [_written(one)]))
        else:
            rows.setdefault(told[0], []).append(told[1])
    for slot in catalog.slots():
        catalog.run(f'DELETE FROM "{slot}" WHERE source = {quoted(found.source)}')
    for slot, some in rows.items():
        catalog.add(slot, some)
        found.added[slot] = len(some)
        found.unpriced += sum(row["price"] is None for row in some)
    _write_aside(path, ["part"], kept, found, aside)


def _written(node: Any) -> str:
    if isinstance(node, Mapping):
        return "{" + ", ".join(f"{key}: {_written(value)}" for key, value in node.items()) + "}"
    if isinstance(node, Listed):
        return "[" + ", ".join(map(_written, node)) + "]"
    return str(node)


def _yaml_part(
    catalog: Catalog, node: Any, problems: list[Problem], source: str
) -> tuple[str, dict[str, Any]] | None:
    if not isinstance(node, Mapping) or len(node) != 1:
        problems.append(Problem("a part is one class with what is known of it", node.place))
        return None
    slot, told = next(iter(node.items()))
    if slot not in catalog.knowledge.classes:
        problems.append(Problem(f"no part class: {slot}", slot.place,
                                nearest(slot, catalog.knowledge.classes)))  # fmt: skip
        return None
    row: dict[str, Any] = {"source": source, "row": node.place.line, "price": None, "stock": None,
                           "evidence": int(Evidence.CLAIMED), "item": f"line {node.place.line}"}  # fmt: skip
    own = Mapping()
    own.place = told.place
    cells = Cells(catalog.knowledge, Reading("", "", "", {}, {}, ()))
    for key, value in told.items() if isinstance(told, Mapping) else ():
        if key in ("item", "price", "stock") and isinstance(value, Text):
            read: dict[str, Callable[[str], tuple[Any, str | None]]] = {
                "item": lambda text: (text, None), "price": cells.price, "stock": cells.stock}  # fmt: skip
            row[str(key)], wrong = read[key](value)
            if wrong:
                problems.append(Problem(wrong, value.place))
        else:
            own[key] = value
    part = read_part(slot, own, "", Layout(16), catalog.knowledge, problems)
    if part is None or problems:
        return None
    row |= {"name": part.name or None, "seller": part.seller or None}
    for statement in part.statements:
        row |= _row_of(statement)
        row["evidence"] = int(statement.evidence)
    return str(slot), row


def _row_of(statement: Statement) -> dict[str, Any]:
    own, value = statement.attribute.name.partition(".")[2], statement.value
    if isinstance(value, Quantity):
        return {own: value.text, f"{own}__lo": float(value.lower), f"{own}__hi": float(value.upper)}
    if isinstance(value, int):
        some = [one for i, one in enumerate(statement.attribute.options) if value >> i & 1]
        return {own: ", ".join(some), f"{own}__mask": value}
    return {}


