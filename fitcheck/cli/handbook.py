"""Write the handbook: the whole knowledge as linked pages, to read and to check."""

from __future__ import annotations

import argparse
from pathlib import Path

from fitcheck.cli.common import FITS, loaded, refuse, tell
from fitcheck.cli.options import shared
from fitcheck.source.writing import write_all

HELP = "the whole knowledge as linked pages, with search"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("folder", type=Path, help="the folder to write the pages into")
    shared(parser, "--force", "--rules", "--units")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from datetime import date  # noqa: PLC0415

    from fitcheck.report.handbook import handbook  # noqa: PLC0415

    folder: Path = options.folder
    pages = handbook(loaded(options), options.units, date.today())
    files = {folder / name: text for name, text in pages}
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        refuse(f"{folder} is no folder that can be written into", str(error.strerror or error))
    write_all(files, force=options.force)
    tell(f"{folder / 'index.html'} and {len(files) - 1} more files are written.")
    return FITS
