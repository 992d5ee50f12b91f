"""Compare routes to one goal: rework, bare castings, other heads."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.cli.common import CLASHES, OPEN, console, exit_code, loaded, print_data, refuse
from fitcheck.cli.options import shared
from fitcheck.cli.output import check_outputs, write_drawing, write_page

if TYPE_CHECKING:
    from fitcheck.plan.search import Progress

HELP = "compare rework, bare castings and other heads"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("routes", type=Path, help="the routes file (YAML)")
    shared(parser, "--decide-all")
    parser.add_argument(
        "--seconds", type=float, default=120, help="stop planning after so long (default: 120)"
    )
    shared(parser, "--page", "--force")
    parser.add_argument(
        "--drawings", type=Path, metavar="FOLDER", help="write the drawings of the prices there too"
    )
    shared(parser, "--rules", "--units", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.plan.question import Goal  # noqa: PLC0415
    from fitcheck.plan.routes import compare_routes, read_routes  # noqa: PLC0415
    from fitcheck.report.plan_answer import progress_words  # noqa: PLC0415
    from fitcheck.report.routes import routes_data, write_routes  # noqa: PLC0415

    if not 0 < options.seconds < 86_400:
        refuse(f"--seconds {options.seconds:g} is no time to plan in", "give seconds above zero")
    check_outputs(options, "page")
    knowledge = loaded(options)
    title, ways = read_routes(options.routes, knowledge)
    goal = Goal.DECIDED if options.decide_all else Goal.MENDED
    # The ways of one file are priced in one currency.
    prices = ways[0].prices

    def told(progress: Progress) -> None:
        print(progress_words(progress, "price", prices), file=sys.stderr)

    found = compare_routes(title, ways, goal, options.seconds, told)
    if options.drawings is not None:
        from fitcheck.report.drawings.route_prices import drawings_of  # noqa: PLC0415

        for drawing in drawings_of(found):
            name = "".join(letter if letter.isalnum() else "-" for letter in drawing.name)
            write_drawing(drawing.alone(), options.drawings / f"{name}.svg", options)
    if options.page is not None:
        from datetime import date  # noqa: PLC0415

        from fitcheck.report.html.routes import routes_page  # noqa: PLC0415

        write_page(routes_page(found, knowledge, options.units, date.today()), options)
    elif options.json:
        print_data(routes_data(found, options.units))
    else:
        write_routes(found, console(), options.units)
    # The way that costs least stands first; what it leaves undecided counts as in a check.
    after = next((route.after for route in found.routes if route.after is not None), None)
    if after is not None:
        return exit_code(after, after.findings)
    return CLASHES if all(route.outcome.proven for route in found.routes) else OPEN
