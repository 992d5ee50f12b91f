"""Check whether the parts of a build work together."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import checked, exit_code, output, print_data
from fitcheck.cli.options import shared
from fitcheck.source.garbage import none_collected

HELP = "check a build file"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    parser.add_argument("--all", action="store_true", help="shorten nothing")
    shared(parser, "--set", "--rules", "--units", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command, which is over before garbage could matter."""
    with none_collected():
        return _told(options)


def _told(options: argparse.Namespace) -> int:
    check = checked(options)
    if options.json:
        from fitcheck.report.data import check_data  # noqa: PLC0415

        print_data(check_data(check, options.units))
    else:
        from fitcheck.report.terminal import CheckReport  # noqa: PLC0415

        report = CheckReport(check, output(), options.units)
        if options.all:
            report.full()
        else:
            report.short()
    return exit_code(check, check.findings)
