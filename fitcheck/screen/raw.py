"""Lists as they come: a CSV, a spreadsheet or a Parquet file becomes one table of texts.

Each is bounded before it is read: a file's size, a spreadsheet's size once unpacked, its rows and
columns. The table `raw` has the row's number in the file and the columns c0, c1…
"""

from __future__ import annotations

import csv
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import Any

from fitcheck.screen.store import Catalog
from fitcheck.source import BadInput, Place, Problem, Source
from fitcheck.source.place import UNSHOWN
from fitcheck.source.table import SEPARATORS

MOST_BYTES = 1_000_000_000
MOST_UNPACKED = 600_000_000
MOST_COLUMNS = 500
MOST_SHEET_ROWS = 1_048_576
MOST_HEADER = 100_000
RAW = "raw"
_BATCH = 20_000
SUFFIXES = (".csv", ".tsv", ".txt", ".xlsx", ".parquet")


@dataclass
class Raw:
    """What was read: the headers, those of columns of numbers, and the lines that are no rows."""

    headers: list[str]
    numbers: set[int] = field(default_factory=set)
    broken: list[tuple[int, str, str]] = field(default_factory=list)


def read_raw(catalog: Catalog, path: Path, sheet: str = "") -> Raw:
    """Fill the table `raw` from a file; raises BadInput for what is no list."""
    size = _size(path)
    if size > MOST_BYTES:
        refuse(path, f"the file is larger than {MOST_BYTES:,} bytes", "split it")
    if size == 0:
        refuse(path, "the file is empty", "check that it is the list meant")
    match path.suffix.lower():
        case ".xlsx":
            return _xlsx(catalog, path, sheet)
        case ".parquet":
            return _parquet(catalog, path)
        case ".csv" | ".tsv" | ".txt":
            return _csv(catalog, path)
    refuse(
        path,
        f"'{path.suffix}' is no kind of list that is read here",
        f"save it as one of: {', '.join([*SUFFIXES, '.yaml'])}",
    )
    raise AssertionError


def refuse(path: Path, what: str, mend: str = "") -> None:
    """Refuse a file."""
    raise BadInput([Problem(what, Place(Source(str(path), "")), mend)])


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        refuse(path, f"the file can't be read: {reason}", "check the name and the folder")
        raise AssertionError from error


def _checked(path: Path, headers: Sequence[Any]) -> list[str]:
    names = ["" if name is None else str(name).strip() for name in headers]
    while names and not names[-1]:
        names.pop()
    if not names:
        refuse(path, "the first row names no columns", "put a name above each column")
    if len(names) > MOST_COLUMNS:
        refuse(path, f"more than {MOST_COLUMNS} columns", "check that it is the list meant")
    if any(UNSHOWN.search(name) for name in names):
        refuse(path, "a column's name holds a character that can't be shown", "type it anew")
    twice = {name for name in names if name and names.count(name) > 1}
    if twice:
        refuse(path, f"two columns are named {', '.join(sorted(twice))}", "give each its own name")
    return names


def _literal(path: Path) -> str:
    return "'" + str(path).replace("'", "''") + "'"


def _csv(catalog: Catalog, path: Path) -> Raw:
    with path.open("rb") as file:
        first = file.readline(MOST_HEADER)
    try:
        line = first.decode("utf-8-sig")
    except UnicodeDecodeError:
        refuse(path, "the file is not UTF-8 text", "save it as 'CSV UTF-8'")
        raise
    separator = max(SEPARATORS, key=line.count)
    headers = _checked(path, next(csv.reader([line], delimiter=separator), []))
    columns = ", ".join(f"'c{i}': 'VARCHAR'" for i in range(len(headers)))
    catalog.run("DROP TABLE IF EXISTS reject_errors")
    catalog.run("DROP TABLE IF EXISTS reject_scans")
    try:
        catalog.run(
            f"CREATE OR REPLACE TEMP TABLE {RAW} AS SELECT row_number() OVER () + 1 AS row, * FROM "
            f"read_csv({_literal(path)}, columns = {{{columns}}}, delim = '{separator}', "
            "quote = '\"', escape = '\"', header = true, auto_detect = false, null_padding = true, "
            "parallel = false, store_rejects = true, rejects_limit = 10000, "
            "max_line_size = 4000000)"
        )
        lines = catalog.run(
            "SELECT line, any_value(csv_line), any_value(error_message) FROM reject_errors "
            "GROUP BY line ORDER BY line"
        )
    except _engine_error() as error:
        refuse(
            path,
            f"the list can't be read: {str(error).splitlines()[0]}",
            "check that every row is whole, and saved as 'CSV UTF-8'",
        )
        raise
    broken = []
    for line, text, why in lines:
        broken.append((line, text or "", str(why or "this is no row of the list").splitlines()[0]))
        catalog.run(f"UPDATE {RAW} SET row = row + 1 WHERE row >= {line}")
    return Raw(headers, broken=broken)


