"""Routes side by side: price, hours, what is new, what stays open, what would turn the answer."""

from __future__ import annotations

from typing import Any

from rich.console import Console

from fitcheck.check import BuildCheck
from fitcheck.plan.routes import Route, Routes, Turn
from fitcheck.quantity import System
from fitcheck.report.phrases import capital, counted, counts, open_words, subjects
from fitcheck.report.plan import titles
from fitcheck.report.plan_answer import answer, left_out, subject
from fitcheck.report.route_losses import loss_data, loss_rows, losses_of
from fitcheck.report.writer import Writer


def write_routes(found: Routes, console: Console, system: System) -> None:
    """The comparison as text."""
    writer = Writer(console)
    writer.line(found.title, "bold")
    console.print()
    writer.line(routes_answer(found), "bold")
    writer.heading("Side by side")
    rows = [side_by_side(route, found, system) for route in found.routes]
    labels = list(rows[0])
    for label in labels:
        writer.line(capital(label), "bold")
        for route, row in zip(found.routes, rows, strict=True):
            writer.labelled(f"{quoted(route)}:", row[label], hang=2)
    turns = turns_told(found)
    if turns:
        writer.heading("What would turn it")
        for told in turns:
            writer.line(f"- {told}")
    for route in found.routes:
        writer.heading(f"The way {quoted(route)}")
        writer.line(answer(route.outcome, route.way.prices))
        plan = route.outcome.plan
        if plan is not None:
            for title in titles(plan.applied.works, plan.before.build.layout, system):
                writer.line(f"- {title}", indent=3)
            if plan.waiting:
                told = subjects(plan.waiting, most=9)
                writer.line(f"- to be measured before it is sure: {told}", indent=3)
        for question in route.outcome.unsure:
            told = subject(question, route.way.check)
            writer.line(f"- clashes no more, but nothing makes it sure: {told}", indent=3)
        writer.line(left_out(route.outcome), indent=3)


def routes_answer(found: Routes) -> str:
    """Which way costs least, in a sentence."""
    best = found.routes[0]
    if best.price is None:
        return "No way has both a plan and a price for all of it."
    proven = "" if best.outcome.proven else " (not proven: the time ran out)"
    left = open_words(best.after, f"with {quoted(best)}") if best.after else ""
    return (
        f"{left} {quoted(best)} costs least: "
        f"{best.way.prices.show(best.price)} in all{proven}. What each way loses stands beside it."
    ).lstrip()


def quoted(route: Route) -> str:
    """The name of a way, in quotes: it is what somebody typed."""
    return f"'{route.way.title}'"


def side_by_side(route: Route, found: Routes, system: System) -> dict[str, str]:
    """What is compared of a route, by label: what it costs, then what it loses."""
    prices, plan, after = route.way.prices, route.outcome.plan, route.after
    price = "no plan" if plan is None else "not all of it has a price"
    if route.price is not None and plan is not None and plan.total.price is not None:
        price = (
            f"{prices.show(route.price)} ({prices.show(route.way.spent)} beforehand, "
            f"{prices.show(plan.total.price)} for the plan)"
        )
    bought = "; ".join(
        [f"{name} {prices.show(cost)}" for name, cost in route.way.bought.items()]
        + [f"{name} {float(hours):g} h" for name, hours in route.way.worked.items()]
    )
    return {
        "price": price,
        "hours at the shop": "" if route.hours is None else f"{float(route.hours):.2f} h",
        "bought and paid beforehand": bought or "nothing",
        "new": "; ".join(route.new) or "nothing",
        **loss_rows(route, losses_of(route, found), system),
        "left undecided": "" if after is None else _open(after),
    }


def _open(after: BuildCheck) -> str:
    found = counts(after)
    stops = f", {found.open_stops} of them a matter of STOP" if found.open_stops else ""
    return counted(found.open, "question") + stops


def turns_told(found: Routes) -> list[str]:
    """All that would turn the answer, as far as it was found."""
    late = [] if found.sought else ["The time ran out before all of it was found."]
    return [*map(turn_words, found.turns), *late]


def turn_words(turn: Turn) -> str:
    """What would turn the answer."""
    price = turn.dearer.way.prices.show(turn.price)
    above, below = quoted(turn.dearer), quoted(turn.other)
    return f"{capital(turn.what)} at {price}: above that {below} costs less than {above}."


def routes_data(found: Routes, system: System) -> dict[str, Any]:
    """The comparison as data."""
    return {
        "title": found.title,
        "routes": [
            {
                "way": route.way.title,
                "proven": route.outcome.proven,
                "price": None if route.price is None else float(route.price),
                "currency": route.way.prices.currency,
                "hours": None if route.hours is None else float(route.hours),
                "worked": {name: float(hours) for name, hours in route.way.worked.items()},
                "bought": {name: float(cost) for name, cost in route.way.bought.items()},
                "new": route.new,
                "undecided": None if route.after is None else counts(route.after).open,
                "undecided_stops": None if route.after is None else counts(route.after).open_stops,
                "loses": loss_data(route, losses_of(route, found), system),
                "works": []
                if route.outcome.plan is None
                else titles(route.outcome.plan.applied.works, route.way.check.build.layout, system),
            }
            for route in found.routes
        ],
        "turns_all_sought": found.sought,
        "turns": [
            {
                "what": turn.what,
                "price": float(turn.price),
                "dearer_above": turn.dearer.way.title,
                "other": turn.other.way.title,
            }
            for turn in found.turns
        ],
    }
