"""What to ask first, as text and as data."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from fitcheck.check import BuildCheck, describe_fact
from fitcheck.check.finding import RuleFinding
from fitcheck.check.measuring.asks import Ask, MissingFigures
from fitcheck.check.measuring.settling import SettlingReadings
from fitcheck.model import Position, group_name
from fitcheck.quantity import Interval, System, show
from fitcheck.report.phrases import capital, counted, subjects
from fitcheck.report.writer import Writer

if TYPE_CHECKING:
    from rich.console import Console

MOST_IN_FULL, MOST_LINES = 5, 15
_MOST_OTHERS = 4


def write_measurements(
    asks: MissingFigures, console: Console, system: System, *, everything: bool
) -> None:
    """The first figures in full and some more in a line; with `everything`, all in full."""
    writer, check = Writer(console), asks.check
    full = asks.ranked if everything else asks.ranked[:MOST_IN_FULL]
    lines = asks.ranked[len(full) : len(full) + MOST_LINES]
    if not full:
        writer.line("No figure of these parts can change an answer.", "bold")
    else:
        writer.line("What to measure or ask first, by what it would change:", "bold")
    for number, ask in enumerate(full, 1):
        _write(writer, check, number, ask, system)
    if lines:
        writer.line("Then:", "bold")
    for number, ask in enumerate(lines, len(full) + 1):
        writer.wrapped(
            [f"{number}. ", f"{ask.title}{ask_places(check, ask)}", (f" ({brief(ask)})", "dim")],
            hang=4,
        )
    more = len(asks.ranked) - len(full) - len(lines)
    if more:
        writer.line(f"and {counted(more, 'more figure')}: --all tells all of them in full.", "dim")
    if everything:
        _write_rest(writer, asks)
    _write_cautions(writer, check, [*full, *lines])


def _write(writer: Writer, check: BuildCheck, number: int, ask: Ask, system: System) -> None:
    fine = finely_words(ask, system)
    writer.wrapped(
        [
            f"{number}. ",
            (ask.title, "bold"),
            f"{ask_places(check, ask)}{f', {fine}' if fine else ''}",
        ],
        hang=3,
    )
    writer.line(work(ask), "dim", indent=3)
    writer.line(f"{capital(ask.why)}.", indent=3)
    writer.labelled("known:", "; ".join(map(describe_fact, ask.facts)))
    if ask.alone:
        writer.labelled("can settle:", subjects(_findings(ask.alone)))
    if ask.together:
        text = f"{subjects(_findings(ask.together))} (with {_others(ask)})"
        writer.labelled("can settle with others:", text)


def _write_rest(writer: Writer, asks: MissingFigures) -> None:
    beyond, waiting = tuple(asks.beyond), asks.waiting
    if beyond:
        why = "practice disagrees on the limit, or the figures stand on it as nearly as can be told"
        writer.line(f"No figure settles these, as {why}: {subjects(beyond, most=99)}.")
    if waiting:
        writer.line(f"{counted(len(waiting), 'question')} also wait for parts that are not listed.")


def _write_cautions(writer: Writer, check: BuildCheck, shown: Iterable[Ask]) -> None:
    cautions = dict.fromkeys(
        str(caution) for ask in shown if ask.procedure for caution in ask.procedure.file.cautions
    )
    if cautions:
        writer.heading("Mind")
    for id_ in cautions:
        caution = check.knowledge.cautions[id_]
        writer.labelled(f"{capital(str(caution.file.title))}:", str(caution.file.text), 0)


def _findings(ways: Iterable[SettlingReadings]) -> tuple[RuleFinding, ...]:
    return tuple(way.finding for way in ways)


def _others(ask: Ask) -> str:
    found = {other.name: ask.full(other) for way in ask.together for other in ask.others(way)}
    titles = list(found.values())
    more = len(titles) - _MOST_OTHERS
    return ", ".join(titles[:_MOST_OTHERS]) + (
        f" and {counted(more, 'other figure')}" if more > 0 else ""
    )


def ask_places(check: BuildCheck, ask: Ask) -> str:
    """The places, as in ` at all exhausts`; empty for the engine as a whole."""
    if ask.positions == (Position(),):
        return ""
    return f" at {group_name(ask.positions, check.build.layout)}"


def finely_words(ask: Ask, system: System) -> str:
    """How finely, as in `to 0.005 in`; empty for what has no width."""
    kind = ask.attribute.kind
    if ask.finely is None or kind is None:
        return ""
    if kind.name == "temperature":  # a difference has no zero of a scale in it
        return f"to {float(ask.finely):.3g} K"
    return f"to {show(Interval.point(ask.finely), kind, system)}"


def brief(ask: Ask) -> str:
    """Whom to ask, or that it is measured, and the minutes."""
    who = f"ask the {ask.asked_of}, " if ask.asked_of else _by_name(ask)
    return f"{who}{ask.minutes} min"


def _by_name(ask: Ask) -> str:
    """What is the name of a size can be read off: it is stamped or sold as that."""
    return "as stamped or sold, else " if ask.attribute.nominal else ""


def work(ask: Ask) -> str:
    """Whom to ask or the tool, and the minutes."""
    procedure = ask.procedure
    if procedure is None:
        return f"{ask.tool}; {ask.minutes} min" if ask.tool else ""
    who = f"ask the {ask.asked_of}: " if ask.asked_of else _by_name(ask)
    each = "" if ask.minutes == procedure.minutes else f" each, {ask.minutes} min in all"
    return f"{who}{ask.tool}; {procedure.minutes} min{each}"


def measurements_data(asks: MissingFigures, system: System) -> dict[str, Any]:
    """All figures worth asking for and what stays open, as plain data."""
    return {
        "build": asks.check.build.title,
        "knowledge": asks.check.knowledge.digest,
        "measurements": [_data(ask, system) for ask in asks.ranked],
        "no_measurement_settles": sorted({f.rule.id for f in asks.beyond}),
        "waiting_for_parts": sorted({f.rule.id for f in asks.waiting}),
    }


def _data(ask: Ask, system: System) -> dict[str, Any]:
    return {
        "attribute": ask.attribute.name,
        "title": ask.title,
        "where": [str(position) for position in ask.positions],
        "known": [describe_fact(fact) for fact in ask.facts],
        "finely": finely_words(ask, system).removeprefix("to ") or None,
        "procedure": ask.procedure.id if ask.procedure else None,
        "asked_of": ask.asked_of or None,
        "minutes": ask.minutes,
        "why": ask.reason.name.lower(),
        "settles": [_way_data(ask, way) for way in ask.ways],
    }


def _way_data(ask: Ask, way: SettlingReadings) -> dict[str, Any]:
    return {
        "rule": way.finding.rule.id,
        "severity": way.finding.rule.severity,
        "positions": [str(position) for position in way.finding.positions],
        "with": [other.name for other in ask.others(way)],
    }
