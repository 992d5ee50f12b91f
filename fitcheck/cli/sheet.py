"""Print what is still to be measured on a build, or give it as a table to fill."""

from __future__ import annotations

import argparse
from pathlib import Path

from fitcheck.cli.common import (
    FITS,
    build_argument,
    console,
    listed_in,
    refuse,
    rules_option,
    units_option,
    with_build,
)

HELP = "an inspection sheet to print, or to fill in a spreadsheet"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    build_argument(parser)
    parser.add_argument(
        "--slot",
        action="append",
        default=[],
        metavar="PART",
        help="only this part and what came with it; may be repeated",
    )
    parser.add_argument(
        "--csv",
        type=Path,
        default=None,
        metavar="FILE",
        help="write a table to fill instead of printing",
    )
    parser.add_argument(
        "--all", action="store_true", help="all figures, not a page of those that decide most"
    )
    parser.add_argument(
        "--again", action="store_true", help="all figures, also what is measured already"
    )
    rules_option(parser)
    units_option(parser)


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.check import check_build  # noqa: PLC0415
    from fitcheck.check.records.sheet import first_sheet, make_sheet  # noqa: PLC0415
    from fitcheck.report.sheet import sheet_csv, write_sheet  # noqa: PLC0415

    knowledge, build = with_build(options)
    slots = listed_in(build, options.slot, knowledge)
    if options.all or options.again:
        sheet = make_sheet(build, knowledge, slots, again=options.again)
    else:
        sheet = first_sheet(check_build(build, knowledge), slots)
    if options.csv is None:
        write_sheet(sheet, console(), options.units)
        return FITS
    try:
        # Never over a sheet that somebody may have filled.
        with options.csv.open("x", encoding="utf-8-sig", newline="") as file:
            file.write(sheet_csv(sheet, options.units))
    except FileExistsError:
        refuse(f"{options.csv} is there already", "give another name, or move it away")
    except OSError as error:
        refuse(f"{options.csv} can't be written: {(error.strerror or str(error)).lower()}")
    rows = sum(len(item.lines) for item in sheet.items)
    print(
        f"{options.csv}: {rows} rows to fill; 'fitcheck record {options.build} {options.csv}' "
        "reads them back."
    )
    return FITS
