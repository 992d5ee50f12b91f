"""Print what is still to be measured on a build, or give it as a table to fill."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.cli.common import FITS, console, listed_in, refuse, tell, with_build
from fitcheck.cli.options import shared
from fitcheck.source.writing import write_whole

if TYPE_CHECKING:
    from fitcheck.check.records.sheet import MeasuringSheet
    from fitcheck.quantity import System

HELP = "an inspection sheet to print, or to fill in a spreadsheet"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    parser.add_argument(
        "--slot",
        action="append",
        default=[],
        metavar="PART",
        help="only this part and what came with it; may be repeated",
    )
    parser.add_argument(
        "--table",
        type=Path,
        default=None,
        metavar="FILE",
        help="write a table to fill instead of printing: FILE.csv or FILE.xlsx",
    )
    parser.add_argument(
        "--all", action="store_true", help="all figures, not a page of those that decide most"
    )
    parser.add_argument(
        "--again", action="store_true", help="all figures, also what is measured already"
    )
    shared(parser, "--force", "--rules", "--units")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.check import check_build  # noqa: PLC0415
    from fitcheck.check.records.sheet import first_sheet, make_sheet  # noqa: PLC0415
    from fitcheck.report.sheet import write_sheet  # noqa: PLC0415

    knowledge, build = with_build(options)
    slots = listed_in(build, options.slot, knowledge)
    if options.all or options.again:
        sheet = make_sheet(build, knowledge, slots, again=options.again)
    else:
        sheet = first_sheet(check_build(build, knowledge), slots)
    path: Path | None = options.table
    if path is None:
        write_sheet(sheet, console(), options.units)
        return FITS
    # Never over a sheet that somebody may have filled, unless they insist.
    write_whole(path, _table(sheet, path, options.units), force=options.force)
    rows = sum(len(item.lines) for item in sheet.items)
    tell(f"{path}: {rows} rows to fill; 'fitcheck record {options.build} {path}' reads them back.")
    return FITS


def _table(sheet: MeasuringSheet, path: Path, system: System) -> bytes:
    """The sheet as a file of the kind that its name says."""
    from fitcheck.report.sheet import sheet_csv, sheet_rows  # noqa: PLC0415

    match path.suffix.lower():
        case ".csv":
            return sheet_csv(sheet, system).encode("utf-8-sig")
        case ".xlsx":
            from fitcheck.source.spreadsheet import spreadsheet  # noqa: PLC0415

            return spreadsheet(sheet_rows(sheet, system), "inspection sheet")
    refuse(f"{path} ends in neither .csv nor .xlsx", "give a name that ends in one of them")
