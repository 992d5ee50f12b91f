"""Say which figures can change an answer, the first to ask for first."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import checked, console, exit_code, print_data
from fitcheck.cli.options import shared

HELP = "say what to measure or ask first, and how finely"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    parser.add_argument("--all", action="store_true", help="shorten nothing")
    shared(parser, "--rules", "--units", "--json")


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
