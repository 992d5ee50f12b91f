"""Spreadsheets (xlsx) as tables of text, by openpyxl; each cell with its place.

A cell formatted as a number is read with the decimals that it shows, so that 1.720 stays 1.720.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

from fitcheck.source.place import BadInput, Place, Problem, Source
from fitcheck.source.table import Row
from fitcheck.source.yaml import MOST_BYTES, Text

SUFFIX = ".xlsx"
MOST_UNPACKED = 60_000_000
MOST_ROWS, MOST_COLUMNS = 100_000, 200
_DECIMALS = re.compile(r"0\.(0+)")
_HOW = "pip install 'fitcheck[catalog]', or use a table that ends in .csv"


def read_spreadsheet(path: Path, problems: list[Problem]) -> list[Row]:
    """The rows of the first sheet; none after a problem with the file as a whole."""
    try:
        return _rows(path, _values(path))
    except BadInput as refused:
        problems += refused.problems
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        what = f"the file can't be read: {reason}"
        problems.append(_problem(path, what, "check the name and the folder"))
    return []


def _values(path: Path) -> list[list[str]]:
    _check_size(path)
    openpyxl = _library()
    try:
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
        sheet = book.worksheets[0]
        found = [
            [_text(cell) for cell in row[:MOST_COLUMNS]]
            for row in sheet.iter_rows(max_row=MOST_ROWS)
        ]
        book.close()
    except OSError:
        raise
    except Exception as error:  # whatever a broken spreadsheet makes of its reader
        raise BadInput(
            [_problem(path, "the file is no spreadsheet that can be read", "save it anew as xlsx")]
        ) from error
    return found


def _check_size(path: Path) -> None:
    try:
        with path.open("rb") as file, zipfile.ZipFile(file) as archive:
            unpacked = sum(item.file_size for item in archive.infolist())
    except zipfile.BadZipFile as error:
        raise BadInput([_problem(path, "the file is no spreadsheet", "save it as xlsx")]) from error
    if path.stat().st_size > MOST_BYTES or unpacked > MOST_UNPACKED:
        what = "the spreadsheet is too large for a sheet"
        raise BadInput([_problem(path, what, "check that it is the sheet meant")])


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
