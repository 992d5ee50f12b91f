"""Takes a list into the catalog; what can't be read is named, row by row, and kept aside.

A list replaces what an earlier import of the same file brought, so that importing twice changes
nothing. Rows are kept whole or not at all: one bad cell sets its row aside, with the reason.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fitcheck.screen.aside import Imported, write_aside
from fitcheck.screen.mapping import Reading, from_headers
from fitcheck.screen.raw import Raw, read_raw, refuse
from fitcheck.screen.short_list import take_short_list
from fitcheck.screen.store import Catalog
from fitcheck.screen.taking import Progress, Taking
from fitcheck.source import BadInput, Problem, nearest


def import_list(
    catalog: Catalog,
    path: Path,
    reading: Reading | None = None,
    aside: Path | None = None,
    progress: Progress = lambda _: None,
) -> Imported:
    """Take a list into the catalog; raises BadInput for a file that is no list at all.

    `aside` is where rows that can't be read are written; without it beside the list.
    """
    found = Imported(path.name)
    if path.suffix.lower() in (".yaml", ".yml"):
        with _at_once(catalog, path, found):
            take_short_list(catalog, path, found, aside)
        return found
    raw = read_raw(catalog, path, reading.sheet if reading else "")
    if reading is None:
        reading = from_headers(raw.headers, path.stem, catalog.knowledge)
    _check_headers(path, raw, reading)
    if "price" in reading.about:
        check_currency(catalog, path, reading.currency)
    progress(f"{path.name}: read; now its figures")
    work = Taking(catalog, path, raw, reading, found, progress)
    work.look()
    with _at_once(catalog, path, found):
        work.take()
        write_aside(path, raw.headers, work.kept_aside(), found, aside)
        work.reconcile()
    return found


@contextmanager
def _at_once(catalog: Catalog, path: Path, found: Imported) -> Iterator[None]:
    """All of a list is taken, with its rows set aside written, or nothing of it."""
    catalog.run("BEGIN")
    try:
        found.source = catalog.source_of(path)
        yield
        catalog.run("COMMIT")
    except BaseException:
        catalog.run("ROLLBACK")
        raise


def check_currency(catalog: Catalog, path: Path, currency: str) -> None:
    """Refuse prices that are in no currency, or in another one than the catalog's."""
    if not re.fullmatch("[A-Z]{3}", currency):
        what = (
            f"'{currency}' is no code of a currency" if currency else "its prices have no currency"
        )
        mend = "name the column as in 'price [EUR]', or write currency: EUR in the mapping file"
        refuse(path, what, mend)
    if catalog.currency not in ("", currency):
        what = f"its prices are in {currency}, those of the catalog in {catalog.currency}"
        refuse(path, what, "keep one currency in a catalog")


def _check_headers(path: Path, raw: Raw, reading: Reading) -> None:
    named = [*reading.about.values(), *(column.header for column in reading.columns)]
    if reading.slot_header:
        named.append(reading.slot_header)
    missing = [name for name in named if name not in raw.headers]
    if missing:
        raise BadInput(
            [
                Problem(f"{path} has no column '{name}'", None, nearest(name, raw.headers))
                for name in missing
            ]
        )
    if not reading.slot and not reading.slot_header:
        refuse(
            path,
            "nothing says which class these parts are of",
            "add a column 'class', or a mapping file with classes: spring",
        )
    if not reading.columns:
        refuse(
            path,
            "no column tells an attribute",
            "name columns as in 'rate [lbf/in]', or give a mapping file",
        )
