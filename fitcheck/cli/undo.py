"""Put the last state of a build file back, as it was before fitcheck changed it."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import FITS, tell
from fitcheck.cli.options import shared

HELP = "put the state of a build file before the last record back"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.source.rewrite import undo  # noqa: PLC0415

    _, undone = undo(options.build)
    tell(f"{options.build} is as it was before; what was undone is kept in {undone}.")
    return FITS
