"""Tables as spreadsheets save them (comma-separated values, RFC 4180), each cell with its place.

Cells are parted by commas, semicolons or tabs, whichever the first row has most of. What is written
here no spreadsheet takes for a formula.
"""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Iterable
from pathlib import Path

from fitcheck.source.place import Place, Problem, Source
from fitcheck.source.row import Row
from fitcheck.source.yaml import MOST_BYTES, Text

SEPARATORS = ",;\t"
# A spreadsheet takes a cell that starts so for a formula, unless it is a plain number.
_FORMULA = frozenset("-=+@\t\r\n＝＋－＠")
_NUMBER = re.compile(r"[-+][0-9]+(\.[0-9]+)?")


def table_text(rows: Iterable[Iterable[str]], line_end: str = "\r\n") -> str:
    r"""Rows as comma-separated values; what could be a formula gets an apostrophe in front.

    >>> table_text([["part", "-0.5"], ["=A1", "a,b"]], line_end="\n")
    'part,-0.5\n\'=A1,"a,b"\n'
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator=line_end)
    writer.writerows([f"'{cell}" if _formula(cell) else cell for cell in row] for row in rows)
    return out.getvalue()


def _formula(cell: str) -> bool:
    return cell[:1] in _FORMULA and not _NUMBER.fullmatch(cell)


def unguarded(cell: str) -> str:
    """A cell without the apostrophe that `table_text` sets before what could be a formula."""
    return cell[1:] if cell[:1] == "'" and cell[1:2] in _FORMULA else cell


def read_table(path: Path, problems: list[Problem]) -> list[Row]:
    """The rows of a table or spreadsheet; none after a problem with the file as a whole."""
    if path.suffix.lower() == ".xlsx":
        from fitcheck.source.spreadsheet import read_spreadsheet  # noqa: PLC0415  rarely

        return read_spreadsheet(path, problems)
    text = _read(path, problems)
    return parse_table(Source(str(path), text), problems) if text is not None else []


def parse_table(source: Source, problems: list[Problem]) -> list[Row]:
    """The rows of a text; a quote that is never closed ends them with a problem.

    >>> rows = parse_table(Source("t.csv", 'a;b\\n1,5;"x; ""y"" z"\\n'), [])
    >>> rows[1].cells, rows[1].cells[1].place
    (('1,5', 'x; "y" z'), t.csv:2:5)
    """
    return _TableParser(source, problems).rows()


def _read(path: Path, problems: list[Problem]) -> str | None:
    place = Place(Source(str(path), ""))
    try:
        with path.open("rb") as file:
            before = os.fstat(file.fileno())
            data = file.read(MOST_BYTES + 1)
        after = path.stat()
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        problems.append(
            Problem(f"the file can't be read: {reason}", place, "check the name and the folder")
        )
        return None
    if (before.st_ino, before.st_size, before.st_mtime_ns) != (
        after.st_ino,
        after.st_size,
        after.st_mtime_ns,
    ):
        problems.append(
            Problem("the file was being written while it was read", place, "run the command again")
        )
        return None
    if len(data) > MOST_BYTES:
        problems.append(
            Problem(
                f"the file is larger than {MOST_BYTES:,} bytes",
                place,
                "check that it is the sheet meant",
            )
        )
        return None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        problems.append(
            Problem(
                f"the file is not UTF-8 text (byte {error.start})", place, "save it as 'CSV UTF-8'"
            )
        )
        return None


class _TableParser:
    def __init__(self, source: Source, problems: list[Problem]) -> None:
        self.source = source
        self.text = source.text
        self.problems = problems
        self.separator = self._separator()
        self.at = 0
        self.line = 1
        self.line_start = 0

    def _separator(self) -> str:
        first = self.text.splitlines()[0] if self.text else ""
        return max(SEPARATORS, key=first.count)

    def rows(self) -> list[Row]:
        found = []
        while self.at < len(self.text):
            row = self._row()
            if row is None:
                break
            found.append(row)
        return found

    def _row(self) -> Row | None:
        place = self._place(self.at, 1)
        cells: list[Text] = []
        while True:
            cell = self._cell()
            if cell is None:
                return None
            cells.append(cell)
            if self.text[self.at : self.at + 1] != self.separator:
                break
            self.at += 1
        return Row(tuple(cells), place, self._line_end())

    def _cell(self) -> Text | None:
        if self.text[self.at : self.at + 1] == '"':
            return self._quoted()
        start = self.at
        while self.at < len(self.text) and self.text[self.at] not in (self.separator, "\r", "\n"):
            self.at += 1
        return Text(self.text[start : self.at], self._place(start, self.at - start))

    def _quoted(self) -> Text | None:
        start, place = self.at, self._place(self.at, 1)
        inside = ""
        while True:
            close = self.text.find('"', self.at + 1)
            if close < 0:
                what = "a quote is opened here and never closed: nothing is read from this row on"
                mend = "close it, or check that the file is whole"
                self.problems.append(Problem(what, place, mend))
                return None
            inside += self.text[self.at + 1 : close]
            self._count_lines(self.at + 1, close)
            self.at = close + 1
            if self.text[self.at : self.at + 1] != '"':
                break
            inside += '"'
        # What stands between a closing quote and the next separator belongs to the cell.
        while self.at < len(self.text) and self.text[self.at] not in (self.separator, "\r", "\n"):
            inside += self.text[self.at]
            self.at += 1
        width = self.at - start if "\n" not in self.text[start : self.at] else 1
        return Text(inside, place.shifted(0, width))

    def _count_lines(self, start: int, end: int) -> None:
        lines = self.text.count("\n", start, end)
        if lines:
            self.line += lines
            self.line_start = self.text.rindex("\n", start, end) + 1

    def _line_end(self) -> bool:
        for end in ("\r\n", "\n", "\r"):
            if self.text.startswith(end, self.at):
                self.at += len(end)
                self.line += 1
                self.line_start = self.at
                return True
        return False

    def _place(self, start: int, width: int) -> Place:
        return Place(self.source, self.line, start - self.line_start + 1, max(width, 1))
