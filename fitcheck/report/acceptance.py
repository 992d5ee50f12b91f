"""At which size a figure is accepted when it is measured after the work, in words and as data."""

from __future__ import annotations

from typing import Any

from fitcheck.model import Position
from fitcheck.plan.acceptance import Acceptance, Range, acceptance
from fitcheck.plan.made import Plan
from fitcheck.plan.work_order import LastMeasurement
from fitcheck.quantity import Interval, System, show_safe
from fitcheck.report.plan_answer import at


def accepted_words(plan: Plan, reading: LastMeasurement, system: System) -> str:
    """As in `accept 0.374 in to 0.376 in`; empty where nothing is known to bound it."""
    by_words: dict[str, list[Position]] = {}
    for one in acceptance(plan, reading, system):
        by_words.setdefault(_told(one, system), []).extend(one.positions)
    for words, places in by_words.items():
        if len(places) == len(reading.positions):
            return words
    layout = plan.before.build.layout
    return "; ".join(
        f"{at(tuple(sorted(places, key=Position.order)), layout)}: {words}"
        for words, places in by_words.items()
    )


def accepted_data(plan: Plan, reading: LastMeasurement, system: System) -> list[dict[str, Any]]:
    """The same as data."""
    return [
        {
            "where": at(one.positions, plan.before.build.layout),
            "sure": [_range(one, run, system) for run in one.sure],
            "possible": [_range(one, run, system) for run in one.possible],
        }
        for one in acceptance(plan, reading, system)
    ]


def _told(one: Acceptance, system: System) -> str:
    sure, possible = (
        " or ".join(_range(one, run, system) for run in runs) for runs in (one.sure, one.possible)
    )
    if one.sure == one.possible or one.possible == [(0, len(one.values) - 1)]:
        return f"accept {sure}"
    return f"{f'sure at {sure}; ' if sure else ''}clashes unless {possible}"


def _range(one: Acceptance, run: Range, system: System) -> str:
    """A run of values, each end within what is accepted; what goes on to the end has one bound."""
    attribute, (first, last) = one.attribute, run
    if attribute.kind is None:
        return " or ".join(attribute.option_words[first : last + 1])
    step = one.values[1] - one.values[0]
    low, high = (
        show_safe(Interval.point(one.values[end]), attribute.kind, system, up=up, step=step)
        for end, up in ((first, True), (last, False))
    )
    if last == len(one.values) - 1:
        return f"{low} or more"
    if first == 0:
        return f"{high} or less"
    return low if low == high else f"{low} to {high}"
