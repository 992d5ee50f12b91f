"""Plan the cheapest work that makes a build fit, and write the work order."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

from fitcheck.cli.common import CLASHES, OPEN, checked, console, exit_code, print_data, refuse
from fitcheck.cli.options import shared
from fitcheck.cli.output import check_outputs, write_page
from fitcheck.source.writing import write_whole

if TYPE_CHECKING:
    from fitcheck.check import BuildCheck
    from fitcheck.plan.made import Plan
    from fitcheck.plan.prices import Prices
    from fitcheck.plan.search import Progress
    from fitcheck.plan.stages import Objective
    from fitcheck.plan.work_order import WorkOrder

HELP = "plan the cheapest work that makes a build fit"
OBJECTIVES = ("price", "hours", "metal", "parts")


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    parser.add_argument("--prices", type=Path, metavar="FILE", help="the shop's price file (YAML)")
    parser.add_argument(
        "--objective",
        choices=OBJECTIVES,
        default=None,
        help="what shall be least (default: price with a price file, else hours)",
    )
    shared(parser, "--decide-all")
    parser.add_argument(
        "--seconds",
        type=float,
        default=60,
        help="stop after so long and tell the best found and the gap (default: 60)",
    )
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write the work order as a table")
    parser.add_argument(
        "--do",
        action="append",
        default=[],
        metavar="WORK",
        help="search for no plan, but tell what this work comes to: mill_deck=0.010 in, "
        "hone_guide@3 exhaust=0.0010 in, change_drive_gear; may be repeated",
    )
    shared(parser, "--page", "--force", "--set", "--rules", "--units", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.plan.prices import NO_PRICES, read_prices  # noqa: PLC0415

    if not 0 < options.seconds < 86_400:
        refuse(f"--seconds {options.seconds:g} is no time to plan in", "give seconds above zero")
    if options.objective == "price" and options.prices is None:
        refuse("the objective price needs a price file", "give it with --prices FILE")
    check_outputs(options, "page", "csv")
    check = checked(options)
    prices = NO_PRICES
    if options.prices is not None:
        prices = read_prices(options.prices, check.knowledge, check.build.layout)
    return _asked(options, check, prices) if options.do else _searched(options, check, prices)


def _searched(options: argparse.Namespace, check: BuildCheck, prices: Prices) -> int:
    from fitcheck.plan.contradiction import contradiction  # noqa: PLC0415
    from fitcheck.plan.decide import decide_first  # noqa: PLC0415
    from fitcheck.plan.others import others_in_kind  # noqa: PLC0415
    from fitcheck.plan.planner import make_plan  # noqa: PLC0415
    from fitcheck.plan.question import Goal  # noqa: PLC0415
    from fitcheck.plan.search import LEAST_SECONDS, time_left  # noqa: PLC0415
    from fitcheck.plan.work_order import work_order  # noqa: PLC0415
    from fitcheck.report.measure_first import first_words  # noqa: PLC0415
    from fitcheck.report.plan import PlanReport  # noqa: PLC0415
    from fitcheck.report.plan_answer import (  # noqa: PLC0415
        answer,
        progress_words,
        remarks,
        write_proof,
    )
    from fitcheck.report.plan_data import outcome_data  # noqa: PLC0415

    objective: Objective = options.objective or ("price" if options.prices else "hours")
    goal = Goal.DECIDED if options.decide_all else Goal.MENDED
    # A quarter of the time is kept for plans of another kind, or for making a proof small.
    until = monotonic() + options.seconds

    def told(progress: Progress) -> None:
        print(progress_words(progress, objective, prices), file=sys.stderr)

    outcome = make_plan(check, prices, objective, goal, options.seconds * 3 / 4, told)
    order = work_order(outcome.plan, prices) if outcome.plan else None
    half = (until - monotonic()) / 2  # the other half is for plans of another kind
    first = decide_first(outcome, prices, max(LEAST_SECONDS, half), options.units)
    others = others_in_kind(outcome, time_left(until)) if outcome.plan else []
    proof = contradiction(outcome, time_left(until))
    said_first = first_words(first, prices, options.units)
    if options.page is not None and order is not None:
        said = answer(outcome, prices), [*said_first, *remarks(outcome)]
        _page(options, order, said, prices, others)
    elif options.json:
        print_data(outcome_data(outcome, order, others, proof, first, prices, options.units))
    elif order is not None:
        PlanReport(order, prices, console(), options.units).found(outcome, others, said_first)
    else:
        write_proof(outcome, proof, prices, console(), options.units)
    if order is not None:
        _table(options, order, prices)
    if outcome.plan:
        return exit_code(outcome.plan.after, outcome.plan.after.findings)
    return CLASHES if outcome.proven else OPEN


def _asked(options: argparse.Namespace, check: BuildCheck, prices: Prices) -> int:
    from fitcheck.plan.asked import asked_plan, read_works  # noqa: PLC0415
    from fitcheck.plan.work_order import work_order  # noqa: PLC0415
    from fitcheck.report.plan import PlanReport  # noqa: PLC0415
    from fitcheck.report.plan_answer import asked_answer, asked_remarks  # noqa: PLC0415
    from fitcheck.report.plan_data import asked_data  # noqa: PLC0415

    works = read_works(options.do, check.build.layout, check.knowledge)
    plan = asked_plan(check, prices, works)
    order = work_order(plan, prices)
    if options.page is not None:
        said = asked_answer(plan, prices), asked_remarks(plan)
        _page(options, order, said, prices, [])
    elif options.json:
        print_data(asked_data(order, prices, options.units))
    else:
        PlanReport(order, prices, console(), options.units).asked()
    _table(options, order, prices)
    return exit_code(plan.after, plan.after.findings)


def _page(
    options: argparse.Namespace,
    order: WorkOrder,
    said: tuple[str, list[str]],
    prices: Prices,
    others: list[Plan],
) -> None:
    from datetime import date  # noqa: PLC0415

    from fitcheck.report.html.work_order import work_order_page  # noqa: PLC0415

    page = work_order_page(order, *said, prices, others, options.units, date.today())
    write_page(page, options)


def _table(options: argparse.Namespace, order: WorkOrder, prices: Prices) -> None:
    from fitcheck.report.plan_data import order_csv  # noqa: PLC0415

    if options.csv is not None:
        write_whole(options.csv, order_csv(order, prices, options.units), force=options.force)
