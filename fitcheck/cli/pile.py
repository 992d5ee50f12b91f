"""Sort a pile of parts: which go together in a build, what is lacking, what goes with nothing."""

from __future__ import annotations

import argparse
from pathlib import Path

from fitcheck.cli.catalog_files import opened, say
from fitcheck.cli.common import CLASHES, FITS, OPEN, console, print_data, refuse, with_build
from fitcheck.cli.options import shared
from fitcheck.cli.output import check_outputs, write_page

HELP = "say which parts of a pile go together, and what is lacking"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    parser.add_argument("pile", type=Path, help="the pile file (YAML): the parts on the bench")
    parser.add_argument(
        "--top", type=int, default=2, metavar="N", help="how many sets (default: 2)"
    )
    parser.add_argument("--note", action="store_true", help="only the note for a quote")
    shared(parser, "--page", "--force", "--catalog", "--rules", "--units", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.check.measuring.asks import MissingFigures  # noqa: PLC0415
    from fitcheck.plan.order import order  # noqa: PLC0415
    from fitcheck.report.order import order_data  # noqa: PLC0415
    from fitcheck.report.pile import PileReport, pile_data, write_note  # noqa: PLC0415
    from fitcheck.screen.identify import identify  # noqa: PLC0415
    from fitcheck.screen.pile import read_pile, sort_pile  # noqa: PLC0415

    if not 1 <= options.top <= 20:
        refuse(f"--top {options.top} is not from 1 to 20")
    check_outputs(options, "page")
    knowledge, build = with_build(options)
    pile = read_pile(options.pile, build, knowledge)
    found = sort_pile(pile, build, knowledge, options.top, say)
    best = found.sets[0] if found.sets else None
    orders = {}
    for slot in best.wanted if best else ():
        say(f"what to ask for: {knowledge.classes[slot].title}")
        orders[slot] = order(best.check.build, knowledge, slot, options.units)  # type: ignore[union-attr]
    puzzles = [entry for entry in pile.entries if entry.unidentified]
    unknown = []
    if puzzles and not options.note:
        with opened(options.catalog, knowledge, {entry.slot for entry in puzzles}) as catalog:
            unknown = [(entry, identify(catalog, entry.slot, entry.parts)) for entry in puzzles]
    asks = MissingFigures(best.check) if best and not options.json else None
    if options.page is not None:
        from datetime import date  # noqa: PLC0415

        from fitcheck.report.html.pile import pile_page  # noqa: PLC0415

        page = pile_page(found, orders, unknown, asks, options.units, date.today())
        write_page(page, options)
    elif options.json:
        told = {slot: order_data(one, knowledge, options.units) for slot, one in orders.items()}
        print_data(pile_data(found, told, unknown))
    elif options.note:
        write_note(found, orders, asks, console(), options.units)
    else:
        PileReport(found, orders, unknown, asks, console(), options.units).write()
    if best is None or best.clashes:
        return CLASHES
    return OPEN if best.questions or best.wanted else FITS
