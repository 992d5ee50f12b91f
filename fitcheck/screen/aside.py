"""What became of a list, and the rows of it that are kept aside."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from fitcheck.source.place import shown_safely
from fitcheck.source.table import table_text
from fitcheck.source.writing import free_name, write_whole

# So many rows set aside are kept to be named; the file beside holds all of them.
MOST_NAMED = 10


@dataclass
class Imported:
    """What became of a list: parts by class, rows set aside with why, columns not used.

    `kept` are the parts of an earlier state of the list, where no row of this one could be taken.
    `missing` are columns that the mapping names and the list has not, with the nearest it has;
    of `headers_twice` no column is read; `titles` rows stand above the headers.
    """

    source: str
    added: Counter[str] = field(default_factory=Counter)
    aside: list[tuple[int, str, str]] = field(default_factory=list)
    set_aside: int = 0
    twice: int = 0
    blank: int = 0
    unpriced: int = 0
    unused: list[str] = field(default_factory=list)
    aside_file: Path | None = None
    kept: Counter[str] = field(default_factory=Counter)
    missing: dict[str, str] = field(default_factory=dict)
    headers_twice: list[str] = field(default_factory=list)
    titles: int = 0
    sheet: str = ""


def write_aside(
    path: Path,
    headers: Sequence[str],
    rows: list[tuple[int, str, str, Sequence[str]]],
    found: Imported,
    aside: Path | None,
) -> None:
    """Keep the rows set aside in a file, with why; `aside` or one beside the list."""
    found.set_aside = len(rows)
    found.aside = [
        (row, shown_safely(item), shown_safely(why)) for row, item, why, _ in rows[:MOST_NAMED]
    ]
    if not rows:
        return
    told = [[str(row), why, *(cell or "" for cell in cells)] for row, _, why, cells in rows]
    safe = [[shown_safely(cell) for cell in row] for row in (["row", "why", *headers], *told)]
    data = table_text(safe).encode()
    # Never over what is kept aside already: the first free name is taken.
    target = free_name(aside or path.with_name(f"{path.stem}.set_aside.csv"), data)
    if not target.exists():  # with just these rows
        write_whole(target, data)
    found.aside_file = target
