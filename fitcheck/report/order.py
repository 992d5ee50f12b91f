"""An order note: what a seller is asked to confirm of a part, as text and as data."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from functools import partial
from typing import Any

from rich.console import Console

from fitcheck.check import RuleFinding
from fitcheck.check.telling import options_told
from fitcheck.knowledge import Knowledge
from fitcheck.language import Is, Node, Variable, walk, words
from fitcheck.model import Layout, Position
from fitcheck.plan.howfar import Binder
from fitcheck.plan.order import Envelope, Order
from fitcheck.plan.safe import OrderBound
from fitcheck.quantity import Interval, System, show
from fitcheck.report.phrases import capital
from fitcheck.report.reach import merged, named, places, reach_data
from fitcheck.report.writer import Writer

BLANK = "________"
# A condition that takes a calculation of several figures tells a seller nothing in words.
_CALLED = " of ("


def write_order(order: Order, knowledge: Knowledge, console: Console, system: System) -> None:
    """The note: each figure with what is wanted, a blank for the answer, and the rule behind it."""
    writer, layout = Writer(console), order.build.layout
    title = knowledge.classes[order.slot].title
    writer.line(f"Wanted: {title}, for {order.build.title}", "bold")
    if order.stands:
        told = (f"{one.file.title} {show(at, one.kind, system)}" for one, at in order.stands)
        writer.line(f"It goes where this is given: {', '.join(told)}.")
    nothing = [envelope for envelope in order.envelopes if not envelope.far.possible]
    for envelope in nothing:
        _write_nothing(writer, envelope, knowledge, layout)
    if order.asked:
        writer.line("Each figure by itself is safe at every place. Please state what you offer.")
    elif not nothing:
        writer.line("The parts listed bound no figure by itself.")
    for one in order.asked:
        writer.line(f"- {_wanted(one, order, system)}   offered: {BLANK}", "bold")
        for word, binders, usual in _behind(one):
            text = "; ".join(named(binder, layout) for binder in merged(binders))
            writer.labelled(f"{word}{', as is usual' if usual else ''}:", text, 2)
    conditions = list(_conditions(order, system))
    if conditions:
        writer.heading("Besides, between several figures of the part")
        for finding, positions, text in conditions:
            if _CALLED in text:
                continue
            at = places(positions, layout)
            subject = f"{finding.rule.file.subject}{f' ({at})' if at else ''}"
            writer.line(f"- {subject}: {text}  [{finding.rule.id}]", indent=2)
        together_only = {
            f.rule.id: f.rule.file.subject for f, _, text in conditions if _CALLED in text
        }
        for id_, subject in together_only.items():
            text = "a check of the part with all its figures tells"
            writer.line(f"- {subject}: {text}  [{id_}]", indent=2)
    waiting = waits_for(order, knowledge)
    if waiting:
        writer.heading("Find these out first: they bound the part too")
        together: dict[tuple[str, ...], list[str]] = {}
        for name, subjects in waiting.items():
            together.setdefault(tuple(subjects), []).append(name)
        for told_, names in together.items():
            writer.line(f"- {', '.join(names)}")
            writer.labelled("for:", "; ".join(told_), 2, 2)
    writer.console.print()
    writer.line("The maker's instructions rule over every figure here.", "dim")


def wanted_words(order: Order, system: System) -> list[str]:
    """Each figure that is asked for, in a line."""
    nothing = [
        f"{capital(one.far.attribute.title)}: NOTHING FITS"
        for one in order.envelopes
        if not one.far.possible
    ]
    return nothing + [_wanted(one, order, system) for one in order.asked]


def _wanted(one: OrderBound, order: Order, system: System) -> str:
    """A figure with what is wanted of it, as in `Open load: 330 lbf or less`."""
    layout, attribute = order.build.layout, one.attribute
    everywhere = len(one.positions) == len(layout.positions(attribute.each))
    at = "" if everywhere else places(one.positions, layout)
    return f"{capital(attribute.title)}{f' ({at})' if at else ''}: {_range(one, system)}"


def _range(one: OrderBound, system: System) -> str:
    attribute, values = one.attribute, one.far.values
    if one.options:
        return " or ".join(attribute.option_words[at] for at in one.options)
    assert attribute.kind is not None
    low, high = (
        None if bound is None else show(Interval.point(values[bound.at]), attribute.kind, system)
        for bound in (one.least, one.most)
    )
    if low is not None and high is not None:
        return low if low == high else f"{low} to {high}"
    return f"{low} or more" if high is None else f"{high} or less"


def _behind(one: OrderBound) -> Iterator[tuple[str, tuple[Binder, ...], bool]]:
    if one.options:
        yield "not the others", one.against, False
    for word, bound in (("no less", one.least), ("no more", one.most)):
        if bound is not None:
            yield word, bound.binders, bound.usual


def _write_nothing(
    writer: Writer, envelope: Envelope, knowledge: Knowledge, layout: Layout
) -> None:
    far = envelope.far
    at = places(far.positions, layout)
    name = f"{capital(far.attribute.title)}{f' ({at})' if at else ''}"
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


def waits_for(order: Order, knowledge: Knowledge) -> dict[str, list[str]]:
    """The figures of other parts, not told yet, that a rule on this part waits for."""
    found: dict[str, dict[str, None]] = {}
    for finding in order.joint:
        for fact in finding.missing:
            slot = fact.attribute.slot
            if slot != order.slot:
                name = f"{knowledge.classes[slot].title}: {fact.attribute.title}"
                found.setdefault(name, {})[str(finding.rule.file.subject)] = None
    return {name: list(subjects) for name, subjects in found.items()}


def _conditions(
    order: Order, system: System
) -> Iterator[tuple[RuleFinding, tuple[Position, ...], str]]:
    """What is asked of several figures of the part, in words, where all else is told.

    What a bound on a single figure says already is left out.
    """
    told: dict[tuple[str, str], list[RuleFinding]] = defaultdict(list)
    bounding = frozenset[str]().union(*(one.implied for one in order.asked))
    for finding in order.joint:
        others = [fact for fact in finding.missing if fact.attribute.slot != order.slot]
        if others or finding.rule.id in bounding:
            continue
        text = words(finding.rule.requires, partial(_name, finding, order.slot, system))
        told[finding.rule.id, text].append(finding)
    for (_, text), findings in told.items():
        positions = [position for finding in findings for position in finding.positions]
        yield findings[0], tuple(sorted(positions, key=Position.order)), text


def _name(finding: RuleFinding, slot: str, system: System, node: Node) -> str:
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
        "stands": {one.id: show(at, one.kind, system) for one, at in order.stands},
        "asked": [
            {
                "attribute": one.attribute.name,
                "places": places(one.positions, order.build.layout),
                "wanted": _range(one, system),
                "rules": {
                    word: sorted({binder.rule.id for binder in some})
                    for word, some, _ in _behind(one)
                },
            }
            for one in order.asked
        ],
        "waits_for": waits_for(order, knowledge),
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
