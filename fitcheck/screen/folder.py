"""A catalog as a folder of Parquet files, one beneath it for each class: any engine reads it."""

from __future__ import annotations

from pathlib import Path

from fitcheck.knowledge import Knowledge
from fitcheck.screen.store import Catalog, quoted
from fitcheck.source import BadInput, Place, Problem, Source
from fitcheck.source.writing import write_whole

_CURRENCY = "currency.txt"


def write_folder(catalog: Catalog, folder: Path) -> dict[str, int]:
    """Write every class of a catalog; raises BadInput where a class's folder is there already."""
    there = [slot for slot in catalog.slots() if (folder / slot).exists()]
    if there:
        what = f"{folder} holds a folder '{there[0]}' already"
        raise BadInput([Problem(what, None, "name a folder that is not there yet")])
    folder.mkdir(parents=True, exist_ok=True)
    counts = {}
    for slot in catalog.slots():
        (folder / slot).mkdir()
        target = quoted(str(folder / slot / "parts.parquet"))
        catalog.run(f'COPY (SELECT * FROM "{slot}") TO {target} (FORMAT parquet)')
        counts[slot] = catalog.count(slot)
    if catalog.currency:
        write_whole(folder / _CURRENCY, catalog.currency.encode())
    return counts


def is_folder(path: Path, knowledge: Knowledge) -> bool:
    """Whether a path is such a folder."""
    return path.is_dir() and any((path / slot).is_dir() for slot in knowledge.classes)


def read_folder(catalog: Catalog, folder: Path) -> None:
    """Take a folder into an empty catalog; raises BadInput for files of other columns."""
    for slot in catalog.knowledge.classes:
        files = sorted((folder / slot).rglob("*.parquet")) if (folder / slot).is_dir() else []
        if not files:
            continue
        catalog.make(slot)
        listed = ", ".join(quoted(str(one)) for one in files)
        rows = catalog.run(f"DESCRIBE SELECT * FROM read_parquet([{listed}])")
        catalog.widen(slot, (row[0] for row in rows if "__" not in row[0]))
        kinds = dict(catalog.kinds(slot))
        if {row[0] for row in rows} != set(kinds):
            mend = "write it anew with fitcheck catalog CATALOG --parquet FOLDER"
            what = "these parts were written with other attributes"
            raise BadInput([Problem(what, Place(Source(str(folder / slot), "")), mend)])
        catalog.run(f'INSERT INTO "{slot}" BY NAME SELECT * FROM read_parquet([{listed}])')
    if currency := currency_of(folder):
        catalog.priced_in(currency)


def currency_of(folder: Path) -> str:
    """What the prices of a folder are in; empty where that is not told."""
    path = folder / _CURRENCY
    text = path.read_text(encoding="utf-8").strip() if path.is_file() else ""
    return text if len(text) == 3 and text.isalpha() and text.isupper() else ""
