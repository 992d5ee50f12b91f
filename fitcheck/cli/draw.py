"""Draw one thing of a build to scale, as an SVG file."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from fitcheck.cli.common import FITS, checked, refuse
from fitcheck.cli.options import output_option, shared
from fitcheck.cli.output import write_out
from fitcheck.report.drawings import DRAWINGS

if TYPE_CHECKING:
    from fitcheck.model import Position
    from fitcheck.report.drawings.numbers import Numbers

HELP = "a drawing of one thing, to scale"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    kinds = "; ".join(f"{name}: {told}" for name, (_, told) in DRAWINGS.items())
    parser.add_argument("drawing", choices=[*DRAWINGS], help=kinds)
    parser.add_argument(
        "--at",
        default="",
        metavar="PLACE",
        help="the valve or cylinder, as in '3 exhaust' or 'cylinder 3' "
        "(default: the one to look at soonest)",
    )
    output_option(parser, ".svg")
    shared(parser, "--rules", "--units")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.report.drawings.making import drawing  # noqa: PLC0415
    from fitcheck.report.drawings.numbers import Numbers  # noqa: PLC0415

    name = options.drawing
    numbers = Numbers(checked(options), options.units)
    at = _place(name, options.at, numbers) if options.at else None
    write_out(drawing(name, numbers, at).alone(), options)
    return FITS


def _place(name: str, text: str, numbers: Numbers) -> Position:
    """The place that is drawn."""
    from fitcheck.model import Selector  # noqa: PLC0415
    from fitcheck.report.drawings.making import positions  # noqa: PLC0415

    known = positions(name, numbers)
    selector = Selector.read(text)
    found = [position for position in known if selector and selector.covers(position)]
    if not found:
        refuse(
            f"there is no place '{text}' that '{name}' is drawn for",
            f"one of: {', '.join(map(str, known))}",
        )
    return found[0]
