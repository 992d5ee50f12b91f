"""Keep a catalog of parts: take lists into it and see what it holds."""

from __future__ import annotations

import argparse
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.cli.catalog_files import SUFFIX, say
from fitcheck.cli.common import FITS, OPEN, loaded, refuse, tell
from fitcheck.cli.options import shared

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fitcheck.knowledge import Knowledge
    from fitcheck.screen.aside import Imported

HELP = "take lists of parts into a catalog"
NOTHING_IN_IT = 20_000  # bytes


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument(
        "catalog", type=Path, help=f"the catalog ({SUFFIX}); made where it is not there"
    )
    parser.add_argument(
        "--add",
        type=Path,
        action="append",
        default=[],
        metavar="LIST",
        help="a list of parts: CSV, xlsx, Parquet or YAML; may be repeated",
    )
    parser.add_argument(
        "--columns",
        type=Path,
        default=None,
        metavar="FILE",
        help="which column is which attribute, and in which unit (YAML)",
    )
    parser.add_argument(
        "--propose",
        type=Path,
        default=None,
        metavar="FILE",
        help="only write such a file, proposed from the headers of the one list, to look through",
    )
    parser.add_argument(
        "--aside",
        type=Path,
        default=None,
        metavar="FILE",
        help="where rows go that can't be read (default: beside the list)",
    )
    parser.add_argument(
        "--parquet",
        type=Path,
        default=None,
        metavar="FOLDER",
        help="write the catalog as Parquet, a folder for each class, as other engines read it",
    )
    shared(parser, "--rules")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    if options.catalog.suffix != SUFFIX:
        refuse(f"{options.catalog} does not end in {SUFFIX}", f"give a name that ends in {SUFFIX}")
    from fitcheck.screen.folder import write_folder  # noqa: PLC0415
    from fitcheck.screen.importing import import_list  # noqa: PLC0415
    from fitcheck.screen.mapping import read_mapping  # noqa: PLC0415
    from fitcheck.screen.store import Catalog  # noqa: PLC0415

    if not options.add and not options.catalog.is_file():
        refuse(f"there is no catalog {options.catalog}", "take a list into it with --add LIST")
    knowledge = loaded(options)
    if options.propose is not None:
        return _propose(options, knowledge)
    reading = read_mapping(options.columns, knowledge) if options.columns else None
    aside = 0
    with _kept_if_filled(options.catalog), Catalog(knowledge, options.catalog) as catalog:
        for path in options.add:
            taken = import_list(catalog, path, reading, options.aside, say)
            aside += taken.set_aside
            _tell(taken)
        if options.parquet is not None:
            write_folder(catalog, options.parquet)
            tell(f"{options.parquet}: written, a folder for each class")
        tell(f"{options.catalog} holds:")
        for slot in catalog.slots():
            tell(f"  {catalog.count(slot):>9,}  {knowledge.classes[slot].title}")
    return OPEN if aside else FITS


def _propose(options: argparse.Namespace, knowledge: Knowledge) -> int:
    """Write a mapping file and show it; nothing is taken in."""
    from fitcheck.screen.proposing import mapping_text, propose  # noqa: PLC0415
    from fitcheck.screen.raw import read_raw, some_cells, title_of  # noqa: PLC0415
    from fitcheck.screen.store import Catalog  # noqa: PLC0415
    from fitcheck.source.writing import write_whole  # noqa: PLC0415

    if len(options.add) != 1:
        refuse("--propose is for one list", "name it with --add LIST")
    path = options.add[0]

    def known(headers: Sequence[str]) -> int:
        found = propose([one for one in headers if one], title_of(path), knowledge)
        return len(found.about) + len(found.columns)

    with Catalog(knowledge) as catalog:
        raw = read_raw(catalog, path, known=known)
        cells = some_cells(catalog, raw)
    text = mapping_text(propose(raw.headers, title_of(path), knowledge, cells), title_of(path))
    write_whole(options.propose, text)
    print(text, end="")
    tell(f"{options.propose}: written; look through it, then --columns {options.propose}")
    return OPEN


@contextmanager
def _kept_if_filled(path: Path) -> Iterator[None]:
    """A new catalog into which not even the first list could be taken is not left behind."""
    new = not path.exists()
    try:
        yield
    except BaseException:
        with suppress(OSError):
            if new and path.stat().st_size <= NOTHING_IN_IT:
                path.unlink()
                path.with_name(f"{path.name}.wal").unlink(missing_ok=True)
        raise


def _tell(taken: Imported) -> None:
    count = sum(taken.added.values())
    tell(f"{taken.source}: {count:,} parts taken, {taken.set_aside:,} rows set aside.")
    for row, item, why in taken.aside:
        tell(f"  row {row}{f' ({item})' if item else ''}: {why}")
    if taken.set_aside > len(taken.aside):
        tell(f"  and {taken.set_aside - len(taken.aside):,} more")
    if taken.aside_file:
        tell(f"  all of them, with why: {taken.aside_file}")
    if taken.kept:
        tell(f"  no row could be taken: {taken.kept.total():,} parts of this list stay from before")
    if taken.sheets_unread:
        names = ", ".join(taken.sheets_unread)
        tell(f"  sheets not read: {names} (a file says with 'sheet:' which one is; see --columns)")
    if taken.titles:
        tell(f"  {taken.titles:,} rows above the headers passed over")
    for header, near in taken.missing.items():
        mend = f" ({near})" if near else ""
        tell(f"  no column '{header}' any more: what it told is not taken{mend}")
    for header in taken.headers_twice:
        tell(f"  two columns are named '{header}': neither is read")
    if taken.blank:
        tell(f"  {taken.blank:,} blank rows")
    if taken.twice:
        tell(f"  {taken.twice:,} listed twice alike and taken once")
    if taken.unpriced:
        tell(f"  {taken.unpriced:,} without a price: they come last, and count as the dearest")
    if taken.unused:
        tell(f"  columns not used: {', '.join(taken.unused)}")
