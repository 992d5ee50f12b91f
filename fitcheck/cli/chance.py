"""Draw assemblies within the tolerances and count how many clear each rule."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import checked, console, exit_code, print_data, refuse
from fitcheck.cli.options import shared

HELP = "count how many assemblies clear each rule, within the tolerances"
MOST = 1_000_000


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    parser.add_argument(
        "--spread",
        choices=("even", "normal"),
        default="even",
        help="how figures lie within their ranges (default: even)",
    )
    parser.add_argument(
        "--drawn",
        type=int,
        default=20000,
        metavar="NUMBER",
        help="how many assemblies (default: 20000)",
    )
    parser.add_argument("--seed", type=int, default=1, help="another draw of the same kind")
    shared(parser, "--set", "--rules", "--units", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.check.tolerances.chance import chances  # noqa: PLC0415
    from fitcheck.report.chance import chances_data, write_chances  # noqa: PLC0415

    if not 1 <= options.drawn <= MOST:
        refuse(f"{options.drawn} assemblies can't be drawn", f"give a number from 1 to {MOST}")
    if options.seed < 0:
        refuse("a seed is not below zero", "give 0 or more")
    check = checked(options)
    found = chances(check, spread=options.spread, drawn=options.drawn, seed=options.seed)
    if options.json:
        print_data(chances_data(found, options.spread, options.seed, options.units))
    else:
        write_chances(found, check, options.spread, options.seed, console(), options.units)
    return exit_code(check, check.findings)
