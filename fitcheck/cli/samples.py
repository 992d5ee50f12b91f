"""Show what can be said of figures that are measured at some places only."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import FITS, OPEN, console, listed_in, print_data, with_build
from fitcheck.cli.options import shared

HELP = "what some measured chambers or valves say of all of them, and how many more are needed"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build", "--slot", "--rules", "--units", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.check.records.samples import samples  # noqa: PLC0415
    from fitcheck.report.samples import samples_data, write_samples  # noqa: PLC0415

    knowledge, build = with_build(options)
    slots = listed_in(build, options.slot, knowledge)
    found = samples(build, knowledge, slots)
    if options.json:
        print_data(samples_data(found, options.units))
    else:
        write_samples(found, build, knowledge, console(), options.units)
    return OPEN if found else FITS
