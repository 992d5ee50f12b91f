"""Show the measurements of each part over time, and which of them hold."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import FITS, console, listed_in, print_data, with_build
from fitcheck.cli.options import shared

HELP = "show who measured what, when and with what, and what holds"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build", "--slot", "--rules", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.check.records.history import history  # noqa: PLC0415
    from fitcheck.report.history import history_data, write_history  # noqa: PLC0415

    knowledge, build = with_build(options)
    slots = listed_in(build, options.slot, knowledge)
    found = history(build, slots)
    if options.json:
        print_data(history_data(found, build.layout))
    else:
        write_history(found, build, knowledge, console())
    return FITS
