"""What to measure before a plan is begun: in words, and as data."""

from __future__ import annotations

from typing import Any

from fitcheck.plan.decide import DecideFirst, DecidingFigure
from fitcheck.plan.made import Plan
from fitcheck.plan.prices import Prices
from fitcheck.quantity import Interval, System, show
from fitcheck.report.phrases import counted
from fitcheck.report.plan import titles
from fitcheck.report.plan_answer import at, costs_words


def first_words(first: DecideFirst | None, prices: Prices, system: System) -> list[str]:
    """What to measure before the plan, and what then."""
    if first is None:
        return []
    layout = first.less.before.build.layout
    told = []
    for figure in first.figures:
        where = at(figure.positions, layout)
        title = first.less.before.knowledge.title_of(figure.attribute)
        told.append(f"{title}{f', {where}' if where else ''}, {_within(figure, system)}")
    paid = "" if prices.hour is None else f", {prices.show(prices.hour * first.minutes / 60)}"
    enough = _steps_words(first.less, prices, system) if first.less.works else "no work is needed"
    if first.reading is not None and first.less.works:
        enough = "the plan below is enough"
    if first.reading is None:
        otherwise = "else the plan below"
    else:
        kind = first.figures[0].attribute.kind
        assert kind is not None
        read = show(Interval.point(first.reading), kind, system)
        more = (
            "no work mends what clashes then"
            if first.more is None
            else _steps_words(first.more, prices, system)
        )
        otherwise = f"else, at {read} for one: {more}"
    return [
        f"MEASURE FIRST ({first.minutes} min{paid}). With {' and '.join(told)}: {enough}; "
        f"{otherwise}."
    ]


def _within(figure: DecidingFigure, system: System) -> str:
    """The readings of a figure that are enough, in words."""
    kind, least, most = figure.attribute.kind, figure.least, figure.most
    assert kind is not None
    if least is not None and most is not None:
        return f"read {show(Interval(least, most), kind, system)}"
    if least is not None:
        return f"read {show(Interval.point(least), kind, system)} or more"
    if most is not None:
        return f"read {show(Interval.point(most), kind, system)} or less"
    return "read as usual"


def _steps_words(plan: Plan, prices: Prices, system: System) -> str:
    """What a plan costs and what is done, in a line."""
    works = plan.applied.works
    named = "; ".join(titles(works, plan.before.build.layout, system))
    total = plan.total
    cost = f"{float(total.hours):.2f} h" if total.price is None else costs_words(total, prices)
    return f"{counted(len(works), 'step')} for {cost} ({named})"


def first_data(first: DecideFirst | None, system: System) -> dict[str, Any] | None:
    """The same as data."""
    if first is None:
        return None
    layout = first.less.before.build.layout

    def work(plan: Plan | None) -> dict[str, Any] | None:
        if plan is None:
            return None
        cost = plan.total.price
        return {
            "price": None if cost is None else float(cost),
            "hours": float(plan.total.hours),
            "works": titles(plan.applied.works, layout, system),
        }

    return {
        "figures": [
            {
                "figure": one.attribute.name,
                "where": at(one.positions, layout),
                "minutes": one.minutes,
                "within": _within(one, system),
            }
            for one in first.figures
        ],
        "minutes": first.minutes,
        "enough": work(first.less),
        "else": work(first.more),
    }
