"""Lists as they come: a CSV, a spreadsheet or a Parquet file becomes one table of texts.

Each is bounded before it is read: a file's size, a spreadsheet's size once unpacked, its rows and
columns. The table `raw` has the row's number in the file and the columns c0, c1… Each row that is
read is in that table or among those that are told.
"""

from __future__ import annotations

import gzip
import re
import stat
import zlib
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import chain, islice
from pathlib import Path
from typing import Any, TextIO, cast

from fitcheck.screen.plain_lines import insert_lines, lines_of
from fitcheck.screen.records import MOST_LINE, Records
from fitcheck.screen.store import Catalog
from fitcheck.source import BadInput, Place, Problem, Source
from fitcheck.source.place import UNSHOWN

MOST_BYTES = 1_000_000_000
MOST_UNPACKED = 600_000_000
MOST_COLUMNS = 500
MOST_HEADER = 200
MOST_BROKEN = 10_000
RAW = "raw"
_BATCH = 20_000
_NUMBERS = re.compile("double|float|halffloat|decimal.*")
PACKED = ".gz"
_TEXTS = (".csv", ".tsv", ".txt")
SUFFIXES = (*_TEXTS, ".xlsx", ".parquet", *(one + PACKED for one in _TEXTS))
# Rows that may stand above the one that names the columns: a title, an address, a date.
MOST_TITLES = 12
Known = Callable[[Sequence[str]], int]


def kind_of(path: Path) -> str:
    """What ends a list's name, as `.csv` or `.csv.gz`."""
    last = path.suffix.lower()
    return Path(path.stem).suffix.lower() + last if last == PACKED else last


def title_of(path: Path) -> str:
    """A list's name without what it ends in."""
    return path.name[: -len(kind_of(path))] if kind_of(path) else path.name


@dataclass
class Raw:
    """What was read: the headers, those of columns of numbers, and what is told of rows.

    `broken` are lines that are no rows, with why; `doubts` are rows that can't be taken, with why.
    `titles` rows stand above the headers; of headers that stand `twice` none is read.
    """

    headers: list[str]
    numbers: set[int] = field(default_factory=set)
    broken: list[tuple[int, str, str]] = field(default_factory=list)
    doubts: list[tuple[int, str]] = field(default_factory=list)
    read: int = 0
    titles: int = 0
    twice: list[str] = field(default_factory=list)
    sheet: str = ""
    sheets_unread: list[str] = field(default_factory=list)


def read_raw(catalog: Catalog, path: Path, sheet: str = "", known: Known = lambda _: 1) -> Raw:
    """Fill the table `raw` from a file; raises BadInput for what is no list.

    `known` tells how many of some headers name what is looked for.
    """
    size = _size(path)
    if size > MOST_BYTES:
        refuse(path, f"the file is larger than {MOST_BYTES:,} bytes", "split it")
    if size == 0:
        refuse(path, "the file is empty", "check that it is the list meant")
    match kind_of(path).removesuffix(PACKED):
        case ".xlsx":
            return _xlsx(catalog, path, sheet, known)
        case ".parquet":
            return _parquet(catalog, path)
        case ".csv" | ".tsv" | ".txt":
            return _csv(catalog, path, known)
    refuse(
        path,
        f"'{path.suffix}' is no kind of list that is read here",
        f"save it as one of: {', '.join([*SUFFIXES, '.yaml'])}",
    )
    raise AssertionError


def some_cells(catalog: Catalog, raw: Raw, most: int = 50) -> dict[str, list[str]]:
    """Some of what stands beneath each header."""
    first = catalog.run(f"SELECT * EXCLUDE (row) FROM {RAW} ORDER BY row LIMIT {most}")
    columns = zip(*first, strict=True)
    return {
        header: [cell for cell in column if cell]
        for header, column in zip(raw.headers, columns, strict=False)
    }


def refuse(path: Path, what: str, mend: str = "", line: int = 1) -> None:
    """Refuse a file."""
    raise BadInput([Problem(what, Place(Source(str(path), ""), line), mend)])


def _size(path: Path) -> int:
    try:
        status = path.stat()
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        refuse(path, f"the file can't be read: {reason}", "check the name and the folder")
        raise AssertionError from error
    if not stat.S_ISREG(status.st_mode):
        what = "this is a folder" if stat.S_ISDIR(status.st_mode) else "this is no file"
        refuse(path, f"{what}, and no list", "name a list: CSV, xlsx, Parquet or YAML")
    return status.st_size


