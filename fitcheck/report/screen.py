"""What screening found, as text and as data: the answer first, then why, then what comes near."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console

from fitcheck.check import Finding
from fitcheck.language.columns import CONFLICT
from fitcheck.quantity import System
from fitcheck.report.answers import worst_place
from fitcheck.report.phrases import capital, counted, group_places, missing_words
from fitcheck.report.story import by_rule
from fitcheck.report.writer import Writer
from fitcheck.screen.cause import Cause
from fitcheck.screen.money import Money
from fitcheck.screen.opening import Frame
from fitcheck.screen.ranking import Order, Ranked, Reworked
from fitcheck.screen.screening import Screen
from fitcheck.screen.together import Choice

MOST_RULES = 8
_ORDERS = {"price": "by price", "margin": "by room to spare", "rework": "by hours of rework"}


def write_screen(
    found: Screen,
    order: Order,
    best: Sequence[Ranked] | Reworked,
    nearest: Sequence[Ranked],
    console: Console,
    system: System,
) -> None:
    """One open slot: how many fit, the best, what rules out most, the nearest misses."""
    writer = Writer(console)
    knowledge, money = found.frame.knowledge, Money(found.catalog.currency)
    title = knowledge.classes[found.opening.slot].title
    side = f" ({found.opening.side})" if found.opening.side else ""
    writer.line(f"{capital(title)}{side} for {found.frame.build.title}", "bold")
    writer.line(_answer(found), "bold")
    for problem in [*found.failures, *found.frame.failures]:
        writer.line(str(problem), "bold red")
    _write_fixed(writer, found)
    ranked = best.ranked if isinstance(best, Reworked) else best
    if ranked:
        writer.heading(f"The first {len(ranked)}, {_ORDERS[order]}")
    for number, one in enumerate(ranked, 1):
        _write_ranked(writer, number, one, found.frame, money, system)
    if isinstance(best, Reworked) and not best.complete:
        writer.line("Others, not worked out, may need less.", "dim")
    out = [count for count in found.counts if count.out]
    if out:
        writer.heading("What rules most of them out")
    for count in out[:MOST_RULES]:
        alone = f", {count.alone:,} of them by this alone" if count.alone else ""
        writer.line(f"- {count.rule.file.subject}: {count.out:,}{alone}  [{count.rule.id}]")
    open_ = [count for count in found.counts if count.open]
    open_.sort(key=lambda count: -count.open)
    if open_:
        writer.heading("What leaves most of them open")
    for count in open_[:MOST_RULES]:
        writer.line(f"- {count.rule.file.subject}: {count.open:,}  [{count.rule.id}]")
    if nearest:
        writer.heading("Nearest misses")
    for number, one in enumerate(nearest, 1):
        _write_ranked(writer, number, one, found.frame, money, system)
    _write_closing(writer)


def _answer(found: Screen) -> str:
    if not found.total:
        return "The catalog lists none."
    return (
        f"{found.total:,} listed: {found.fits:,} fit, {found.possible:,} may fit (something is "
        f"not told), {found.ruled_out:,} are ruled out."
    )


def _write_fixed(writer: Writer, found: Screen) -> None:
    """What clashes whatever is fitted: no fault of any candidate."""
    rules = found.frame.knowledge.rules
    clashes = [rules[id_] for id_, standing in found.frame.fixed.items() if standing == CONFLICT]
    clashes = [rule for rule in clashes if rule.severity != "advice"]
    if clashes:
        names = "; ".join(f"{rule.file.subject} [{rule.id}]" for rule in clashes)
        writer.line(f"Whichever is fitted, this clashes already: {names}.")


def _write_ranked(
    writer: Writer, number: int, one: Ranked, frame: Frame, money: Money, system: System
) -> None:
    offer = one.offer
    said = [offer.item, *([offer.part.name] if offer.part.name not in ("", offer.item) else [])]
    price = "price not told" if offer.price is None else money.show(offer.price)
    facts = [price]
    if offer.stock is not None:
        facts.append(f"{offer.stock} in stock" if offer.stock else "out of stock")
    if one.room is not None:
        facts.append(f"least room {one.room:.1%} of the figure")
    if one.work is not None and one.work.steps:
        facts.append(f"{float(one.work.hours):.1f} h of work")
    if one.questions and not one.clashes:
        facts.append(f"{_rules(one.questions)} open")
    writer.labelled(f"{number}. {', '.join(said)}:", ", ".join(facts), 0, 3)
    for findings in by_rule(one.clashes):
        worst = worst_place(findings)
        missing = missing_words(worst, system)
        where = group_places(findings, frame.build.layout)
        text = f"{worst.rule.file.subject}{f', {where}' if where else ''}"
        writer.line(f"misses on {text}: {missing or worst.message(system)}", indent=3)
        if one.work is None:
            for mend in frame.mends(worst, system)[:1]:
                writer.labelled("mend:", mend.text, 5)
    for operation, text, places in one.work.steps if one.work else ():
        del operation
        writer.labelled("work:", f"{text}, at {counted(places, 'place')}", 5)


def _rules(findings: Sequence[Finding]) -> str:
    return counted(len(by_rule(findings)), "question")


def _write_closing(writer: Writer) -> None:
    writer.console.print()
    writer.line(
        "A listed figure is a seller's claim: confirm it before you pay. "
        "The makers' instructions rule over every figure here.",
        "dim",
    )


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
    _write_closing(writer)


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


def screen_data(
    found: Screen, best: Sequence[Ranked] | Reworked, nearest: Sequence[Ranked], system: System
) -> dict[str, Any]:
    """One open slot as plain data."""
    ranked = best.ranked if isinstance(best, Reworked) else best
    return {
        "slot": found.opening.slot,
        "side": found.opening.side,
        "build": found.frame.build.title,
        "knowledge": found.frame.knowledge.digest,
        "listed": found.total,
        "currency": found.catalog.currency,
        "fit": found.fits,
        "may_fit": found.possible,
        "ruled_out": found.ruled_out,
        "rules": [
            {
                "rule": count.rule.id,
                "rules_out": count.out,
                "alone": count.alone,
                "leaves_open": count.open,
            }
            for count in found.counts
        ],
        "best": [ranked_data(one, system) for one in ranked],
        "nearest": [ranked_data(one, system) for one in nearest],
    }


def ranked_data(one: Ranked, system: System) -> dict[str, Any]:
    """One candidate as plain data."""
    return {
        "item": one.offer.item,
        "source": one.offer.source,
        "price": one.offer.price,
        "stock": one.offer.stock,
        "room": one.room,
        "hours": float(one.work.hours) if one.work else None,
        "questions": sorted({finding.rule.id for finding in one.questions}),
        "clashes": [
            {
                "rule": finding.rule.id,
                "where": [str(p) for p in finding.positions],
                "message": finding.message(system),
                "missing": missing_words(finding, system),
            }
            for finding in one.clashes
        ],
    }


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
