"""The price of routes: what each is made up of, and the price at which two of them change places.

These drawings show a comparison, not a check, so `DRAWINGS` does not name them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from fitcheck.plan.routes import Route, Routes, Turn
from fitcheck.report.drawings.svg import LINE, WIDTH, Drawing, Sheet, cannot
from fitcheck.report.phrases import capital

_LEFT, _RIGHT = 16.0, WIDTH - 16
_BAR = 24.0
_LEAST_FOR_TAG = 18.0
_LETTERS = "abcdefghijklmnopqrstuvwxyz"
_PLOT_TOP, _PLOT_HEIGHT = 36.0, 164.0
_WIDE = _RIGHT - _LEFT - 10
_BEYOND = Fraction(5, 4)
_ANCHORS = ("", "middle", "end")


@dataclass(frozen=True, slots=True)
class CostShare:
    """A part of what a route costs; filled where it is bought, hollow where it is work."""

    name: str
    price: Fraction
    bought: bool = True


def drawings_of(found: Routes) -> list[Drawing]:
    """All drawings of a comparison: what each way costs, then what would turn the answer."""
    solid = found.routes[0].way.title if found.routes else ""
    return [made_of(found), *(turning(turn, today(turn, found), solid) for turn in found.turns)]


def pieces(route: Route) -> Iterator[CostShare]:
    """What a route costs, piece by piece, as far as it has prices."""
    way, plan = route.way, route.outcome.plan
    yield from (CostShare(name, price) for name, price in way.bought.items())
    for name, hours in way.worked.items():
        told = f"{name} ({float(hours):g} h)"
        yield CostShare(told, hours * (way.prices.hour or 0), bought=False)
    if plan is not None and plan.total.price:
        parts = sum(
            (
                cost.price or Fraction(0)
                for work, cost in zip(plan.works, plan.costs, strict=True)
                if work.swap
            ),
            start=Fraction(0),
        )
        if parts:
            yield CostShare("parts that the plan buys", parts)
        if plan.total.price > parts:
            yield CostShare("work of the plan", plan.total.price - parts, bought=False)


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
    sheet.lines(_LEFT, y, "Filled: bought. Hollow: work.", WIDTH - 32, "quiet")
    return sheet.finished("route-prices", title, ". ".join(told) + ".", scale)


def _price_words(route: Route) -> str:
    prices = route.way.prices
    if route.price is not None:
        return f"{prices.show(route.price)} in all"
    spent = f"{prices.show(route.way.spent)} beforehand"
    rest = "no plan was found" if route.outcome.plan is None else "the work has no price"
    return f"{spent}; {rest}"


def _named(route: Route, made: list[CostShare]) -> list[str]:
    return [f"{one.name} {route.way.prices.show(one.price)}" for one in made]


def _bar(sheet: Sheet, route: Route, made: list[CostShare], scale: float, y: float) -> float:
    """A bar of pieces with letters, and the letters' key beneath; gives where to go on."""
    x = _LEFT
    for piece, letter in zip(made, _LETTERS, strict=False):
        width = float(piece.price) * scale
        look = "bar" if piece.bought else "box"
        sheet.rect(x, y, width, _BAR, look, f"{route.way.title}: {piece.name}")
        if width >= _LEAST_FOR_TAG:
            sheet.text(x + width / 2, y + _BAR / 2 + 4, letter, "", "middle")
        x += width
    if route.price is None:
        sheet.unknown(x, y, _RIGHT - x, _BAR, f"{route.way.title}: not known")
    y += _BAR + LINE
    for text, letter in zip(_named(route, made), _LETTERS, strict=False):
        y = sheet.lines(_LEFT, y, f"{letter}: {text}", WIDTH - 32)
    return y + 10


def turning(turn: Turn, now: Fraction, solid: str = "") -> Drawing:
    """Two routes' prices over the one price that turns the answer, today's `now` marked.

    The route named `solid` is drawn so in every drawing of a comparison.
    """
    name = "route-turn-" + turn.what
    most = _rounded_up(max(turn.price, now) * _BEYOND)
    routes = sorted((turn.dearer, turn.other), key=lambda route: route.way.title != solid)
    ends = [(_at(route, turn, Fraction(0)), _at(route, turn, most)) for route in routes]
    top = _rounded_up(max(max(pair) for pair in ends))
    across = _WIDE / float(most)
    up = _PLOT_HEIGHT / float(top)
    foot = _PLOT_TOP + _PLOT_HEIGHT
    sheet = Sheet(name)
    show = turn.dearer.way.prices.show
    sheet.text(_LEFT, 12, "price in all", "quiet")
    _ticks(sheet, [(show(top * i / 2), foot - _PLOT_HEIGHT * i / 2) for i in range(3)])
    for i, words in enumerate(("nothing", show(most / 2), show(most))):
        sheet.text(_LEFT + _WIDE * i / 2, foot + 16, words, "quiet", _ANCHORS[i])
        sheet.line(_LEFT + _WIDE * i / 2, foot, _LEFT + _WIDE * i / 2, foot + 4, "measure")
    for route, (first, last), look in zip(routes, ends, ("curve", "curve-dashed"), strict=True):
        points = [(_LEFT, foot - float(first) * up)]
        points.append((_LEFT + float(most) * across, foot - float(last) * up))
        sheet.path(points, look, route.way.title)
    x = _LEFT + float(turn.price) * across
    y = foot - float(_at(turn.dearer, turn, turn.price)) * up
    sheet.line(x, y, x, foot, "grid", "turn")
    sheet.circle(x, y, 4.5, "tag")
    today = _LEFT + float(now) * across
    sheet.line(today, _PLOT_TOP, today, foot, "axis", "today")
    y = sheet.lines(_LEFT, foot + 32, f"{turn.what}, from nothing to {show(most)}", WIDTH - 32)
    legend = (
        ("curve", routes[0].way.title),
        ("curve-dashed", routes[1].way.title),
        ("axis", f"{show(now)} today"),
    )
    for look, words in legend:
        sheet.line(_LEFT, y - 4, _LEFT + 26, y - 4, look)
        y = sheet.lines(_LEFT + 32, y, words, WIDTH - 64)
    sheet.circle(_LEFT + 13, y - 4, 4.5, "tag")
    sheet.lines(_LEFT + 32, y, f"they cost the same at {show(turn.price)}", WIDTH - 64)
    words = (
        f"{capital(turn.what)}: at {show(turn.price)} both cost the same; above that "
        f"{turn.other.way.title} costs less than {turn.dearer.way.title}. Today it is {show(now)}."
    )
    return sheet.finished(name, f"What would turn it: {turn.what}", words, across)


def _ticks(sheet: Sheet, levels: list[tuple[str, float]]) -> None:
    """Levels of price across the plot, dotted but for nought, each with its figure."""
    for words, y in levels:
        sheet.line(_LEFT, y, _LEFT + _WIDE, y, "grid" if y < levels[0][1] else "measure")
        sheet.text(_LEFT + 2, y - 3, words, "quiet")


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
