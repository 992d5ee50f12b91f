"""Write the handbook: the whole knowledge as linked pages, to read and to check."""

from __future__ import annotations

import argparse
from pathlib import Path

from fitcheck.cli.common import FITS, loaded, refuse, tell
from fitcheck.cli.options import shared
from fitcheck.source.writing import check_new, write_whole

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
    files = dict(handbook(loaded(options), options.units, date.today()))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        refuse(f"{folder} is no folder that can be written into", str(error.strerror or error))
    # Nothing is written where one of them may not be.
    for name in files:
        check_new(folder / name, force=options.force)
    for name, text in files.items():
        write_whole(folder / name, text, force=options.force)
    tell(f"{folder / 'index.html'} and {len(files) - 1} more files are written.")
    return FITS
