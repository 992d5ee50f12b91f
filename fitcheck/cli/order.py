"""Say what to ask a seller for: what the neighbours leave the part in a slot."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import (  # fmt: skip
    CLASHES,
    FITS,
    OPEN,
    console,
    print_data,
    slot_of,
    with_build,
)
from fitcheck.cli.options import shared

HELP = "say what to ask for when ordering a part"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    parser.add_argument("slot", help="the class of the part, as in spring")
    shared(parser, "--rules", "--units", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.plan.order import order  # noqa: PLC0415
    from fitcheck.report.order import order_data, write_order  # noqa: PLC0415

    knowledge, build = with_build(options)
    slot = slot_of(options.slot, knowledge)
    found = order(build, knowledge, slot, options.units)
    if options.json:
        print_data(order_data(found, knowledge, options.units))
    else:
        write_order(found, knowledge, console(), options.units)
    if not found.possible:
        return CLASHES
    return FITS if found.certain else OPEN
