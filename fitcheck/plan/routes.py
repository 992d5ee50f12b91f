"""Routes to one goal: rework, bare castings, other heads, each planned and compared.

    routes: How to get a head (invented)
    ways:
      - way: rework the complete head
        build: build.yaml                 # beside this file
        prices: prices.yaml
        complete_head: "yes"              # its price is what may turn the answer
        bought: {complete head: 640 EUR, work not planned here: 2.5 h}
      - …

Each way's build is planned to the same goal at its shop's prices. What is bought and what is
planned add up; what would turn the answer is the price of the complete head, or of the shop's
hour, at which two ways cost the same.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path
from time import monotonic

from fitcheck.check import BuildCheck, check_build, read_build
from fitcheck.knowledge import Knowledge
from fitcheck.model import shape, shaped
from fitcheck.plan.planner import PlanOutcome, make_plan
from fitcheck.plan.prices import Prices, read_price, read_prices
from fitcheck.plan.question import Goal
from fitcheck.plan.search import Told, time_left
from fitcheck.source import BadInput, Problem, Problems, Text, read_yaml

_HOURS = re.compile(r"([0-9]{1,4}(?:\.[0-9]{1,2})?) h")
# How often the hour at which two ways cost the same is sought anew with other plans.
_TURNS = 12


@shape
class WayFile:
    """One way of a routes file."""

    way: Text
    build: Text
    prices: Text
    complete_head: Text | None = None
    bought: dict[Text, Text] = field(default_factory=dict)


@shape
class RoutesFile:
    """A routes file."""

    routes: Text
    ways: list[WayFile]


@dataclass(frozen=True, slots=True)
class RouteWay:
    """One way: its build as it stands, what is bought for it, its shop's prices."""

    title: str
    check: BuildCheck
    prices: Prices
    bought: dict[str, Fraction]
    worked: dict[str, Fraction]  # hours that are paid beside the plan
    complete_head: str  # what among `bought` the complete head is; empty where there is none

    @property
    def hours(self) -> Fraction:
        """The hours that are paid beside the plan."""
        return sum(self.worked.values(), start=Fraction(0))

    @property
    def spent(self) -> Fraction:
        """What is paid beside the plan."""
        bought = sum(self.bought.values(), start=Fraction(0))
        return bought + self.hours * (self.prices.hour or 0)


@dataclass(frozen=True, slots=True)
class Route:
    """A way, planned."""

    way: RouteWay
    outcome: PlanOutcome

    @property
    def price(self) -> Fraction | None:
        """What the way costs in all; None where there is no plan or no price for all of it."""
        plan = self.outcome.plan
        if plan is None or plan.total.price is None:
            return None
        return self.way.spent + plan.total.price

    @property
    def hours(self) -> Fraction | None:
        """The shop's hours."""
        plan = self.outcome.plan
        return None if plan is None else plan.total.hours + self.way.hours

    @property
    def hours_paid(self) -> Fraction:
        """The hours among them that are paid by the hour, not at a price of their own."""
        plan, prices = self.outcome.plan, self.way.prices
        assert plan is not None
        return sum(
            (
                cost.hours
                for work, cost in zip(plan.works, plan.costs, strict=True)
                if work.operation is not None and work.operation.id not in prices.operations
            ),
            start=self.way.hours,
        )

    @property
    def new(self) -> list[str]:
        """What is new: what is bought, and what the plan puts in."""
        plan = self.outcome.plan
        swaps = [] if plan is None else [w.swap.name or w.swap.slot for w in plan.works if w.swap]
        return [*self.way.bought, *swaps]

    @property
    def after(self) -> BuildCheck | None:
        """The build after the plan, checked."""
        return None if self.outcome.plan is None else self.outcome.plan.after


@dataclass(frozen=True, slots=True)
class Turn:
    """A price at which two routes cost the same: `what` is the head's or the hour's.

    Above it `dearer` is the dearer of the two.
    """

    what: str
    price: Fraction
    dearer: Route
    other: Route


@dataclass(frozen=True, slots=True)
class Routes:
    """All ways planned, the cheapest first; those without a price last.

    `sought` tells that all prices at which two of them cost the same were looked for to the end.
    """

    title: str
    routes: tuple[Route, ...]
    turns: tuple[Turn, ...]
    sought: bool = True


def read_routes(path: Path, knowledge: Knowledge) -> tuple[str, list[RouteWay]]:
    """The ways in a routes file, with the builds and prices beside it; raises BadInput."""
    problems = Problems()
    node = read_yaml(path, problems)
    file = shaped(RoutesFile, node, problems) if node is not None else None
    if file is None:
        raise BadInput(problems)
    ways = []
    currency = ""
    for one in file.ways:
        way = _way(one, path.parent, knowledge, problems)
        if way is None:
            continue
        if currency and way.prices.currency not in ("", currency):
            problems.append(
                Problem(
                    f"the prices of '{way.title}' are in {way.prices.currency}, those before it "
                    f"in {currency}",
                    one.prices.place,
                    "keep one currency in a comparison",
                )
            )
        currency = currency or way.prices.currency
        ways.append(way)
    if len(file.ways) < 2:
        problems.append(Problem("one way alone cannot be compared", file.routes.place, "add one"))
    if problems:
        raise BadInput(problems)
    return str(file.routes), ways


