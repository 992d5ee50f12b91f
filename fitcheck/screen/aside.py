"""What became of a list, and the rows of it that are kept aside."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from fitcheck.screen.raw import RAW
from fitcheck.screen.store import Catalog, quoted
from fitcheck.source.place import UNSHOWN, shown_safely
from fitcheck.source.table import table_text
from fitcheck.source.writing import free_name, write_whole

# So many rows set aside are kept to be named; the file beside holds all of them.
MOST_NAMED = 10
MOST_LETTERS = 1000  # of a name
_AT_A_TIME = 20_000  # rows, of which a text in the making takes four bytes a letter
# As the store's own patterns write it, which know no \\u, no \\U and no lone surrogates.
_UNSHOWN = re.sub(
    r"\\(?:x|u|U000)([0-9a-f]{2,5})",
    r"\\x{\1}",
    UNSHOWN.pattern.replace(r"\ud800-\udfff", "").replace(r"\x00", r"\x01"),
)
# A row's number in the list, the part's own number, why it is set aside, its cells.
AsideRow = tuple[int, str, str, Sequence[str | None]]


@dataclass
class Imported:
    """What became of a list: parts by class, rows set aside with why, columns not used.

    `kept` are the parts of an earlier state of the list, where no row of this one could be taken.
    `missing` are columns that the mapping names and the list has not, with the nearest it has;
    of `headers_twice` no column is read; `titles` rows stand above the headers. `in_kits` are parts
    beyond the first of each kit.
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
    in_kits: int = 0
    titles: int = 0
    sheet: str = ""
    sheets_unread: list[str] = field(default_factory=list)


def tell_unshown(catalog: Catalog, at: Mapping[str, str]) -> None:
    """No name may hold a character that a terminal takes for a command; `at` is each column."""
    for header, column in at.items():
        for condition, why in (
            (
                f"regexp_matches({column}, {quoted(_UNSHOWN)}) OR contains({column}, chr(0))",
                "it holds a character that can't be shown (type it anew)",
            ),
            (f"length({column}) > {MOST_LETTERS}", f"longer than {MOST_LETTERS} characters"),
        ):
            told = quoted(f"{header}: {why}")
            catalog.run(f"INSERT INTO why SELECT row, {told} FROM {RAW} WHERE {condition}")


def write_aside(
    path: Path,
    headers: Sequence[str],
    rows: Iterable[AsideRow],
    found: Imported,
    aside: Path | None,
) -> None:
    """Keep the rows set aside in a file, with why; `aside` or one beside the list."""

    def lines() -> Iterator[Sequence[str]]:
        yield "row", "why", *headers
        for row, item, why, cells in rows:
            if found.set_aside < MOST_NAMED:
                found.aside.append((row, shown_safely(item), shown_safely(why)))
            found.set_aside += 1
            yield str(row), why, *(cell or "" for cell in cells)

    safe = (tuple(map(shown_safely, line)) for line in lines())
    pieces = iter(lambda: table_text(islice(safe, _AT_A_TIME)).encode(), b"")
    data = b"".join(pieces)
    if not found.set_aside:
        return
    # Never over what is kept aside already: the first free name is taken.
    target = free_name(aside or path.with_name(f"{path.stem}.set_aside.csv"), data)
    if not target.exists():  # with just these rows
        write_whole(target, data)
    found.aside_file = target
