"""An order note: what a seller is asked to confirm of a part, as text and as data."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from functools import partial
from typing import Any

from rich.console import Console

from fitcheck.check import Finding
from fitcheck.check.telling import options_told
from fitcheck.knowledge import Knowledge
from fitcheck.language import Is, Node, Variable, walk, words
from fitcheck.model import Layout, Position
from fitcheck.plan.howfar import Stretch
from fitcheck.plan.order import Envelope, Order
from fitcheck.quantity import System
from fitcheck.report.phrases import capital
from fitcheck.report.reach import merged, named, places, reach_data, shown
from fitcheck.report.writer import Writer

BLANK = "________"


def write_order(order: Order, knowledge: Knowledge, console: Console, system: System) -> None:
    """The note: each figure with what is wanted, a blank for the answer, and why."""
    writer, layout = Writer(console), order.build.layout
    title = knowledge.classes[order.slot].title
    writer.line(f"Wanted: {title}, for {order.build.title}", "bold")
    if order.possible and not order.certain:
        writer.line(
            "What surely fits can't be told yet, as figures of the other parts are missing or "
            "wide: a part that keeps to this note may still clash."
        )
    if not order.envelopes:
        writer.line("The parts listed rule nothing out by a single figure.")
    else:
        writer.line(
            "Please state each figure of the part you offer, as measured or with its tolerance."
        )
    for envelope in order.envelopes:
        _write(writer, envelope, knowledge, layout, system)
    if order.joint:
        writer.heading("These hold between several figures of the part")
        for finding, positions, text in _conditions(order, system):
            at = places(positions, layout)
            subject = f"{finding.rule.file.subject}{f' ({at})' if at else ''}"
            writer.line(f"- {subject}: {text}  [{finding.rule.id}]", indent=2)
    writer.console.print()
    writer.line("The maker's instructions rule over every figure here.", "dim")


def wanted_words(order: Order, system: System) -> list[str]:
    """Each figure that is asked for, in a line."""
    found = []
    for envelope in order.envelopes:
        at = places(envelope.far.positions, order.build.layout)
        name = f"{capital(envelope.far.attribute.title)}{f' ({at})' if at else ''}"
        wanted = _listed(envelope, envelope.far.possible, system)
        found.append(f"{name}: {wanted or 'NOTHING FITS'}")
    return found


def _write(
    writer: Writer, envelope: Envelope, knowledge: Knowledge, layout: Layout, system: System
) -> None:
    far = envelope.far
    at = places(far.positions, layout)
    name = f"{capital(far.attribute.title)}{f' ({at})' if at else ''}"
    if not far.possible:
        titles = [knowledge.classes[slot].title for slot in envelope.contradicting]
        writer.line(f"- {name}: NOTHING FITS", "bold")
        text = (
            f"These parts contradict each other: {', '.join(titles)}."
            if titles
            else "No part would do, whatever its neighbours."
        )
        writer.line(text, indent=2)
        for binder in merged(far.contradicting):
            writer.line(f"by: {named(binder, layout)}", "dim", indent=2)
        return
    wanted = _listed(envelope, far.possible, system)
    writer.line(f"- {name}: {wanted}   offered: {BLANK}", "bold")
    if envelope.narrower:
        writer.line(f"surely fits: {_listed(envelope, far.certain, system)}", indent=2)
    for word, binders in _ends(far.possible):
        text = "; ".join(named(binder, layout) for binder in merged(binders))
        if text:
            writer.labelled(f"{word}:", text, 2)


def _listed(envelope: Envelope, stretches: list[Stretch], system: System) -> str:
    return " or ".join(shown(envelope.far, one, system) for one in stretches)


def _ends(stretches: list[Stretch]) -> list[tuple[str, list[Any]]]:
    return [
        (word, [binder for one in stretches for binder in getattr(one, word)])
        for word in ("below", "above")
    ]


def _conditions(
    order: Order, system: System
) -> Iterator[tuple[Finding, tuple[Position, ...], str]]:
    """What is asked of several figures of the part, in words, where it is the same."""
    told: dict[tuple[str, str], list[Finding]] = defaultdict(list)
    for finding in order.joint:
        text = words(finding.rule.requires, partial(_name, finding, order.slot, system))
        told[finding.rule.id, text].append(finding)
    for (_, text), findings in told.items():
        positions = [position for finding in findings for position in finding.positions]
        yield findings[0], tuple(sorted(positions, key=Position.order)), text


def _name(finding: Finding, slot: str, system: System, node: Node) -> str:
    """The words for a figure, with what is known of it where the part has no say in it."""
    if isinstance(node, Is):
        words_ = finding.facts[getattr(node.choice, "name", "")].attribute.option_words
        return " or ".join(word for i, word in enumerate(words_) if node.mask >> i & 1)
    read = {one.name for one in walk(node) if isinstance(one, Variable)}
    title = finding.title(node)
    if isinstance(node, Variable) and finding.facts[node.name].attribute.slot == slot:
        return finding.facts[node.name].attribute.title
    if any(finding.facts[name].attribute.slot == slot for name in read):
        return title
    if getattr(node, "name", "") in finding.rule.limits:
        return finding.show(node, system)
    if not isinstance(node.type, tuple):
        return f"{title} ({options_told(finding.facts[getattr(node, 'name', '')])})"
    if not any(finding.facts[name].given for name in read):
        return f"{title} (not told)"
    return f"{title} ({finding.show(node, system)})"


def order_data(order: Order, knowledge: Knowledge, system: System) -> dict[str, Any]:
    """The note as plain data."""
    return {
        "slot": order.slot,
        "build": order.build.title,
        "knowledge": knowledge.digest,
        "figures": [
            {
                **reach_data(envelope.far, system),
                "contradicting_parts": list(envelope.contradicting),
            }
            for envelope in order.envelopes
        ],
        "joint": [
            {
                "rule": finding.rule.id,
                "subject": str(finding.rule.file.subject),
                "places": places(positions, order.build.layout),
                "condition": text,
            }
            for finding, positions, text in _conditions(order, system)
        ],
    }
