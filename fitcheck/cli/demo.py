"""List the invented builds that travel with fitcheck, or print one as a pattern."""

from __future__ import annotations

import argparse
from pathlib import Path

from fitcheck.cli.common import FITS, one_of

HELP = "list the invented builds, or print one as a pattern"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("name", nargs="?", default="", help="which one to print")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    folder = demo_folder()
    names = sorted(path.parent.name for path in folder.glob("*/build.yaml"))
    if not options.name:
        print("Invented builds; 'fitcheck demo NAME > mine.yaml' gives one as a pattern:")
        for name in names:
            print(f"  {name}")
        return FITS
    name = one_of(options.name, names, "invented build")
    print((folder / name / "build.yaml").read_text(encoding="utf-8"), end="")
    return FITS


def demo_folder() -> Path:
    """Where the invented builds are, installed or in a checkout."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "_data" / "catalog_demo"
    return installed if installed.is_dir() else package.parent / "catalog_demo"