def _engine_error() -> type[Exception]:
    import duckdb  # noqa: PLC0415

    return duckdb.Error


def _parquet(catalog: Catalog, path: Path) -> Raw:
    try:
        described = catalog.run(f"DESCRIBE SELECT * FROM read_parquet({_literal(path)})")
    except _engine_error() as error:
        refuse(path, f"this is no whole Parquet file: {str(error).splitlines()[0]}")
        raise
    headers = _checked(path, [name for name, *_ in described])
    picked = ", ".join(
        f'CAST("{name.replace(chr(34), chr(34) * 2)}" AS VARCHAR) AS c{i}'
        for i, (name, *_) in enumerate(described)
    )
    numbers = {
        i
        for i, (_, kind, *_) in enumerate(described)
        if kind in ("DOUBLE", "FLOAT") or kind.startswith("DECIMAL")
    }
    catalog.run(
        f"CREATE OR REPLACE TEMP TABLE {RAW} AS SELECT row_number() OVER () AS row, {picked} "
        f"FROM read_parquet({_literal(path)})"
    )
    return Raw(headers, numbers)


def _xlsx(catalog: Catalog, path: Path, sheet: str) -> Raw:
    try:
        import openpyxl  # noqa: PLC0415
    except ImportError:
        refuse(path, "spreadsheets need the package openpyxl", "pip install 'fitcheck[catalog]'")
    _refuse_bombs(path)
    try:
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
        if sheet and sheet not in book.sheetnames:
            refuse(path, f"there is no sheet '{sheet}'", f"it has: {', '.join(book.sheetnames)}")
        page: Any = book[sheet] if sheet else book.worksheets[0]
        rows = page.iter_rows(values_only=True)
        headers = _checked(path, next(rows, ()))
        found = Raw(headers)
        names = ", ".join(f"c{i} VARCHAR" for i in range(len(headers)))
        catalog.run(f"CREATE OR REPLACE TEMP TABLE {RAW} (row BIGINT, {names})")
        number = 2
        while batch := list(islice(rows, _BATCH)):
            number = _add_cells(catalog, path, found, batch, number)
        book.close()
    except BadInput:
        raise
    except Exception as error:
        refuse(
            path,
            f"this is no whole spreadsheet: {str(error) or type(error).__name__}",
            "open it and save it anew",
        )
        raise
    return found


def _refuse_bombs(path: Path) -> None:
    """A spreadsheet is an archive: what it comes to is told before any of it is unpacked."""
    try:
        with zipfile.ZipFile(path) as archive:
            unpacked = sum(entry.file_size for entry in archive.infolist())
    except (zipfile.BadZipFile, OSError) as error:
        refuse(path, f"this is no spreadsheet (.xlsx): {error}", "open it and save it anew")
        raise
    if unpacked > MOST_UNPACKED:
        refuse(
            path,
            f"it unpacks to {unpacked:,} bytes; {MOST_UNPACKED:,} is the most",
            "check that it is the list meant; save a long list as CSV",
        )


def _add_cells(
    catalog: Catalog, path: Path, found: Raw, batch: list[tuple[Any, ...]], number: int
) -> int:
    import pyarrow  # noqa: PLC0415

    if number + len(batch) > MOST_SHEET_ROWS + 1:
        refuse(path, f"more than {MOST_SHEET_ROWS:,} rows", "save it as CSV")
    width = len(found.headers)
    columns: list[list[str | None]] = [[] for _ in range(width)]
    for row in batch:
        for i, cell in enumerate(_padded(row, width)):
            if isinstance(cell, float):
                found.numbers.add(i)
            columns[i].append(None if cell is None else str(cell))
    names = [f"c{i}" for i in range(width)]
    table = pyarrow.table(
        {
            "row": pyarrow.array(range(number, number + len(batch)), "int64"),
            **{
                name: pyarrow.array(cells, "string")
                for name, cells in zip(names, columns, strict=True)
            },
        }
    )
    with catalog.lent("cells", table):
        catalog.run(f"INSERT INTO {RAW} SELECT * FROM cells")
    return number + len(batch)


def _padded(row: tuple[Any, ...], width: int) -> Iterator[Any]:
    yield from row[:width]
    for _ in range(width - len(row)):
        yield None
