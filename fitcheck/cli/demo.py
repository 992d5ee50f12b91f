"""List the invented builds that travel with fitcheck, or print one as a pattern."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import FITS, one_of, tell
from fitcheck.report.demos import demo_folder, demo_names, demo_text

__all__ = ["HELP", "arguments", "demo_folder", "run"]
HELP = "list the invented builds, or print one as a pattern"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("name", nargs="?", default="", help="which one to print")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    names = demo_names()
    if not options.name:
        print("Invented builds; 'fitcheck demo NAME > mine.yaml' gives one as a pattern:")
        for name in names:
            tell(f"  {name}")
        return FITS
    print(demo_text(one_of(options.name, names, "invented build")), end="")
    return FITS
