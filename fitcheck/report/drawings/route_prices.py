"""The price of routes: what each is made up of, and the price at which two of them change places.

These drawings show a comparison, not a check, so `DRAWINGS` does not name them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import cycle

from fitcheck.plan.routes import Route, Routes, Turn
from fitcheck.report.drawings.svg import LINE, WIDTH, Drawing, Sheet, cannot
from fitcheck.report.phrases import capital

_LEFT, _RIGHT = 16.0, WIDTH - 16
_BAR = 24.0
_LEAST_FOR_TAG = 18.0
_LETTERS = "abcdefghijklmnopqrstuvwxyz"
_PLOT_TOP, _PLOT_HEIGHT = 20.0, 180.0
_BEYOND = Fraction(5, 4)


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of what a route costs."""

    name: str
    price: Fraction


def drawings_of(found: Routes) -> list[Drawing]:
    """All drawings of a comparison: what each way costs, then what would turn the answer."""
    return [made_of(found), *(turning(turn, today(turn, found)) for turn in found.turns)]


def pieces(route: Route) -> Iterator[Piece]:
    """What a route costs, piece by piece, as far as it has prices."""
    way, plan = route.way, route.outcome.plan
    yield from (Piece(name, price) for name, price in way.bought.items())
    for name, hours in way.worked.items():
        yield Piece(f"{name} ({float(hours):g} h)", hours * (way.prices.hour or 0))
    if plan is not None and plan.total.price:
        yield Piece("the plan", plan.total.price)


def made_of(found: Routes) -> Drawing:
    """What each route's price is made up of, all to one scale."""
    title = "What each way costs"
    routes = [(route, list(pieces(route))) for route in found.routes]
    most = max((sum(one.price for one in made) for _, made in routes), default=Fraction(0))
    if not most:
        return cannot("route-prices", title, ["any price"])
    scale = (_RIGHT - _LEFT - 30) / float(most)
    sheet, told, y = Sheet("route-prices"), [], 18.0
    for route, made in routes:
        words = _price_words(route)
        y = sheet.lines(_LEFT, y, capital(route.way.title), WIDTH - 32, "strong")
        y = sheet.lines(_LEFT, y, words, WIDTH - 32)
        y = _bar(sheet, route, made, scale, y - 6)
        told.append(f"{route.way.title}, {words}: " + ", ".join(_named(route, made)))
    return sheet.finished("route-prices", title, ". ".join(told) + ".", scale)


def _price_words(route: Route) -> str:
    prices = route.way.prices
    if route.price is not None:
        return f"{prices.show(route.price)} in all"
    spent = f"{prices.show(route.way.spent)} beforehand"
    rest = "no plan was found" if route.outcome.plan is None else "the work has no price"
    return f"{spent}; {rest}"


def _named(route: Route, made: list[Piece]) -> list[str]:
    return [f"{one.name} {route.way.prices.show(one.price)}" for one in made]


def _bar(sheet: Sheet, route: Route, made: list[Piece], scale: float, y: float) -> float:
    """A bar of pieces with letters, and the letters' key beneath; gives where to go on."""
    x = _LEFT
    for piece, letter, look in zip(made, _LETTERS, cycle(("bar", "box")), strict=False):
        width = float(piece.price) * scale
        sheet.rect(x, y, width, _BAR, look, f"{route.way.title}: {piece.name}")
        if width >= _LEAST_FOR_TAG:
            sheet.text(x + width / 2, y + _BAR / 2 + 4, letter, "small", "middle")
        x += width
    if route.price is None:
        sheet.unknown(x, y, _RIGHT - x, _BAR, f"{route.way.title}: not known")
    y += _BAR + LINE
    for text, letter in zip(_named(route, made), _LETTERS, strict=False):
        y = sheet.lines(_LEFT, y, f"{letter}: {text}", WIDTH - 32, "small")
    return y + 10


def turning(turn: Turn, now: Fraction) -> Drawing:
    """Two routes' prices over the one price that turns the answer, today's `now` marked."""
    name = "route-turn-" + turn.what
    most = _rounded_up(max(turn.price, now) * _BEYOND)
    routes = (turn.dearer, turn.other)
    ends = [(_at(route, turn, Fraction(0)), _at(route, turn, most)) for route in routes]
    top = _rounded_up(max(max(pair) for pair in ends))
    across = (_RIGHT - _LEFT - 10) / float(most)
    up = _PLOT_HEIGHT / float(top)
    foot = _PLOT_TOP + _PLOT_HEIGHT
    sheet = Sheet(name)
    show = turn.dearer.way.prices.show
    sheet.text(_LEFT, 12, f"price in all, to {show(top)}", "small quiet")
    sheet.line(_LEFT, _PLOT_TOP, _LEFT, foot, "thin")
    sheet.line(_LEFT, foot, _RIGHT, foot, "thin")
    for route, (first, last), look in zip(routes, ends, ("curve", "curve-dashed"), strict=True):
        points = [(_LEFT, foot - float(first) * up)]
        points.append((_LEFT + float(most) * across, foot - float(last) * up))
        sheet.path(points, look, route.way.title)
    x = _LEFT + float(turn.price) * across
    y = foot - float(_at(turn.dearer, turn, turn.price)) * up
    sheet.line(x, y, x, foot, "faint", "turn")
    sheet.circle(x, y, 4.5, "tag")
    today = _LEFT + float(now) * across
    sheet.line(today, _PLOT_TOP, today, foot, "axis", "today")
    y = sheet.lines(_LEFT, foot + 16, f"{turn.what}: from nothing to {show(most)}", WIDTH - 32)
    y = sheet.lines(_LEFT, y, f"Solid: {turn.dearer.way.title}.", WIDTH - 32)
    y = sheet.lines(_LEFT, y, f"Dashed: {turn.other.way.title}.", WIDTH - 32)
    key = f"Ring: they cost the same at {show(turn.price)}. Dash-dotted: {show(now)} today."
    sheet.lines(_LEFT, y, key, WIDTH - 32)
    words = (
        f"{capital(turn.what)}: at {show(turn.price)} both cost the same; above that "
        f"{turn.other.way.title} costs less than {turn.dearer.way.title}. Today it is {show(now)}."
    )
    return sheet.finished(name, f"What would turn it: {turn.what}", words, across)


def _rounded_up(price: Fraction) -> Fraction:
    """A round figure that is no less: whole halves of its highest digit."""
    step = Fraction(10) ** (len(str(int(price))) - 1) / 2
    return -(-price // step) * step


def today(turn: Turn, found: Routes) -> Fraction:
    """What the price that turns the answer is today."""
    for route in found.routes:
        way = route.way
        if way.title == turn.dearer.way.title:
            head = turn.what == way.complete_head
            return way.bought[turn.what] if head else way.prices.hour or Fraction(0)
    raise ValueError(f"{turn.dearer.way.title} is none of the routes compared")


def _at(route: Route, turn: Turn, price: Fraction) -> Fraction:
    """What a route costs in all when what turns the answer has another price."""
    assert route.price is not None
    way = route.way
    if turn.what == turn.dearer.way.complete_head:
        moves = turn.what == way.complete_head
        return route.price + (price - way.bought[turn.what] if moves else 0)
    return route.price + (price - (way.prices.hour or 0)) * route.hours_paid
