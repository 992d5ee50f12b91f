"""Say which listed part an unlabelled one may be, and what to measure to tell."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from fitcheck.cli.catalog_files import catalog_option, opened
from fitcheck.cli.common import (  # fmt: skip
    CLASHES,
    FITS,
    OPEN,
    console,
    json_option,
    loaded,
    print_data,
    rules_option,
    slot_of,
)

if TYPE_CHECKING:
    from fitcheck.knowledge import Knowledge
    from fitcheck.model import Part

HELP = "say which listed part an unlabelled one may be"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("slot", help="the class of the part, as in spring")
    parser.add_argument(
        "figure", nargs="*", help='what was measured of it, as in "wire_diameter=0.177 in"'
    )
    catalog_option(parser)
    rules_option(parser)
    json_option(parser)


def run(options: argparse.Namespace) -> int:
    """Run the command: 0 where one listed part is left, 3 for several, 1 for none."""
    from fitcheck.report.identify import identified_data, write_identified  # noqa: PLC0415
    from fitcheck.screen.identify import identify  # noqa: PLC0415

    knowledge = loaded(options)
    slot = slot_of(options.slot, knowledge)
    part = _part(slot, options.figure, knowledge)
    with opened(options.catalog, knowledge, [slot]) as catalog:
        found, listed = identify(catalog, slot, [part]), catalog.count(slot)
    if options.json:
        print_data(identified_data(found))
    else:
        write_identified(found, knowledge.classes[slot].title, listed, console())
    return OPEN if found.count > 1 else FITS if found.count else CLASHES


def _part(slot: str, figures: list[str], knowledge: Knowledge) -> Part:
    """The part with what was measured of it; raises BadInput with all that can't be read."""
    from fitcheck.check.read import read_part  # noqa: PLC0415
    from fitcheck.model import Layout  # noqa: PLC0415
    from fitcheck.source import BadInput, Mapping, Place, Problem, Source, Text  # noqa: PLC0415

    place = Place(Source("the command line", ""))
    problems: list[Problem] = []
    measured, own = Mapping(), Mapping()
    measured.place = own.place = place
    for text in figures:
        name, equals, value = (piece.strip() for piece in text.partition("="))
        if not (name and equals and value):
            what = f"'{text}' tells no figure"
            problems.append(Problem(what, None, 'write "wire_diameter=0.177 in"'))
        measured[Text(name, place)] = Text(value, place)
    own[Text("measured", place)] = measured
    part = (
        read_part(Text(slot, place), own, "", Layout(1), knowledge, problems) if figures else None
    )
    if problems or (figures and part is None):
        raise BadInput(problems)
    from fitcheck.model import Part as Made  # noqa: PLC0415

    return part or Made(slot, "", "", ())
