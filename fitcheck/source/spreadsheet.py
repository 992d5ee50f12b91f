"""Spreadsheets (xlsx) as tables of text, by openpyxl; each cell with its place.

A cell formatted as a number is read with the decimals that it shows, so that 1.720 stays 1.720.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

from fitcheck.source.place import BadInput, Place, Problem, Source
from fitcheck.source.row import Row
from fitcheck.source.yaml import Text

MOST_UNPACKED = 60_000_000
MOST_ROWS, MOST_COLUMNS = 100_000, 200
MOST_OF_A_SHEET = 1_048_576  # rows that the format allows
_DECIMALS = re.compile(r"0\.(0+)")
_FORMULA = re.compile(rb"<(?:\w+:)?f[ />]")
_CELL = re.compile(rb'<(?:\w+:)?c\s[^<>]*?\br="([A-Z]{1,3})([0-9]{1,7})"')
_TOO_LARGE = "the spreadsheet is too large for a list or a sheet", "check that it is the file meant"
_HOW = "pip install 'fitcheck[catalog]', or use a table that ends in .csv"


@dataclass(slots=True)
class SheetRow:
    """One row: its number, its cells, and the places of formulas whose value is not kept."""

    number: int
    cells: tuple[Any, ...]
    lost: list[str]


def read_spreadsheet(path: Path, problems: list[Problem]) -> list[Row]:
    """The rows of the first sheet; none after a problem with the file as a whole."""
    try:
        found = list(sheet_cells(path, "", MOST_UNPACKED, MOST_ROWS))
        for row in found:
            if any(cell.value is not None for cell in row.cells[MOST_COLUMNS:]):
                raise BadInput([_problem(path, *_TOO_LARGE)])
            for place in row.lost:
                what = f"{place} is a formula whose value the file does not hold"
                problems.append(_problem(path, what, "open the file and save it anew"))
        for name in sheets_unread(path, MOST_UNPACKED):
            what = f"the sheet '{name}' is not read: the first alone is"
            problems.append(_problem(path, what, "move what it holds to the first, or to a file"))
        return _rows(path, [[_text(cell) for cell in row.cells[:MOST_COLUMNS]] for row in found])
    except BadInput as refused:
        problems += refused.problems
    return []


def sheet_names(path: Path, most_unpacked: int) -> list[str]:
    """The names of the sheets, in their order; raises BadInput for what is no spreadsheet."""
    openpyxl = _library()
    _looked_through(path, most_unpacked)
    try:
        book = openpyxl.load_workbook(path, read_only=True, keep_links=False)
        names = [str(page.title) for page in book.worksheets]
        book.close()
    except Exception as error:  # whatever a broken spreadsheet makes of its reader
        what = f"the file is no whole spreadsheet: {str(error) or type(error).__name__}"
        raise BadInput([_problem(path, what, "open it and save it anew as xlsx")]) from error
    return names


def sheets_unread(path: Path, most_unpacked: int, read: str = "") -> list[str]:
    """The sheets in which something stands, beside the one that is read: by default the first."""
    names = sheet_names(path, most_unpacked)
    read = read or names[0]
    return [name for name in names if name != read and _holds_something(path, name, most_unpacked)]


def _holds_something(path: Path, sheet: str, most_unpacked: int) -> bool:
    rows = sheet_cells(path, sheet, most_unpacked, MOST_OF_A_SHEET)
    return any(cell.value is not None for row in rows for cell in row.cells)


def sheet_cells(path: Path, sheet: str, most_unpacked: int, most_rows: int) -> Iterator[SheetRow]:
    """The rows of a sheet, by default the first; raises BadInput for what is no spreadsheet.

    All cells are given, wherever the file says that they end.
    """
    openpyxl = _library()
    formulas = _looked_through(path, most_unpacked)
    try:
        books = [
            openpyxl.load_workbook(path, read_only=True, data_only=kept, keep_links=False)
            for kept in ((True, False) if formulas else (True,))
        ]
        if sheet and sheet not in books[0].sheetnames:
            names = ", ".join(books[0].sheetnames)
            raise BadInput([_problem(path, f"there is no sheet '{sheet}'", f"it has: {names}")])
        pages = [book[sheet] if sheet else book.worksheets[0] for book in books]
        for page in pages:
            page.reset_dimensions()
        for number, rows in enumerate(zip(*(page.iter_rows() for page in pages), strict=True), 1):
            if number > most_rows:
                what = f"the sheet has more than {most_rows:,} rows"
                raise BadInput([_problem(path, what, "save a long list as CSV")])
            yield SheetRow(number, rows[0], list(_lost(rows)) if formulas else [])
        for book in books:
            book.close()
    except BadInput:
        raise
    except Exception as error:  # whatever a broken spreadsheet makes of its reader
        what = f"the file is no whole spreadsheet: {str(error) or type(error).__name__}"
        raise BadInput([_problem(path, what, "open it and save it anew as xlsx")]) from error


def _lost(rows: Sequence[tuple[Any, ...]]) -> Iterator[str]:
    """Where a formula stands without a value; `rows` are one row by its values and by formulas."""
    for kept, written in zip(*rows, strict=True):
        # What came out as an empty text is kept as a text.
        if kept.value is None and written.value is not None and kept.data_type != "str":
            yield str(written.coordinate)


def _looked_through(path: Path, most_unpacked: int) -> bool:
    """Whether any cell is a formula; raises BadInput before a bomb is unpacked.

    A spreadsheet is an archive: what it comes to is told before any of it is unpacked. Its reader
    takes cells to be in order; one that is not so would lose some.
    """
    try:
        with path.open("rb") as file, zipfile.ZipFile(file) as archive:
            unpacked = sum(item.file_size for item in archive.infolist())
            if unpacked > most_unpacked:
                what = f"{_TOO_LARGE[0]}: it unpacks to {unpacked:,} bytes"
                raise BadInput([_problem(path, what, _TOO_LARGE[1])])
            pages = [one for one in archive.namelist() if one.startswith("xl/worksheets/")]
            return any([_has_formulas(path, archive, one) for one in pages])  # noqa: C419  each
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        what = f"the file can't be read: {reason}"
        raise BadInput([_problem(path, what, "check the name and the folder")]) from error
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        what = f"the file is no spreadsheet (.xlsx): {error}"
        raise BadInput([_problem(path, what, "open it and save it anew as xlsx")]) from error


def _has_formulas(path: Path, archive: zipfile.ZipFile, name: str) -> bool:
    formulas, last, rest = False, (0, 0, b""), b""
    with archive.open(name) as page:
        while data := page.read(1 << 20):
            data = rest + data
            end = data.rfind(b"<")
            data, rest = (data[:end], data[end:]) if end > 0 else (data, b"")
            formulas = formulas or _FORMULA.search(data) is not None
            for column, row in _CELL.findall(data):
                here = (int(row), len(column), column)
                if here <= last:
                    what = "the sheet's cells do not stand in order"
                    raise BadInput([_problem(path, what, "open it and save it anew as xlsx")])
                last = here
    return formulas or _FORMULA.search(rest) is not None


def _library() -> Any:
    try:
        import openpyxl  # noqa: PLC0415  slow to import, and not always there
    except ImportError as error:
        what = "spreadsheets need the package openpyxl"
        raise BadInput([Problem(what, None, _HOW)]) from error
    return openpyxl


def _problem(path: Path, what: str, mend: str) -> Problem:
    return Problem(what, Place(Source(str(path), "")), mend)


def _text(cell: Any) -> str:
    """What a cell shows."""
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, datetime):
        value = value.date()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float | int) and not isinstance(value, bool):
        decimals = _DECIMALS.search(str(cell.number_format or ""))
        return f"{value:.{len(decimals[1])}f}" if decimals else f"{value:.10g}"
    return " ".join(str(value).split("\n")).replace("\t", " ")


def _rows(path: Path, values: list[list[str]]) -> list[Row]:
    """Rows whose places point into the table as text, a line for each row."""
    source = Source(str(path), "\n".join("\t".join(row) for row in values))
    rows = []
    for number, row in enumerate(values, 1):
        cells, column = [], 1
        for text in row:
            cells.append(Text(text, Place(source, number, column, max(len(text), 1))))
            column += len(text) + 1
        rows.append(Row(tuple(cells), Place(source, number, 1), ended=True))
    return rows


def spreadsheet(rows: Iterable[Sequence[str]], title: str) -> bytes:
    """A spreadsheet of text cells, its first row kept in sight; raises BadInput without openpyxl.

    All cells are text: what is typed into them keeps its digits, and none is a formula.
    """
    openpyxl = _library()
    from openpyxl.styles import Alignment, Font  # noqa: PLC0415

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = title
    widths: dict[int, int] = {}
    for number, row in enumerate(rows, 1):
        for column, text in enumerate(row, 1):
            cell = sheet.cell(number, column)
            cell.value, cell.data_type, cell.number_format = text or None, "s", "@"
            cell.alignment = Alignment(wrap_text=True, vertical="top")
            if number == 1:
                cell.font = Font(bold=True)
            widths[column] = max(widths.get(column, 0), min(len(text), 40))
    for column, width in widths.items():
        sheet.column_dimensions[openpyxl.utils.get_column_letter(column)].width = width + 2
    sheet.freeze_panes = "A2"
    out = BytesIO()
    book.save(out)
    return out.getvalue()