def _checked(path: Path, headers: Sequence[Any]) -> list[str]:
    names = ["" if name is None else " ".join(str(name).split()) for name in headers]
    while names and not names[-1]:
        names.pop()
    if not names:
        refuse(path, "the first row names no columns", "put a name above each column")
    if len(names) > MOST_COLUMNS:
        refuse(path, f"more than {MOST_COLUMNS} columns", "check that it is the list meant")
    if any(len(name) > MOST_HEADER for name in names):
        refuse(path, f"a column's name is longer than {MOST_HEADER} characters", "shorten it")
    if any(UNSHOWN.search(name) for name in names):
        refuse(path, "a column's name holds a character that can't be shown", "type it anew")
    return names


def _apart(found: Raw) -> None:
    """Of columns with one name none is read: nobody knows which is meant. Each gets its place."""
    counts = Counter(name for name in found.headers if name)
    found.twice = [name for name, count in counts.items() if count > 1]
    found.headers = [
        f"{name} (column {at})" if counts[name] > 1 else name
        for at, name in enumerate(found.headers, 1)
    ]


def _titles(rows: Sequence[Sequence[Any]], known: Known) -> int:
    """How many rows stand above the one that names the columns: the one that names most of them."""
    named = [known(["" if c is None else " ".join(str(c).split()) for c in row]) for row in rows]
    return named.index(max(named)) if named and max(named) > max(named[0], 1) else 0


class _Table:
    """Fills the table `raw`, so many rows at a time."""

    def __init__(self, catalog: Catalog, headers: list[str]) -> None:
        self.catalog = catalog
        self.names = [f"c{i}" for i in range(len(headers))]
        self.numbers: list[int] = []
        self.rows: list[Sequence[str | None]] = []
        columns = ", ".join(f"{name} VARCHAR" for name in self.names)
        catalog.run(f"CREATE OR REPLACE TEMP TABLE {RAW} (row BIGINT, {columns})")

    def add(self, number: int, cells: Sequence[str | None]) -> None:
        """One row, by its number in the file."""
        lacking = len(self.names) - len(cells)
        self.numbers.append(number)
        self.rows.append([*cells, *[None] * lacking] if lacking > 0 else cells)
        if len(self.rows) == _BATCH:
            self.settle()

    def settle(self) -> None:
        """What is still to be written."""
        import pyarrow  # noqa: PLC0415

        columns = [[row[i] for row in self.rows] for i in range(len(self.names))]
        self.insert(self.numbers, [pyarrow.array(cells, "string") for cells in columns])
        self.numbers, self.rows = [], []

    def insert(self, numbers: Sequence[int], columns: Sequence[Any]) -> None:
        """Whole columns of some rows."""
        import pyarrow  # noqa: PLC0415

        rows = pyarrow.array(numbers, "int64")
        table = pyarrow.table([rows, *columns], names=["row", *self.names])
        texts = ", ".join(f"CAST({name} AS VARCHAR)" for name in self.names)
        with self.catalog.lent("cells", table):
            self.catalog.run(f"INSERT INTO {RAW} SELECT row, {texts} FROM cells")


def _csv(catalog: Catalog, path: Path, known: Known) -> Raw:
    packed = kind_of(path).endswith(PACKED)
    try:
        with (gzip.open if packed else open)(
            path, "rt", encoding="utf-8-sig", errors="surrogateescape", newline=""
        ) as file:
            records = Records(cast("TextIO", file))
            return _csv_rows(catalog, path, records, known, plain=not packed)
    except (OSError, EOFError, zlib.error) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        refuse(path, f"the file can't be read: {reason}", "check the name and the folder")
        raise


def _by_the_store(catalog: Catalog, path: Path, found: Raw, separator: str) -> bool:
    """Whether the store's own reader took every line; else the table is as it was."""
    passed, width = found.titles + 1, len(found.headers)
    lines = lines_of(path) if width > 1 else 0
    if lines <= passed:
        return False
    try:
        found.read = insert_lines(catalog, path, RAW, width, separator, passed)
    except _engine_error():
        found.read = 0
    if found.read != lines - passed:
        catalog.run(f"DELETE FROM {RAW}")
        found.read = 0
    return found.read > 0


