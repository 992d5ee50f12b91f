"""Say which figures can change an answer, the first to ask for first."""

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

HELP = "say what to measure or ask first, and how finely"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    build_argument(parser)
    parser.add_argument("--all", action="store_true", help="shorten nothing")
    rules_option(parser)
    units_option(parser)
    json_option(parser)


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.check.measuring.asks import MissingFigures  # noqa: PLC0415

    check = checked(options)
    asks = MissingFigures(check)
    if options.json:
        from fitcheck.report.measure import measurements_data  # noqa: PLC0415

        print_data(measurements_data(asks, options.units))
    else:
        from fitcheck.report.measure import write_measurements  # noqa: PLC0415

        write_measurements(asks, console(), options.units, everything=options.all)
    return exit_code(check, check.findings)
