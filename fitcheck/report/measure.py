"""What to measure next, as text and as data."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice
from typing import Any

from rich.console import Console

from fitcheck.check import Check, describe_fact
from fitcheck.check.measuring.deciding import Way
from fitcheck.check.measuring.next import Next, Proposal
from fitcheck.model import Position, group_name
from fitcheck.quantity import Interval, System, show
from fitcheck.report.phrases import capital, counted, fact_title, subjects
from fitcheck.report.writer import Writer

MOST_SHOWN = 12


def write_measurements(next_: Next, console: Console, system: System, *, everything: bool) -> None:
    """The proposals, most telling first; with `everything`, all of them and what stays open."""
    writer, check = Writer(console), next_.check
    proposals = list(islice(next_.proposals(), None if everything else MOST_SHOWN))
    if not proposals:
        writer.line("No measurement of a listed part can change an answer.", "bold")
    else:
        writer.line("What to measure next, the most telling for the work first:", "bold")
    for number, proposal in enumerate(proposals, 1):
        _write(writer, check, number, proposal, system)
    if everything:
        _write_rest(writer, next_)
    elif len(proposals) == MOST_SHOWN:
        writer.line("--all lists every measurement that can change an answer.", "dim")
    cautions = dict.fromkeys(
        str(caution)
        for proposal in proposals
        if proposal.procedure
        for caution in proposal.procedure.file.cautions
    )
    if cautions:
        writer.heading("Mind")
    for id_ in cautions:
        caution = check.knowledge.cautions[id_]
        writer.labelled(f"{capital(str(caution.file.title))}:", str(caution.file.text), 0)


def _write(writer: Writer, check: Check, number: int, proposal: Proposal, system: System) -> None:
    fine = finely_words(proposal, system)
    writer.wrapped(
        [
            f"{number}. ",
            (fact_title(check, proposal.attribute), "bold"),
            f"{where(check, proposal)}{f', {fine}' if fine else ''}",
        ],
        hang=3,
    )
    writer.line(work(proposal), "dim", indent=3)
    writer.labelled("known:", "; ".join(map(describe_fact, proposal.facts)))
    if proposal.alone:
        writer.labelled("can settle:", subjects(_findings(proposal.alone)))
    if proposal.together:
        text = f"{subjects(_findings(proposal.together))} (with {_others(check, proposal)})"
        writer.labelled("can settle with others:", text)


def _write_rest(writer: Writer, next_: Next) -> None:
    beyond, waiting = tuple(next_.beyond), next_.waiting
    if beyond:
        why = "practice disagrees on the limit, or the figures stand on it as nearly as can be told"
        writer.line(f"No measurement settles these, as {why}: {subjects(beyond, most=99)}.")
    if waiting:
        writer.line(f"{counted(len(waiting), 'question')} also wait for parts that are not listed.")


def _findings(ways: Iterable[Way]) -> tuple[Any, ...]:
    return tuple(way.finding for way in ways)


def _others(check: Check, proposal: Proposal) -> str:
    names = dict.fromkeys(name for way in proposal.together for name in way.others)
    titles = [fact_title(check, check.knowledge.attributes[name]) for name in names]
    more = f" and {counted(len(titles) - 4, 'other figure')}" if len(titles) > 4 else ""
    return ", ".join(titles[:4]) + more


def where(check: Check, proposal: Proposal) -> str:
    """The places, as in ` at all exhausts`; empty for the engine as a whole."""
    if proposal.positions == (Position(),):
        return ""
    return f" at {group_name(proposal.positions, check.build.layout)}"


def finely_words(proposal: Proposal, system: System) -> str:
    """How finely, as in `to 0.005 in`; empty for what has no width."""
    kind = proposal.attribute.kind
    if proposal.finely is None or kind is None:
        return ""
    if kind.name == "temperature":  # a difference has no zero of a scale in it
        return f"to {float(proposal.finely):.3g} K"
    return f"to {show(Interval.point(proposal.finely), kind, system)}"


def work(proposal: Proposal) -> str:
    """The tool and the minutes."""
    procedure = proposal.procedure
    if procedure is None:
        return ""
    places = len(proposal.positions)
    total = f" each, {proposal.minutes} min in all" if places > 1 else ""
    return f"{procedure.file.tool}; {procedure.minutes} min{total}"


def measurements_data(next_: Next, system: System) -> dict[str, Any]:
    """All proposals and what stays open, as plain data."""
    check = next_.check
    return {
        "build": check.build.title,
        "knowledge": check.knowledge.digest,
        "measurements": [_data(check, proposal, system) for proposal in next_.proposals()],
        "no_measurement_settles": sorted({f.rule.id for f in next_.beyond}),
        "waiting_for_parts": sorted({f.rule.id for f in next_.waiting}),
    }


def _data(check: Check, proposal: Proposal, system: System) -> dict[str, Any]:
    procedure = proposal.procedure
    return {
        "attribute": proposal.attribute.name,
        "title": fact_title(check, proposal.attribute),
        "where": [str(position) for position in proposal.positions],
        "known": [describe_fact(fact) for fact in proposal.facts],
        "finely": finely_words(proposal, system).removeprefix("to ") or None,
        "procedure": procedure.id if procedure else None,
        "minutes": proposal.minutes,
        "settles": [_way_data(way) for way in proposal.ways],
    }


def _way_data(way: Way) -> dict[str, Any]:
    return {
        "rule": way.finding.rule.id,
        "severity": way.finding.rule.severity,
        "positions": [str(position) for position in way.finding.positions],
        "with": list(way.others),
    }
