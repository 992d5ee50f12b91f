"""Sets of parts that go together, as text and as data; or why there is none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console

from fitcheck.check import RuleFinding
from fitcheck.model import EngineBuild
from fitcheck.plan.prices import Prices
from fitcheck.quantity import System
from fitcheck.report.answers import worst_place
from fitcheck.report.phrases import counted, demand_words, missing_words
from fitcheck.report.screen import (
    standing_words,
    work_words,
    write_closing,
    write_disputed,
    write_shifting,
)
from fitcheck.report.story import by_rule
from fitcheck.report.writer import Writer
from fitcheck.screen.cause import Cause
from fitcheck.screen.money import Money
from fitcheck.screen.opening import Frame
from fitcheck.screen.together import Chosen, PartSet

_WORDS = {
    "price": "by certainty, then by the price of the whole order",
    "room": "by certainty, then by room to their limits",
    "work": "by the work that mends their clashes, then by price",
}


def write_sets(
    frame: Frame,
    present: EngineBuild,
    found: Chosen,
    counts: Mapping[str, int],
    by: str,
    money: Money,
    shop: Prices,
    console: Console,
    system: System,
) -> None:
    """Several open slots: the best complete sets, or why there is none."""
    writer = Writer(console)
    knowledge = frame.knowledge
    writer.line(f"Parts that go together, for {frame.build.title}", "bold")
    listed = ", ".join(
        f"{count:,} {knowledge.classes[slot].title}" for slot, count in counts.items()
    )
    writer.line(f"Chosen among {listed}.")
    if found.why is not None:
        _write_cause(writer, found.why, knowledge)
        return
    if not found.choices:
        writer.line("Stopped before a set was found.", "bold")
        return
    writer.line(f"The first {counted(len(found.choices), 'set')} {_WORDS[by]}.", "bold")
    if not found.complete:
        writer.line("Stopped there: others, not found yet, may be better.")
    write_shifting(writer, present, knowledge, list(counts))
    for number, choice in enumerate(found.choices, 1):
        write_choice(writer, number, choice, frame, money, shop, system)
    write_closing(writer)


def write_choice(
    writer: Writer,
    number: int,
    choice: PartSet,
    frame: Frame,
    money: Money,
    shop: Prices,
    system: System,
) -> None:
    """One set: its parts with what else would do as well, its price, room, work, what is open."""
    writer.console.print()
    price = money.show(choice.price) if choice.priced else "price not told"
    if choice.priced and choice.unpriced:
        price += f", {counted(choice.unpriced, 'price')} not told"
    words = "" if choice.clashes else f"{standing_words(choice.decided)}, "
    writer.line(f"{number}. {words}{price} for all pieces; {_open(choice)}", "bold")
    if choice.decided.tightest is not None and not choice.clashes:
        finding, demand = choice.decided.tightest
        subject = f"{finding.rule.file.subject}: {demand_words(demand, system)}"
        writer.labelled("tightest:", subject, 3, 2)
    for slot, name in choice.parts.items():
        others = choice.alike.get(slot, ())
        as_well = f" (as well: {_short(others)})" if others else ""
        title = frame.knowledge.classes[slot].title
        writer.labelled(f"{title}:", f"{name}{as_well}", 3, 2)
    for findings in by_rule(choice.decided.likely):
        worst = worst_place(findings)
        missing = missing_words(worst, system) or worst.message(system)
        writer.labelled("likely clash:", f"{worst.rule.file.subject}: {missing}", 3, 2)
    if not choice.clashes:
        write_disputed(writer, choice.decided)
    write_clashes(writer, frame, choice, system)
    if choice.work is not None and choice.work.steps:
        writer.line(f"work in all, beside the parts: {work_words(choice.work, shop)}", indent=3)


def _open(choice: PartSet) -> str:
    """What is still open, by what it waits for."""
    decided = choice.decided
    told = [
        (_rules(decided.asks), "of these parts" if decided.asks else ""),
        (_rules(decided.waits), "whichever is bought" if decided.waits else ""),
    ]
    words = [f"{count} {of}" for count, of in told if of]
    return f"{' and '.join(words)} still open" if words else "no question still open"


def _short(names: Sequence[str]) -> str:
    shown = ", ".join(names[:4])
    return f"{shown} and {len(names) - 4} more" if len(names) > 4 else shown


def write_clashes(writer: Writer, frame: Frame, choice: PartSet, system: System) -> None:
    """The clashes of a set that work would mend."""
    clashes = [one for one in choice.check.conflicts if one.rule.id in choice.clashes]
    for findings in by_rule(clashes):
        worst = worst_place(findings)
        mend = frame.mends(worst, system)[0]
        writer.labelled("to be worked on:", f"{worst.rule.file.subject}: {mend.text}", 3, 2)


def _write_cause(writer: Writer, why: Cause, knowledge: Any) -> None:
    titles = [knowledge.classes[slot].title for slot in why.slots]
    writer.line("No set is left.", "bold")
    if why.empty:
        writer.line(f"The catalog lists no {', no '.join(titles)}.")
        return
    told = "No fewer rules do so:" if why.smallest else "None of these can be spared:"
    writer.line(f"These rules alone leave none between {', '.join(titles)}. {told}")
    for rule in why.rules:
        writer.line(f"- {rule.file.subject}  [{rule.id}]", indent=2)
    writer.line("Open another of these slots, or list more parts for one.", indent=2)


def _rules(findings: Sequence[RuleFinding]) -> str:
    return counted(len(by_rule(findings)), "question")


def sets_data(found: Chosen, counts: Mapping[str, int], money: Money) -> dict[str, Any]:
    """Several open slots as plain data."""
    why = found.why
    return {
        "listed": dict(counts),
        "currency": money.currency,
        "complete": found.complete,
        "sets": [
            {
                "stands": choice.decided.standing.name.lower(),
                "price_of_order": choice.price if choice.priced else None,
                "prices_not_told": choice.unpriced,
                "room": choice.room,
                "parts": choice.parts,
                "as_well": {s: list(n) for s, n in choice.alike.items()},
                "to_be_worked_on": list(choice.clashes),
                "hours": float(choice.work.hours) if choice.work else None,
                "price_of_work": float(choice.work.price)
                if choice.work and choice.work.price is not None
                else None,
                "questions": sorted({f.rule.id for f in choice.decided.asks}),
                "open_whichever": sorted({f.rule.id for f in choice.decided.waits}),
            }
            for choice in found.choices
        ],
        "none_left": None
        if why is None
        else {
            "rules": [rule.id for rule in why.rules],
            "slots": list(why.slots),
            "no_candidates": list(why.empty),
            "smallest": why.smallest,
        },
    }
