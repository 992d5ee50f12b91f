"""What became of a list, and the rows of it that are kept aside."""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from fitcheck.source import BadInput, Problem
from fitcheck.source.place import shown_safely

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


def quoted(text: str) -> str:
    """A text as it stands in a query."""
    return "'" + text.replace("'", "''") + "'"


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
    target = aside or path.with_name(f"{path.stem}.set_aside.csv")
    if not rows:
        return
    try:
        with target.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(["row", "why", *headers])
            writer.writerows([[row, why, *cells] for row, _, why, cells in rows])
    except OSError as error:
        raise BadInput(
            [
                Problem(
                    f"{target} can't be written: {(error.strerror or '').lower()}",
                    None,
                    "name another file with --aside",
                )
            ]
        ) from error
    found.aside_file = target
