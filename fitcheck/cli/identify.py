"""Say which listed part an unlabelled one may be, and what to measure to tell."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from fitcheck.cli.catalog_files import opened
from fitcheck.cli.common import (  # fmt: skip
    CLASHES,
    FITS,
    OPEN,
    console,
    loaded,
    print_data,
    slot_of,
)
from fitcheck.cli.options import shared

if TYPE_CHECKING:
    from fitcheck.knowledge import Knowledge
    from fitcheck.model import Part, UnderstoodText
    from fitcheck.source import Problem

HELP = "say which listed part an unlabelled one may be"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("slot", help="the class of the part, as in spring")
    parser.add_argument(
        "figure",
        nargs="*",
        help="what was measured of it, as in wire=.177; a load with its height stands alone: "
        '"125 lbs @ 1.800"',
    )
    parser.set_defaults(more="figure")
    shared(parser, "--catalog", "--rules", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command: 0 where one listed part is left, 3 for several, 1 for none."""
    from fitcheck.report.identify import identified_data, write_identified  # noqa: PLC0415
    from fitcheck.screen.identify import identify  # noqa: PLC0415

    knowledge = loaded(options)
    slot = slot_of(options.slot, knowledge)
    part, readings = _part(slot, options.figure, knowledge)
    with opened(options.catalog, knowledge, [slot]) as catalog:
        found, listed = identify(catalog, slot, [part]), catalog.count(slot)
    if options.json:
        read_as = {one.typed: one.understood for one in readings}
        print_data({"read_as": read_as, **identified_data(found)})
    else:
        write_identified(found, knowledge.classes[slot].title, listed, readings, console())
    return OPEN if found.count > 1 else FITS if found.count else CLASHES


def _part(slot: str, figures: list[str], knowledge: Knowledge) -> tuple[Part, list[UnderstoodText]]:
    """The part with what was measured of it, and how that was read; raises BadInput with all that
    can't be."""
    from fitcheck.check.read import read_part  # noqa: PLC0415
    from fitcheck.model import Layout, Part  # noqa: PLC0415
    from fitcheck.source import BadInput, Mapping, Place, Problem, Source, Text  # noqa: PLC0415

    place = Place(Source("the command line", ""))
    problems: list[Problem] = []
    measured, own = Mapping(), Mapping()
    measured.place = own.place = place
    for name, value in _named(slot, figures, knowledge, problems):
        if name in measured:
            problems.append(Problem(f"'{name}' is told twice", None, "keep one of the two"))
        measured[Text(name, place)] = Text(value, place)
    own[Text("measured", place)] = measured
    readings: list[UnderstoodText] = []
    part = None
    if measured:
        part = read_part(Text(slot, place), own, "", Layout(1), knowledge, problems, readings)
    if problems:
        raise BadInput(problems)
    return part or Part(slot, "", "", ()), readings


def _named(
    slot: str, figures: list[str], knowledge: Knowledge, problems: list[Problem]
) -> list[tuple[str, str]]:
    """Figures by their names; what stands alone is a load with its height, the greater first."""
    from fitcheck.screen.loads import named_loads  # noqa: PLC0415
    from fitcheck.source import Problem  # noqa: PLC0415

    found, alone = [], []
    for text in figures:
        name, equals, value = (piece.strip() for piece in text.partition("="))
        if not (name and equals and value):
            alone.append(text)
        elif (
            named_loads(slot, [value], knowledge) and not knowledge.words.attribute(slot, name).name
        ):
            alone.append(value)  # which of two loads it is, its height tells
        else:
            found.append((name, value))
    loads = named_loads(slot, alone, knowledge)
    if len(loads) < len(alone):
        what = f"'{', '.join(alone)}' tells no figure"
        mend = 'write wire=.177, or one load or two with their heights: "125 lbs @ 1.800"'
        problems.append(Problem(what, None, mend))
    return found + loads
