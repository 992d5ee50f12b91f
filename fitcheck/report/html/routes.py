"""The page of a comparison of routes: the answer, side by side, and what would turn it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from fitcheck.knowledge import Knowledge
from fitcheck.plan.routes import Route, Routes
from fitcheck.quantity import System
from fitcheck.report.drawings.route_prices import drawings_of
from fitcheck.report.html.frame import Section, Table, render, stamp
from fitcheck.report.phrases import capital
from fitcheck.report.plan import titles
from fitcheck.report.plan_answer import answer, remarks
from fitcheck.report.routes import quoted, routes_answer, side_by_side, turns_told

_ACROSS = 3


def routes_page(found: Routes, knowledge: Knowledge, system: System, day: date) -> str:
    """The page of routes that were compared."""
    lists = dict.fromkeys(route.way.prices.title for route in found.routes)
    return render(
        "routes",
        kind="Comparison of routes",
        title=found.title,
        about="",
        answer=routes_answer(found),
        turns=turns_told(found),
        table=list(_tables(found, system)),
        drawn=Section("What it costs, and what would turn it", drawings=tuple(drawings_of(found))),
        ways=[_way(route, system) for route in found.routes],
        stamp=stamp(knowledge, system, day, also=[("Prices", ", ".join(filter(None, lists)))]),
    )


def _tables(found: Routes, system: System) -> Iterator[Table]:
    """The comparison, so many ways to a table that it fits a phone and a narrow sheet."""
    for start in range(0, len(found.routes), _ACROSS):
        routes = found.routes[start : start + _ACROSS]
        columns = [side_by_side(route, found, system) for route in routes]
        head = ("What is compared", *map(quoted, routes))
        rows = tuple(
            (capital(label), *(column[label] for column in columns)) for label in columns[0]
        )
        yield Table("The cheapest first" if not start else "Continued", head, rows)


def _way(route: Route, system: System) -> dict[str, object]:
    """One way: its answer, its work, and what is to be said of it."""
    plan = route.outcome.plan
    return {
        "title": quoted(route),
        "answer": answer(route.outcome, route.way.prices),
        "works": titles(plan.applied.works, plan.before.build.layout, system) if plan else [],
        "remarks": remarks(route.outcome),
    }
