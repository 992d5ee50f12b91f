"""Which catalog a command means: a file of fitcheck's, lists as they are, or the invented parts."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.cli.common import refuse, tell
from fitcheck.cli.demo import demo_folder

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fitcheck.knowledge import Knowledge
    from fitcheck.screen.store import Catalog

SUFFIX = ".duckdb"


def say(text: str) -> None:
    """Progress, where it does not mix with the answer."""
    tell(f"… {text}", file=sys.stderr)


def opened(path: Path | None, knowledge: Knowledge, slots: Iterable[str]) -> Catalog:
    """The catalog that an option names; lists are read into memory.

    Of the invented parts only those for `slots` are read.
    """
    from fitcheck.screen.folder import is_folder, read_folder  # noqa: PLC0415
    from fitcheck.screen.importing import import_list  # noqa: PLC0415
    from fitcheck.screen.raw import SUFFIXES, kind_of  # noqa: PLC0415
    from fitcheck.screen.store import Catalog  # noqa: PLC0415

    if path is not None and path.suffix == SUFFIX:
        if not path.is_file():
            refuse(f"there is no catalog {path}", "make one: fitcheck catalog FILE --add LIST")
        return Catalog(knowledge, path)
    catalog = Catalog(knowledge)
    if path is not None and is_folder(path, knowledge):
        read_folder(catalog, path)
        return catalog
    folder = path or demo_folder() / "parts"
    lists = [folder] if path else [folder / f"{slot}.csv" for slot in slots]
    if path is None:
        lists = [one for one in lists if one.is_file()]
    elif folder.is_dir():
        lists = sorted(
            one
            for one in folder.iterdir()
            if kind_of(one) in (*SUFFIXES, ".yaml") and ".set_aside" not in one.name
        )
    for one in lists:
        taken = import_list(catalog, one)
        if taken.set_aside:
            say(f"{one.name}: {taken.set_aside} rows set aside, with why, in {taken.aside_file}")
    return catalog
