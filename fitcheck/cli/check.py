"""Check whether the parts of a build work together."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import (
    build_argument,
    checked,
    exit_code,
    json_option,
    output,
    print_data,
    rules_option,
    set_option,
    units_option,
)

HELP = "check a build file"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    build_argument(parser)
    parser.add_argument("--all", action="store_true", help="shorten nothing")
    set_option(parser)
    rules_option(parser)
    units_option(parser)
    json_option(parser)


def run(options: argparse.Namespace) -> int:
    """Run the command."""
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
