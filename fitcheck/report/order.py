"""An order note: what a seller is asked to confirm of a part, as text and as data."""

from __future__ import annotations

from typing import Any

from rich.console import Console

from fitcheck.knowledge import Knowledge
from fitcheck.language import Known, words
from fitcheck.model import Layout
from fitcheck.plan.howfar import Stretch
from fitcheck.plan.order import Envelope, Order
from fitcheck.quantity import System, show
from fitcheck.report.phrases import capital
from fitcheck.report.reach import merged, named, places, reach_data, shown
from fitcheck.report.writer import Writer

BLANK = "________"


def write_order(order: Order, knowledge: Knowledge, console: Console, system: System) -> None:
    """The note: each figure with what is wanted, a blank for the answer, and why."""
    writer, layout = Writer(console), order.build.layout
    title = knowledge.classes[order.slot].title
    writer.line(f"Wanted: {title}, for {order.build.title}", "bold")
    if not order.envelopes:
        writer.line("The parts listed rule nothing out by a single figure.")
    else:
        writer.line("Please state each figure of the part you offer, as measured or with its "
                    "tolerance.")  # fmt: skip
    for envelope in order.envelopes:
        _write(writer, envelope, knowledge, layout, system)
    if order.joint:
        writer.heading("These hold between several figures of the part")
        for rule in order.joint:
            text = words(rule.requires, lambda node: _name(node, knowledge, system))
            writer.line(f"- {rule.file.subject}: {text}  [{rule.id}]", indent=2)
    writer.console.print()
    writer.line("The maker's instructions rule over every figure here.", "dim")


def _write(writer: Writer, envelope: Envelope, knowledge: Knowledge, layout: Layout,
           system: System) -> None:  # fmt: skip
    far = envelope.far
    at = places(far.positions, layout)
    name = f"{capital(far.attribute.title)}{f' ({at})' if at else ''}"
    if not far.possible:
        titles = [knowledge.classes[slot].title for slot in envelope.contradicting]
        writer.line(f"- {name}: NOTHING FITS", "bold")
        text = f"These parts contradict each other: {', '.join(titles)}." if titles else \
            "No part would do, whatever its neighbours."  # fmt: skip
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
    return [(word, [binder for one in stretches for binder in getattr(one, word)])
            for word in ("below", "above")]  # fmt: skip


def _name(node: Any, knowledge: Knowledge, system: System) -> str:
    name = getattr(node, "name", "")
    if isinstance(node, Known) and node.kind is not None:
        return show(node.interval, node.kind, system)
    if name in knowledge.attributes:
        attribute = knowledge.attributes[name]
        title = knowledge.classes[attribute.slot].title if attribute.slot in knowledge.classes \
            else attribute.slot  # fmt: skip
        return f"{title}: {attribute.title}" if "." in name else attribute.title
    if name in knowledge.derived:
        return str(knowledge.derived[name].file.title)
    if hasattr(node, "mask") and hasattr(node, "choice"):
        options = knowledge.attributes[node.choice.name].option_words
        return " or ".join(word for i, word in enumerate(options) if node.mask >> i & 1)
    return name.replace("_", " ")


def order_data(order: Order, knowledge: Knowledge, system: System) -> dict[str, Any]:
    """The note as plain data."""
    return {
        "slot": order.slot,
        "build": order.build.title,
        "knowledge": knowledge.digest,
        "figures": [{**reach_data(envelope.far, system),
                     "contradicting_parts": list(envelope.contradicting)}
                    for envelope in order.envelopes],
        "joint": [{"rule": rule.id, "subject": str(rule.file.subject),
                   "condition": words(rule.requires, lambda node: _name(node, knowledge, system))}
                  for rule in order.joint],
    }  # fmt: skip
