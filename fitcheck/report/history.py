"""The measurements of a build's parts over time: who, when, with what, and what holds."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from rich.console import Console

from fitcheck.check.records.history import Measurement
from fitcheck.check.telling import value_text
from fitcheck.check.values import selector_words
from fitcheck.knowledge import Knowledge
from fitcheck.model import EngineBuild, Layout, Position, group_name
from fitcheck.report.phrases import capital, counted
from fitcheck.report.writer import Writer


def write_history(
    found: list[Measurement], build: EngineBuild, knowledge: Knowledge, console: Console
) -> None:
    """Write the measurements to a console, by part and figure."""
    writer = Writer(console)
    writer.line(f"Measurements: {build.title}", "bold")
    over = sum(not one.holds for one in found)
    writer.line(f"{counted(len(found), 'measurement')}, {over} of them superseded altogether.")
    for slot, of_slot in groupby(found, lambda one: one.statement.attribute.slot):
        name = next((part.name for part in build.parts[slot] if part.name), "")
        writer.heading(knowledge.classes[slot].title)
        writer.line(name, "dim")
        for _, of_figure in groupby(of_slot, lambda one: one.statement.attribute.name):
            measurements = list(of_figure)
            writer.line(f"{capital(measurements[0].statement.attribute.title)}:", "bold")
            for one in measurements:
                writer.line(f"- {_words(one, build.layout)}", indent=2)


def _words(one: Measurement, layout: Layout) -> str:
    statement = one.statement
    where = selector_words(statement.selector)
    place = "" if where == "all" else f" at {where}"
    origin = str(statement.origin) or "by nobody named"
    when = "" if statement.origin.when else ", undated"
    over = "; ".join(
        f"superseded{_at(at, one, layout)} by {value_text(other)} "
        f"{str(other.origin) or 'of nobody named'}"
        for other, at in one.superseded
    )
    holds = "" if over and not one.holds else "holds" if not over else "holds elsewhere"
    return f"{value_text(statement)}{place}, {origin}{when}: " + "; ".join(
        piece for piece in (over, holds) if piece
    )


def _at(positions: tuple[Position, ...], one: Measurement, layout: Layout) -> str:
    if not one.holds and len(one.superseded) == 1:
        return ""
    return f" at {group_name(positions, layout)}"


def history_data(found: list[Measurement], layout: Layout) -> list[dict[str, Any]]:
    """The measurements as plain data."""
    return [
        {
            "attribute": one.statement.attribute.name,
            "where": selector_words(one.statement.selector),
            "value": value_text(one.statement),
            "by": one.statement.origin.by or None,
            "when": one.statement.origin.when.isoformat() if one.statement.origin.when else None,
            "with": one.statement.origin.with_ or None,
            "place": str(one.statement.place),
            "holds": group_name(one.holds, layout) if one.holds else None,
            "superseded": [
                {
                    "by": str(other.place),
                    "value": value_text(other),
                    "where": group_name(at, layout),
                }
                for other, at in one.superseded
            ],
        }
        for one in found
    ]
