"""Say which parts of a catalog fit an open slot of a build, or several open slots together."""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.cli.catalog_files import opened, say
from fitcheck.cli.common import (
    CLASHES,
    FITS,
    OPEN,
    attribute_of,
    console,
    print_data,
    refuse,
    slot_of,
    with_build,
)
from fitcheck.cli.options import shared

if TYPE_CHECKING:
    from fitcheck.knowledge import Knowledge
    from fitcheck.model import EngineBuild
    from fitcheck.plan.prices import Prices
    from fitcheck.screen.opening import Opening
    from fitcheck.screen.shares import Fewer
    from fitcheck.screen.store import Catalog

HELP = "say which parts of a catalog fit an open slot, or several together"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    parser.add_argument(
        "slot", nargs="+", help="an open slot, as in spring, or valve@exhaust for one side"
    )
    parser.set_defaults(more="slot")
    shared(parser, "--catalog")
    parser.add_argument(
        "--by",
        choices=("room", "price", "work"),
        default="price",
        help="what comes first of those that fit as well: the most room to their limits; the "
        "cheapest order; the least work that mends what clashes",
    )
    parser.add_argument(
        "--spares", type=int, default=0, metavar="N", help="pieces ordered beside those needed"
    )
    parser.add_argument(
        "--prices", type=Path, default=None, metavar="FILE", help="a shop's prices, for work"
    )
    parser.add_argument("--top", type=int, default=5, metavar="N", help="how many (default: 5)")
    parser.add_argument(
        "--keep",
        action="append",
        default=[],
        metavar="SLOT.ATTRIBUTE",
        help="what belongs to the place and stays, beside what was measured of it, as in "
        "spring.seat_load; may be repeated",
    )
    parser.add_argument(
        "--engine",
        choices=("here", "spark"),
        default="here",
        help="where candidates are judged: here, or by Spark over a folder of Parquet",
    )
    parser.add_argument(
        "--master",
        default="local[*]",
        metavar="URL",
        help="Spark's master, as local[2] or spark://HOST:7077 (default: local[*])",
    )
    parser.add_argument(
        "--spark",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help="a setting of Spark's own; may be repeated",
    )
    shared(parser, "--rules", "--units", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.plan.prices import NO_PRICES, read_prices  # noqa: PLC0415

    knowledge, build = with_build(options)
    openings = _openings(options, build, knowledge)
    if not 1 <= options.top <= 100:
        refuse(f"--top {options.top} is not from 1 to 100")
    if not 0 <= options.spares <= 1000:
        refuse(f"--spares {options.spares} is not from 0 to 1000")
    shop = NO_PRICES
    if options.prices is not None:
        shop = read_prices(options.prices, knowledge, build.layout)
    if options.engine == "spark":
        return _by_spark(options, build, openings, knowledge, shop)
    slots = [opening.slot for opening in openings]
    with opened(options.catalog, knowledge, slots) as catalog:
        if len(openings) > 1:
            return _several(options, build, openings, catalog, shop)
        return _one(options, build, openings[0], catalog, shop)


def _openings(
    options: argparse.Namespace, build: EngineBuild, knowledge: Knowledge
) -> list[Opening]:
    from fitcheck.model import SIDES  # noqa: PLC0415
    from fitcheck.plan.at_place import known_of_place  # noqa: PLC0415
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
        kept = frozenset(name for name in keep if name.startswith(f"{slot}."))
        found[slot] = Opening(slot, side, kept | known_of_place(build, knowledge, slot))
    return list(found.values())


def _by_spark(
    options: argparse.Namespace,
    build: EngineBuild,
    openings: list[Opening],
    knowledge: Knowledge,
    shop: Prices,
) -> int:
    """Few of each slot come here from Spark; they are screened or combined as ever."""
    from fitcheck.screen.shares import MOST_LEFT, job_of, left_of  # noqa: PLC0415
    from fitcheck.screen.spark import spark  # noqa: PLC0415
    from fitcheck.screen.store import Catalog  # noqa: PLC0415

    folder = options.catalog
    if folder is None:
        refuse("--engine spark reads a folder of Parquet", "name it with --catalog FOLDER")
    settings = dict(text.partition("=")[::2] for text in options.spark)
    if wrong := [name for name, value in settings.items() if not value]:
        refuse(f"'--spark {wrong[0]}' sets nothing", "write --spark spark.executor.memory=4g")
    catalog = Catalog(knowledge)
    job = job_of(folder, catalog, build, openings, options.spares)
    with spark(options.master, settings, say) as engine:
        left = left_of(job, folder, catalog, engine)
    for slot in left.cut:
        say(f"{slot}: of those that nothing rules out the {MOST_LEFT:,} cheapest are looked at")
    with left.catalog as catalog:
        if len(openings) > 1:
            return _several(options, build, openings, catalog, shop, left)
        return _one(options, build, openings[0], catalog, shop, left)


def _one(
    options: argparse.Namespace,
    build: EngineBuild,
    opening: Opening,
    catalog: Catalog,
    shop: Prices,
    left: Fewer | None = None,
) -> int:
    from fitcheck.report.screen import screen_data, write_screen  # noqa: PLC0415
    from fitcheck.screen.deciding import Standing  # noqa: PLC0415
    from fitcheck.screen.ranking import best, nearest  # noqa: PLC0415
    from fitcheck.screen.screening import screen  # noqa: PLC0415

    found = screen(catalog, build, opening, say, options.spares)
    some = best(found, options.by, options.top, shop, say)
    misses = nearest(found, min(options.top, 5))
    found = left.counted(found) if left is not None else found
    if options.json:
        print_data(screen_data(found, some, misses, options.units))
    else:
        write_screen(found, some, misses, shop, console(), options.units)
    if some.standings[Standing.FITS]:
        return FITS
    return OPEN if found.total > found.ruled_out else CLASHES


def _several(
    options: argparse.Namespace,
    build: EngineBuild,
    openings: list[Opening],
    catalog: Catalog,
    shop: Prices,
    left: Fewer | None = None,
) -> int:
    from fitcheck.report.sets import sets_data, write_sets  # noqa: PLC0415
    from fitcheck.screen.candidates import FromCatalog  # noqa: PLC0415
    from fitcheck.screen.cost import need_of  # noqa: PLC0415
    from fitcheck.screen.kits import whole_within  # noqa: PLC0415
    from fitcheck.screen.money import Money  # noqa: PLC0415
    from fitcheck.screen.opening import Frame  # noqa: PLC0415
    from fitcheck.screen.together import choose  # noqa: PLC0415

    knowledge = catalog.knowledge
    sided = any(one.side for one in openings)
    whole = "kit IS NULL" if sided else whole_within(catalog, [one.slot for one in openings])
    openings = [replace(one, sided=catalog.sided(one.slot)) for one in openings]
    frame = Frame(build, knowledge, openings)
    candidates = {
        one.slot: FromCatalog(
            catalog, one, whole, need=need_of(build, knowledge, one, options.spares)
        )
        for one in openings
    }
    found = choose(frame, candidates, options.top, options.by, build, shop, say)
    counts = {slot: own.count for slot, own in candidates.items()}
    if left is not None:
        counts = {slot: sum(left.judged[slot].counted[:3]) for slot in candidates}
    money = Money(catalog.currency)
    if options.json:
        print_data(sets_data(found, counts, money))
    else:
        write_sets(frame, build, found, counts, options.by, money, shop, console(), options.units)
    if not found.choices:
        return CLASHES
    return OPEN if any(one.check.undecided for one in found.choices) else FITS
