"""Sets of parts that go together, as text and as data; or why there is none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console

from fitcheck.check import Finding
from fitcheck.quantity import System
from fitcheck.report.answers import worst_place
from fitcheck.report.phrases import counted
from fitcheck.report.screen import write_closing
from fitcheck.report.story import by_rule
from fitcheck.report.writer import Writer
from fitcheck.screen.cause import Cause
from fitcheck.screen.money import Money
from fitcheck.screen.opening import Frame
from fitcheck.screen.together import Choice


def write_sets(
    frame: Frame,
    choices: Sequence[Choice],
    why: Cause | None,
    counts: Mapping[str, int],
    by: str,
    money: Money,
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
    if why is not None:
        _write_cause(writer, why, knowledge)
        return
    words = "the fewest clashes to be worked on, then price" if by == "operations" else "price"
    writer.line(
        f"The best {counted(len(choices), 'set')} by {words}; no other set is better.", "bold"
    )
    for number, choice in enumerate(choices, 1):
        write_choice(writer, number, choice, frame, money, system)
    write_closing(writer)


def write_choice(
    writer: Writer, number: int, choice: Choice, frame: Frame, money: Money, system: System
) -> None:
    """One set: its parts with what else would do as well, its price, what is still open."""
    writer.console.print()
    price = money.show(choice.price) if choice.priced else "price not told"
    if choice.priced and choice.unpriced:
        price += f", {counted(choice.unpriced, 'price')} not told"
    questions = _rules(choice.check.undecided) if choice.check.undecided else "no question"
    writer.line(f"{number}. {price}; {questions} still open", "bold")
    for slot, name in choice.parts.items():
        others = choice.alike.get(slot, ())
        as_well = f" (as well: {_short(others)})" if others else ""
        title = frame.knowledge.classes[slot].title
        writer.labelled(f"{title}:", f"{name}{as_well}", 3, 2)
    write_clashes(writer, frame, choice, system)


def _short(names: Sequence[str]) -> str:
    shown = ", ".join(names[:4])
    return f"{shown} and {len(names) - 4} more" if len(names) > 4 else shown


def write_clashes(writer: Writer, frame: Frame, choice: Choice, system: System) -> None:
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


def _rules(findings: Sequence[Finding]) -> str:
    return counted(len(by_rule(findings)), "question")


def sets_data(
    choices: Sequence[Choice], why: Cause | None, counts: Mapping[str, int], money: Money
) -> dict[str, Any]:
    """Several open slots as plain data."""
    return {
        "listed": dict(counts),
        "currency": money.currency,
        "sets": [
            {
                "price": choice.price if choice.priced else None,
                "prices_not_told": choice.unpriced,
                "parts": choice.parts,
                "as_well": {s: list(n) for s, n in choice.alike.items()},
                "to_be_worked_on": list(choice.clashes),
                "questions": sorted({f.rule.id for f in choice.check.undecided}),
            }
            for choice in choices
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
