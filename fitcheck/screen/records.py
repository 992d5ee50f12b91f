"""The rows of a list as comma-separated values, none of whose lines is lost.

A quote that is never closed, or stands amid a cell, spoils the line it stands in and no other: that
line is told, and reading goes on with the next one. Where two stray quotes would make one cell of
several rows, the row that comes of it is told too.
"""

from __future__ import annotations

import csv
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TextIO

from fitcheck.source.table import SEPARATORS, unguarded

MOST_LINE = 1_000_000  # characters
_NOT_CLOSED = "a quote is opened and never closed (close it, or take it out)"
_AMID = "a quote stands amid a cell (write it twice, and the cell in quotes)"


@dataclass(slots=True)
class Record:
    """One row: the line it starts in, its cells, its text, and what is wrong if anything is."""

    line: int
    cells: list[str]
    text: str
    wrong: str = ""


class Records:
    """One record after the other; `lines` came from the file, `told_lines` are in records.

    `separator` is known once the first record is read.
    """

    def __init__(self, file: TextIO) -> None:
        self._file = file
        self._again: deque[str] = deque()
        self._taken: list[str] = []
        self.separator = ""
        self._reader: Iterator[list[str]] | None = None
        # Rows over several lines: where, and the most separators in a line after the first.
        self._long: list[tuple[int, int, int]] = []
        self._fewest = 0
        self.lines = 0
        self.told_lines = 0

    def __iter__(self) -> Iterator[Record]:
        while (one := self._record()) is not None:
            yield one

    def doubts(self) -> list[tuple[int, str]]:
        """Rows that run over a line that could be a row itself: it has as many separators."""
        least = max(1, self._fewest - 1)
        return [
            (line, f"a quote opened here runs to line {last}, over what may be rows of their own")
            for line, last, most in self._long
            if most >= least
        ]

    def _next_line(self) -> Iterator[str]:
        while line := self._again.popleft() if self._again else self._from_file():
            self._taken.append(line)
            yield line

    def _from_file(self) -> str:
        line = self._file.readline(MOST_LINE)
        self.lines += bool(line)
        return line

    def _record(self) -> Record | None:
        if self._reader is None:
            self._start()
        assert self._reader is not None
        self._taken.clear()
        start = self.told_lines + 1
        try:
            cells = next(self._reader, None)
        except csv.Error as error:
            cells, wrong = [], _AMID if "expected after" in str(error) else _NOT_CLOSED
            self._again.extendleft(reversed(self._taken[1:]))
            del self._taken[1:]
            self._reader = None
        else:
            if cells is None:
                return None
            wrong = ""
        self.told_lines += len(self._taken)
        text = "".join(self._taken)
        if not text.isascii() and not _is_text(text):
            wrong = wrong or "it is not UTF-8 text (save the list as 'CSV UTF-8')"
        if len(self._taken) > 1:
            most = max(line.count(self.separator) for line in self._taken[1:])
            self._long.append((start, self.told_lines, most))
        elif len(cells) > 1:
            self._fewest = min(self._fewest, len(cells)) if self._fewest else len(cells)
        if "'" in text:
            cells = [unguarded(cell) for cell in cells]
        return Record(start, cells, text.rstrip("\r\n"), wrong)

    def _start(self) -> None:
        if not self.separator:
            line = self._from_file()
            self._again.append(line)
            self.separator = max(SEPARATORS, key=line.count)
        self._reader = csv.reader(self._next_line(), delimiter=self.separator, strict=True)


def _is_text(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True
