"""Say how far a figure of a part can go, and which rule binds at each end."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from fitcheck.cli.common import (
    CLASHES,
    FITS,
    OPEN,
    attribute_of,
    console,
    print_data,
    refuse,
    with_build,
)
from fitcheck.cli.options import shared

if TYPE_CHECKING:
    from fitcheck.knowledge import Knowledge
    from fitcheck.model import Attribute, EngineBuild, Selector

HELP = "say how far a figure can go, and what binds at each end"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    parser.add_argument("attribute", help="the figure, as in cam.lobe_lift")
    parser.add_argument(
        "other", nargs="?", default="", help="a second one: a table of both, for values of this"
    )
    shared(parser, "--at", "--rules", "--units", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.plan.howfar import how_far, table  # noqa: PLC0415
    from fitcheck.report import reach  # noqa: PLC0415

    knowledge, build = with_build(options)
    attribute = _attribute(options.attribute, knowledge)
    selector = _selector(options.at, attribute, build)
    title = knowledge.title_of(attribute)
    if options.other:
        other = _attribute(options.other, knowledge)
        if other is attribute:
            refuse("the two figures are the same", "name two, or one")
        rows = table(build, knowledge, attribute, other, selector, options.units)
        if options.json:
            print_data(
                [
                    {"value": text, **reach.reach_data(found, options.units)}
                    for text, found in rows.rows
                ]
            )
        else:
            reach.write_table(rows, (title, knowledge.title_of(other)), console(), options.units)
        return FITS
    found = how_far(build, knowledge, attribute, selector, options.units)
    if options.json:
        print_data(reach.reach_data(found, options.units))
    else:
        reach.write_reach(found, build, title, console(), options.units)
    return CLASHES if not found.possible or found.hopeless else FITS if found.certain else OPEN


def _attribute(name: str, knowledge: Knowledge) -> Attribute:
    attribute = knowledge.attributes[attribute_of(name, knowledge)]
    if attribute.text or attribute.several:
        refuse(
            f"'{attribute.name}' is no figure and no choice of one", "name one, as in cam.lobe_lift"
        )
    return attribute


def _selector(text: str, attribute: Attribute, build: EngineBuild) -> Selector:
    from fitcheck.model import EVERYWHERE, Selector  # noqa: PLC0415

    if not text:
        return EVERYWHERE
    selector = Selector.read(text)
    if selector is None:
        refuse(f"'{text}' names no position", "write intake, exhaust, cylinder 3 or 3 exhaust")
    if not any(selector.covers(position) for position in build.layout.positions(attribute.each)):
        refuse(
            f"there is no place '{text}' for '{attribute.title}', which is one figure for each "
            f"{attribute.each}",
            "leave --at out, or name a place of that kind",
        )
    return selector
