"""Tell what there is to say of a part: its figures, units and options, what each serves."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import FITS, attribute_of, loaded, output, print_data, slot_of
from fitcheck.cli.options import shared

HELP = "tell what there is to say of a part, and what each figure is for"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument(
        "name", nargs="?", default="", help="a part, as in cam, or a figure, as in cam.lobe_lift"
    )
    shared(parser, "--rules", "--units", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.report.parts import (  # noqa: PLC0415
        PartReport,
        parts_data,
        write_parts,
        written,
    )

    knowledge = loaded(options)
    part, dot, _ = options.name.partition(".")
    slot = slot_of(part, knowledge) if part else ""
    if options.json:
        print_data(parts_data(knowledge, [slot] if slot else [*knowledge.classes], options.units))
    elif not slot:
        write_parts(knowledge, output())
    else:
        report = PartReport(knowledge, output(), options.units)
        if dot:
            own = {one.name: one for one in written(knowledge.classes[slot])}
            report.one(own[attribute_of(options.name, knowledge)])
        else:
            report.part(knowledge.classes[slot])
    return FITS
