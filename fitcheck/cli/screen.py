"""Say which parts of a catalog fit an open slot of a build, or several open slots together."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from fitcheck.cli.catalog_files import catalog_option, opened, say
from fitcheck.cli.common import (
    CLASHES,
    FITS,
    OPEN,
    attribute_of,
    build_argument,
    console,
    json_option,
    print_data,
    refuse,
    rules_option,
    slot_of,
    units_option,
    with_build,
)

if TYPE_CHECKING:
    from fitcheck.knowledge import Knowledge
    from fitcheck.model import Build
    from fitcheck.screen.opening import Opening
    from fitcheck.screen.store import Catalog

HELP = "say which parts of a catalog fit an open slot, or several together"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    build_argument(parser)
    parser.add_argument(
        "slot", nargs="+", help="an open slot, as in spring, or valve@exhaust for one side"
    )
    catalog_option(parser)
    parser.add_argument(
        "--by",
        choices=("price", "margin", "rework", "operations"),
        default="price",
        help="what comes first: the cheapest; the most room to spare; the fewest hours of rework; "
        "of several slots, the fewest clashes that machine work must mend",
    )
    parser.add_argument("--top", type=int, default=5, metavar="N", help="how many (default: 5)")
    parser.add_argument(
        "--keep",
        action="append",
        default=[],
        metavar="SLOT.ATTRIBUTE",
        help="what belongs to the place and stays, as spring.installed_height; may be repeated",
    )
    rules_option(parser)
    units_option(parser)
    json_option(parser)


def run(options: argparse.Namespace) -> int:
    """Run the command."""

    knowledge, build = with_build(options)
    openings = _openings(options, knowledge)
    if not 1 <= options.top <= 100:
        refuse(f"--top {options.top} is not from 1 to 100")
    several = len(openings) > 1
    if several != (options.by == "operations") and options.by != "price":
        refuse(f"--by {options.by} is for {'one open slot' if several else 'several open slots'}")
    slots = [opening.slot for opening in openings]
    with opened(options.catalog, knowledge, slots) as catalog:
        return (_several if several else _one)(options, build, openings, catalog)


def _openings(options: argparse.Namespace, knowledge: Knowledge) -> list[Opening]:
    from fitcheck.model import SIDES  # noqa: PLC0415
    from fitcheck.screen.opening import Opening  # noqa: PLC0415

    keep = knowledge.with_spreads(attribute_of(name, knowledge) for name in options.keep)
    found = {}
    for text in options.slot:
        typed, _, side = text.partition("@")
        slot = slot_of(typed, knowledge)
        if slot == "engine":
            refuse("the engine itself is no part to be chosen")
        if side and (side not in SIDES or knowledge.classes[slot].each != "valve"):
            refuse(f"'{text}' names no side", "write valve@intake or valve@exhaust")
        if slot in found:
            refuse(f"'{slot}' is named twice", "open one side of a slot at a time")
        found[slot] = Opening(slot, side, frozenset(n for n in keep if n.startswith(f"{slot}.")))
    return list(found.values())


def _one(
    options: argparse.Namespace, build: Build, openings: list[Opening], catalog: Catalog
) -> int:
    from fitcheck.report.screen import screen_data, write_screen  # noqa: PLC0415
    from fitcheck.screen.ranking import best, least_rework, nearest  # noqa: PLC0415
    from fitcheck.screen.screening import screen  # noqa: PLC0415

    found = screen(catalog, build, openings[0], say)
    some = (
        least_rework(found, options.top)
        if options.by == "rework"
        else best(found, options.by, options.top)
    )
    misses = nearest(found, min(options.top, 5))
    if options.json:
        print_data(screen_data(found, some, misses, options.units))
    else:
        write_screen(found, options.by, some, misses, console(), options.units)
    return FITS if found.fits else OPEN if found.possible else CLASHES


def _several(
    options: argparse.Namespace, build: Build, openings: list[Opening], catalog: Catalog
) -> int:
    from fitcheck.report.screen import sets_data, write_sets  # noqa: PLC0415
    from fitcheck.screen.candidates import FromCatalog  # noqa: PLC0415
    from fitcheck.screen.money import Money  # noqa: PLC0415
    from fitcheck.screen.opening import Frame  # noqa: PLC0415
    from fitcheck.screen.together import choose  # noqa: PLC0415

    frame = Frame(build, catalog.knowledge, openings)
    candidates = {opening.slot: FromCatalog(catalog, opening) for opening in openings}
    choices, why = choose(frame, candidates, options.top, options.by, say)
    counts = {slot: own.count for slot, own in candidates.items()}
    money = Money(catalog.currency)
    if options.json:
        print_data(sets_data(choices, why, counts, money))
    else:
        write_sets(frame, choices, why, counts, options.by, money, console(), options.units)
    if why is not None:
        return CLASHES
    return OPEN if any(choice.check.undecided for choice in choices) else FITS
