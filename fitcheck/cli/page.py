"""Write a page that shows a build, as one HTML file to print and to send."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import (
    build_argument,
    checked,
    exit_code,
    rules_option,
    units_option,
)
from fitcheck.cli.output import output_option, write_out
from fitcheck.report.html import PAGES

HELP = "a page to print and to send, with drawings"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    build_argument(parser)
    kinds = "; ".join(f"{name}: {kind.help}" for name, kind in PAGES.items())
    parser.add_argument("--kind", choices=[*PAGES], default="check", help=f"which page. {kinds}")
    output_option(parser, ".html")
    rules_option(parser)
    units_option(parser)


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from datetime import date  # noqa: PLC0415

    check = checked(options)
    write_out(PAGES[options.kind].make(check, options.units, date.today()), options)
    return exit_code(check, check.findings)