def _csv_rows(catalog: Catalog, path: Path, records: Records, known: Known, *, plain: bool) -> Raw:
    every = iter(records)
    ahead = list(islice(every, MOST_TITLES))
    titles = _titles([one.cells for one in ahead], known)
    first = ahead[titles] if ahead else None
    if first is None or first.wrong:
        why = first.wrong if first else "the file is empty"
        refuse(path, f"its first row can't be read: {why}", "put a name above each column")
    assert first is not None
    found = Raw(_checked(path, first.cells), titles=titles)
    _apart(found)
    table = _Table(catalog, found.headers)
    width = len(found.headers)
    if plain and _by_the_store(catalog, path, found, records.separator):
        return found
    letters = 0
    for one in chain(ahead[titles + 1 :], every):
        letters += len(one.text)
        if letters > MOST_BYTES:
            refuse(path, f"it unpacks to more than {MOST_BYTES:,} characters", "split it", one.line)
        if len(one.text) >= MOST_LINE or len(found.broken) > MOST_BROKEN:
            what = "most lines are no rows" if found.broken else "a line is endless"
            refuse(path, what, "check that it is the list meant", one.line)
        found.read += 1
        wrong = one.wrong
        if not wrong and any(cell.strip() for cell in one.cells[width:]):
            wrong = f"it has {len(one.cells)} cells, more than the {width} columns that have a name"
        if wrong:
            found.broken.append((one.line, one.text, wrong))
        else:
            table.add(one.line, one.cells[:width])
    table.settle()
    found.doubts = records.doubts()
    if records.lines != records.told_lines:
        lost = f"of {records.lines} lines {records.told_lines} became rows"
        raise AssertionError(lost)
    return found


def _engine_error() -> type[Exception]:
    import duckdb  # noqa: PLC0415

    return duckdb.Error


def _parquet(catalog: Catalog, path: Path) -> Raw:
    import pyarrow.parquet  # noqa: PLC0415

    damaged = (pyarrow.ArrowException, _engine_error(), OSError, ValueError)
    try:
        with pyarrow.parquet.ParquetFile(path) as file:
            schema = file.schema_arrow
            found = Raw(_checked(path, schema.names))
            _apart(found)
            if len(found.headers) < len(schema.names):
                refuse(path, "a column has no name", "name each column")
            kinds = [str(kind) for kind in schema.types]
            found.numbers = {i for i, kind in enumerate(kinds) if _NUMBERS.fullmatch(kind)}
            table = _Table(catalog, found.headers)
            for batch in file.iter_batches(_BATCH):
                rows = range(found.read + 1, found.read + len(batch) + 1)
                table.insert(rows, batch.columns)
                found.read += len(batch)
    except damaged as error:
        first = (str(error) or type(error).__name__).splitlines()[0]
        refuse(path, f"this is no whole Parquet file: {first}", "have it written anew")
        raise
    return found


def _xlsx(catalog: Catalog, path: Path, sheet: str, known: Known) -> Raw:
    from fitcheck.source.spreadsheet import (  # noqa: PLC0415
        MOST_OF_A_SHEET,
        sheet_cells,
        sheet_names,
        sheets_unread,
    )

    best: tuple[int, str] | None = None
    for name in [sheet] if sheet else sheet_names(path, MOST_UNPACKED):
        some = list(islice(sheet_cells(path, name, MOST_UNPACKED, MOST_OF_A_SHEET), MOST_TITLES))
        named = max((known(_values(row)) for row in some), default=0)
        if best is None or named > best[0]:
            best = named, name
    rows = sheet_cells(path, best[1] if best else "", MOST_UNPACKED, MOST_OF_A_SHEET)
    ahead = list(islice(rows, MOST_TITLES))
    titles = _titles([_values(row) for row in ahead], known)
    found = Raw(_checked(path, _values(ahead[titles]) if ahead else ()), titles=titles)
    found.sheet = best[1] if best else ""
    found.sheets_unread = [] if sheet else sheets_unread(path, MOST_UNPACKED, found.sheet)
    _apart(found)
    rows = chain(ahead[titles + 1 :], rows)
    table = _Table(catalog, found.headers)
    width = len(found.headers)
    while batch := list(islice(rows, _BATCH)):
        for row in batch:
            found.read += 1
            told = [cell.value for cell in row.cells[:width]]
            found.numbers |= {i for i, value in enumerate(told) if isinstance(value, float)}
            table.add(row.number, [None if value is None else str(value) for value in told])
            found.doubts += [(row.number, why) for why in _sheet_doubts(row, width)]
    table.settle()
    return found


def _values(row: Any) -> list[str]:
    return ["" if c.value is None else " ".join(str(c.value).split()) for c in row.cells]


def _sheet_doubts(row: Any, width: int) -> Iterator[str]:
    for place in row.lost:
        yield f"{place} is a formula whose value the file does not hold (open it, save it anew)"
    beyond = [str(cell.value) for cell in row.cells[width:] if str(cell.value or "").strip()]
    if beyond:
        yield f"it has cells beyond the columns that have a name: {', '.join(beyond)[:100]}"
