"""Say which measurements can change an answer, the most telling for the work first."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import (
    build_argument,
    checked,
    console,
    exit_code,
    json_option,
    print_data,
    rules_option,
    units_option,
)

HELP = "say what to measure next, and how finely"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    build_argument(parser)
    parser.add_argument("--all", action="store_true", help="shorten nothing")
    rules_option(parser)
    units_option(parser)
    json_option(parser)


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.check.measuring.next import Next  # noqa: PLC0415

    check = checked(options)
    next_ = Next(check)
    if options.json:
        from fitcheck.report.measure import measurements_data  # noqa: PLC0415

        print_data(measurements_data(next_, options.units))
    else:
        from fitcheck.report.measure import write_measurements  # noqa: PLC0415

        write_measurements(next_, console(), options.units, everything=options.all)
    return exit_code(check, check.findings)
