"""A catalog as a folder of Parquet files, one beneath it for each class: any engine reads it.

The files of a class may be many, in folders of their own, and need not tell the same sides.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from shutil import rmtree
from typing import Any

from fitcheck.knowledge import Knowledge
from fitcheck.screen.store import Catalog, quoted
from fitcheck.screen.tables import AT
from fitcheck.source import BadInput, Place, Problem, Source
from fitcheck.source.writing import write_whole

_CURRENCY = "currency.txt"
WRITE_ANEW = "write it anew: fitcheck catalog CATALOG --parquet FOLDER"


@dataclass(frozen=True, slots=True)
class ClassFiles:
    """The files of a class with the rows of each, and the names of the columns of any of them."""

    slot: str
    rows: dict[str, int]
    columns: frozenset[str]

    def take_into(self, catalog: Catalog, files: Iterable[str] = (), where: str = "TRUE") -> None:
        """Add rows to a catalog that lists no such parts: all, or of some files `where` it says."""
        sided = [name.partition(AT)[0] for name in self.columns if AT in name]
        catalog.make(self.slot, sided=sided)
        for path in files or self.rows:
            query = f"SELECT * EXCLUDE (file_row_number) FROM {_read(path)} WHERE {where}"
            _told(catalog, path, f'INSERT INTO "{self.slot}" BY NAME {query}')


def write_folder(catalog: Catalog, folder: Path) -> dict[str, int]:
    """Write every class of a catalog; raises BadInput where a class's folder is there already."""
    there = [slot for slot in catalog.slots() if (folder / slot).exists()]
    if there:
        what = f"{folder} holds a folder '{there[0]}' already"
        raise BadInput([Problem(what, None, "name a folder that is not there yet")])
    counts, new = {}, [folder / slot for slot in catalog.slots()]
    try:
        for path in new:
            path.mkdir(parents=True)
            target = quoted(str(path / "parts.parquet"))
            catalog.run(f'COPY (SELECT * FROM "{path.name}") TO {target} (FORMAT parquet)')
            counts[path.name] = catalog.count(path.name)
    except OSError as error:
        what = f"{folder} can't be written: {error.strerror}"
        raise BadInput([Problem(what, None, "name a folder that can be written")]) from None
    except BaseException:  # a half of a catalog is none
        for path in new:
            rmtree(path, ignore_errors=True)
        raise
    if catalog.currency:
        write_whole(folder / _CURRENCY, catalog.currency.encode())
    return counts


def is_folder(path: Path, knowledge: Knowledge) -> bool:
    """Whether a path is such a folder."""
    return path.is_dir() and any((path / slot).is_dir() for slot in knowledge.classes)


def listed_in(folder: Path, catalog: Catalog) -> dict[str, ClassFiles]:
    """What a folder lists, by class; raises BadInput for each file that holds something else."""
    found, problems = {}, list[Problem]()
    for slot in catalog.knowledge.classes:
        rows, columns = dict[str, int](), set[str]()
        for path in sorted(map(str, (folder / slot).rglob("*.parquet"))):
            try:
                names = [row[0] for row in _told(catalog, path, f"DESCRIBE FROM {_read(path)}")]
                told = f"SELECT num_rows FROM parquet_file_metadata({quoted(path)})"
                rows[path] = _told(catalog, path, told)[0][0]
            except BadInput as wrong:
                problems += wrong.problems
                continue
            sided = {name.partition(AT)[0] for name in names if AT in name}
            wanted = {name for name, _ in catalog.kinds(slot, sided)} | {"file_row_number"}
            if wanted != set(names):
                what = f"it does not hold what a catalog says of '{slot}'"
                problems.append(Problem(what, _place(path), WRITE_ANEW))
            columns |= {name for name in names if "__" not in name}
        if rows:
            found[slot] = ClassFiles(slot, rows, frozenset(columns))
    if problems:
        raise BadInput(problems)
    return found


def read_folder(catalog: Catalog, folder: Path) -> None:
    """Take a folder into an empty catalog; raises BadInput for files of other columns."""
    for listed in listed_in(folder, catalog).values():
        listed.take_into(catalog)
    if currency := currency_of(folder):
        catalog.priced_in(currency)


def currency_of(folder: Path) -> str:
    """What the prices of a folder are in; empty where that is not told."""
    path = folder / _CURRENCY
    text = path.read_text(encoding="utf-8").strip() if path.is_file() else ""
    return text if len(text) == 3 and text.isalpha() and text.isupper() else ""


def _read(path: str) -> str:
    return f"read_parquet({quoted(path)}, file_row_number = true)"


def _told(catalog: Catalog, path: str, query: str) -> list[tuple[Any, ...]]:
    """What the engine answers of a file; raises BadInput where it cannot read it."""
    import duckdb  # noqa: PLC0415

    try:
        return catalog.run(query)
    except (duckdb.Error, BadInput) as error:
        said = error.__cause__ or error
        what = f"it can't be read as Parquet: {str(said).splitlines()[0]}"
        raise BadInput([Problem(what, _place(path), WRITE_ANEW)]) from error


def _place(path: str) -> Place:
    return Place(Source(path, ""))