def _way(
    file: WayFile, folder: Path, knowledge: Knowledge, problems: list[Problem]
) -> RouteWay | None:
    try:
        build = read_build(folder / file.build, knowledge)
        prices = read_prices(folder / file.prices, knowledge, build.layout)
    except BadInput as error:
        problems += error.problems
        return None
    bought: dict[str, Fraction] = {}
    worked: dict[str, Fraction] = {}
    for name, text in file.bought.items():
        hours = _HOURS.fullmatch(text.strip())
        if hours:
            worked[str(name)] = Fraction(hours[1])
            if prices.hour is None:
                problems.append(
                    Problem(
                        f"'{text}' is paid by the hour, and the price file tells no hour",
                        text.place,
                        "give a price, or the hour in the price file",
                    )
                )
            continue
        found = read_price(text, problems)
        if found is None:
            continue
        if prices.currency and found[1] != prices.currency:
            problems.append(
                Problem(
                    f"'{text}' is in another currency than the price file's {prices.currency}",
                    text.place,
                    "keep one currency in a comparison",
                )
            )
        bought[str(name)] = found[0]
    complete = ""
    if file.complete_head is not None:
        complete = str(file.complete_head)
        if complete not in bought:
            problems.append(
                Problem(
                    f"'{complete}' is not among what is bought",
                    file.complete_head.place,
                    "give it there with its price",
                )
            )
    return RouteWay(str(file.way), check_build(build, knowledge), prices, bought, worked, complete)


def compare_routes(
    title: str,
    ways: list[RouteWay],
    goal: Goal = Goal.MENDED,
    seconds: float | None = None,
    told: Told | None = None,
) -> Routes:
    """Plan every way to the same goal and find what would turn the answer.

    Half of the time is for the plans, half for what would turn them.
    """
    until = None if seconds is None else monotonic() + seconds
    share = None if seconds is None else seconds / len(ways) / 2
    routes = [
        Route(way, make_plan(way.check, way.prices, "price", goal, share, told)) for way in ways
    ]
    routes.sort(key=lambda route: (route.price is None, route.price or 0))
    turns = _turns(routes, goal, until)
    found = [turn for turn in turns if turn is not None and turn.price > 0]
    return Routes(title, tuple(routes), tuple(found), None not in turns)


def _turns(routes: list[Route], goal: Goal, until: float | None) -> list[Turn | None]:
    """Where the cheapest route and each other would cost the same; None where time ran out."""
    priced = [route for route in routes if route.price is not None]
    found: list[Turn | None] = []
    for other in priced[1:]:
        best = priced[0]
        for one, rest in ((best, other), (other, best)):
            if one.way.complete_head and not rest.way.complete_head:
                found.append(_turn_of_head(one, rest))
        found += _turn_of_hour(best, other, goal, until)
    return found


def _turn_of_head(route: Route, other: Route) -> Turn:
    """The plans do not depend on what the head cost, so the price is found at once."""
    assert route.price is not None and other.price is not None
    now = route.way.bought[route.way.complete_head]
    return Turn(route.way.complete_head, now + other.price - route.price, route, other)


def _turn_of_hour(one: Route, other: Route, goal: Goal, until: float | None) -> list[Turn | None]:
    """At another hour other plans may be the cheapest: the price is sought until they stay."""
    hour = one.way.prices.hour
    if hour is None or other.way.prices.hour != hour:
        return []
    pair = (one, other)
    for _ in range(_TURNS):
        lines = [_line(route, hour) for route in pair]
        steeper = lines[0][1] - lines[1][1]
        if not steeper:
            return []
        crossing = (lines[1][0] - lines[0][0]) / steeper
        if crossing == hour:
            dearer, rest = (pair[0], pair[1]) if steeper > 0 else (pair[1], pair[0])
            return [Turn("hour of the shop", crossing, dearer, rest)]
        if crossing <= 0:
            return []
        if until is not None and monotonic() > until:
            return [None]
        hour = crossing
        pair = (
            at_hour(one, hour, goal, time_left(until)),
            at_hour(other, hour, goal, time_left(until)),
        )
        if any(not route.outcome.proven for route in pair):
            return [None]
        if any(route.price is None for route in pair):
            return []
    return [None]


def _line(route: Route, hour: Fraction) -> tuple[Fraction, Fraction]:
    """What a route costs without its hours, and its hours."""
    assert route.price is not None
    return route.price - hour * route.hours_paid, route.hours_paid


def at_hour(
    route: Route, hour: Fraction, goal: Goal = Goal.MENDED, seconds: float | None = None
) -> Route:
    """The route planned anew at another price of the hour."""
    prices = replace(route.way.prices, hour=hour)
    way = replace(route.way, prices=prices)
    return Route(way, make_plan(way.check, prices, "price", goal, seconds))


def at_head(route: Route, price: Fraction) -> Route:
    """The route with the complete head at another price; its plan stays."""
    bought = {**route.way.bought, route.way.complete_head: price}
    return Route(replace(route.way, bought=bought), route.outcome)
