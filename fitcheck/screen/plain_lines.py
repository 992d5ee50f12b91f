"""A list of plain lines, read by the store's own reader: each line is a row, and nothing is quoted.

Anything else (quotes, blank lines, mixed line ends, what is no UTF-8, more cells than names) is
left to `records.py`, which loses no line of it.
"""

from __future__ import annotations

import codecs
from pathlib import Path

from fitcheck.screen.records import MOST_LINE
from fitcheck.screen.store import Catalog, quoted

_BLOCK = 1 << 20
# A quote, and the mark with which tables guard a cell that could be taken for a formula.
_WILD = frozenset("*?[]{}")
_ODD = (b'"', b"'", b"\0", b"\n\n", b"\n\r")


def lines_of(path: Path) -> int:
    """How many lines a file of plain lines has; 0 where it is not that alone.

    The store takes a name with wildcards for several files.
    """
    if _WILD.intersection(str(path)):
        return 0
    decode = codecs.getincrementaldecoder("utf-8")("strict").decode
    lines = returns = both = 0
    last = b"\n"  # so that a blank first line is seen
    with path.open("rb") as file:
        while block := file.read(_BLOCK):
            text = last + block
            if any(one in text for one in _ODD):
                return 0
            try:
                decode(block)
            except UnicodeDecodeError:
                return 0
            lines, returns = lines + block.count(b"\n"), returns + block.count(b"\r")
            both += text.count(b"\r\n")
            last = block[-1:]
    try:
        decode(b"", final=True)
    except UnicodeDecodeError:
        return 0
    if returns and not returns == both == lines:
        return 0
    return lines + (last != b"\n")


def insert_lines(
    catalog: Catalog, path: Path, table: str, width: int, separator: str, passed: int
) -> int:
    """Put the lines after those passed into a table as row and c0, c1…; how many there were.

    Raises duckdb.Error for lines of more cells; fewer are filled up.
    """
    names = ", ".join(f"'c{i}': 'VARCHAR'" for i in range(width))
    cells = ", ".join(f"c{i}" for i in range(width))
    catalog.connection.execute(
        f"INSERT INTO {table} SELECT row_number() OVER () + {passed}, {cells} FROM read_csv("
        f"{quoted(str(path))}, delim = {quoted(separator)}, quote = '', escape = '', "
        f"header = false, skip = {passed}, auto_detect = false, null_padding = true, "
        f"columns = {{{names}}}, max_line_size = {MOST_LINE})"
    )
    found: int = catalog.run(f"SELECT count(*) FROM {table}")[0][0]
    return found
