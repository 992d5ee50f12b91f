"""Record the measurements of a filled sheet in the build file."""

from __future__ import annotations

import argparse
import sys
from datetime import date
from pathlib import Path

from fitcheck.cli.common import BAD_INPUT, FITS, loaded, refuse, tell
from fitcheck.cli.options import shared

HELP = "record a filled inspection sheet in the build file"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    parser.add_argument("sheet", type=Path, help="the filled sheet (CSV or xlsx)")
    parser.add_argument("--by", default="", help="who measured, where a row does not say")
    parser.add_argument(
        "--when", default="", metavar="DATE", help="when, where a row does not say: year-month-day"
    )
    parser.add_argument(
        "--with",
        dest="with_",
        default="",
        metavar="INSTRUMENT",
        help="with what, where a row does not say",
    )
    parser.add_argument(
        "--decimal-comma", action="store_true", help="commas in figures are decimal marks"
    )
    shared(parser, "--rules")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.check import read_build  # noqa: PLC0415
    from fitcheck.check.records.filled import read_filled  # noqa: PLC0415
    from fitcheck.check.records.record import record  # noqa: PLC0415
    from fitcheck.model import Origin  # noqa: PLC0415
    from fitcheck.report.phrases import counted  # noqa: PLC0415
    from fitcheck.source.rewrite import read_original  # noqa: PLC0415

    knowledge = loaded(options)
    original = read_original(options.build)
    build = read_build(options.build, knowledge, original.text)
    usual = Origin(options.by, _date(options.when), options.with_)
    filled = read_filled(
        options.sheet, build, knowledge, usual, decimal_comma=options.decimal_comma
    )
    done = record(original, options.build, filled, knowledge)
    for line in filled.understood:
        tell(f"{options.sheet}, {line}")
    for problem in done.rejected:
        print(problem, file=sys.stderr)
    known = f" {counted(len(done.known), 'figure')} stood there already." if done.known else ""
    tell(f"{counted(len(done.added), 'figure')} recorded in {options.build}.{known}")
    if not done.rejected:
        return FITS
    tell(
        f"{counted(len(done.rejected), 'thing')} in {options.sheet} not taken, as named above; "
        "mend them there and record the sheet again."
    )
    return BAD_INPUT


def _date(text: str) -> date | None:
    if not text:
        return None
    try:
        when = date.fromisoformat(text)
    except ValueError:
        refuse(f"'{text}' is no date", "write year-month-day, as in 2026-03-09")
    if when > date.today():
        refuse(f"{when} is still to come", "give the day it was measured")
    return when
