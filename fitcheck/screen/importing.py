"""Takes a list into the catalog; what can't be read is named, row by row, and kept aside.

A list replaces what an earlier import of the same file brought, so that importing twice changes
nothing. Rows are kept whole or not at all: one bad cell sets its row aside, with the reason.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path

from fitcheck.screen.aside import Imported, write_aside
from fitcheck.screen.mapping import ListFormat, from_headers, named_in
from fitcheck.screen.raw import Known, Raw, read_raw, refuse, title_of
from fitcheck.screen.short_list import take_short_list
from fitcheck.screen.store import Catalog
from fitcheck.screen.taking import Progress, Taking
from fitcheck.source import BadInput, Problem, nearest


def import_list(
    catalog: Catalog,
    path: Path,
    reading: ListFormat | None = None,
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
    with catalog.taking():
        return _take(catalog, path, reading, aside, progress, found)


def _take(
    catalog: Catalog,
    path: Path,
    reading: ListFormat | None,
    aside: Path | None,
    progress: Progress,
    found: Imported,
) -> Imported:
    """Take a list that is no YAML."""
    known = _known(catalog, reading)
    raw = read_raw(catalog, path, reading.sheet if reading else "", known)
    found.titles, found.headers_twice, found.sheet = raw.titles, raw.twice, raw.sheet
    found.sheets_unread = raw.sheets_unread
    if reading is None:
        slot = _class_of(catalog, raw, title_of(path))
        reading = from_headers(raw.headers, title_of(path), catalog.knowledge, slot)
    else:
        reading, found.missing = _of_those_there(raw, reading)
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


def _class_of(catalog: Catalog, raw: Raw, title: str) -> str:
    """The class by the name of the list or of its sheet, where no column tells it."""
    if any(header.strip().lower() == "class" for header in raw.headers):
        return ""
    find = catalog.knowledge.words.part
    return find(title).name or find(raw.sheet).name


def _known(catalog: Catalog, reading: ListFormat | None) -> Known:
    """How many of some headers are looked for: by a mapping's names, else by the trade's words."""
    if reading is None:
        return lambda headers: named_in(headers, catalog.knowledge)
    wanted = {*reading.about.values(), *(c.header for c in reading.columns), reading.slot_header}
    return lambda headers: len(wanted.intersection(headers))


def _of_those_there(raw: Raw, reading: ListFormat) -> tuple[ListFormat, dict[str, str]]:
    """Without the figures whose column is not there any more; those are told, with the nearest."""
    gone = [one.header for one in reading.columns if one.header not in raw.headers]
    if len(gone) == len(reading.columns):
        return reading, {}
    kept = tuple(one for one in reading.columns if one.header not in gone)
    return replace(reading, columns=kept), {one: nearest(one, raw.headers) for one in gone}


@contextmanager
def _at_once(catalog: Catalog, path: Path, found: Imported) -> Iterator[None]:
    """All of a list is taken, with its rows set aside written, or nothing of it."""
    catalog.run("BEGIN")
    try:
        found.source = catalog.source_of(path)
        yield
        catalog.run("COMMIT")
    except BaseException:
        with suppress(BadInput):  # what a full disk kept from being settled is undone already
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


def _check_headers(path: Path, raw: Raw, reading: ListFormat) -> None:
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
