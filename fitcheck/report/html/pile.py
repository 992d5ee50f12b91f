"""The page of a pile: which parts go together, what is to be bought, identified or left aside."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import islice

from fitcheck.check.measuring.next import Next, Proposal
from fitcheck.plan.order import Order
from fitcheck.quantity import System
from fitcheck.report.html.frame import Section, Table, Told, cautions, render, stamp
from fitcheck.report.measure import finely_words, where, work
from fitcheck.report.order import wanted_words
from fitcheck.report.phrases import capital, fact_title
from fitcheck.report.pile_words import MOST_MEASURED, PileWords
from fitcheck.screen.identify import Identified
from fitcheck.screen.pile import Piled, PileSet, Sorted


@dataclass(frozen=True, slots=True)
class Wanted:
    """A part to be bought and what to ask a seller for."""

    title: str
    figures: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SetShown:
    """One set of parts that go together."""

    title: str
    table: Table
    works: tuple[str, ...]
    open: str


def pile_page(
    found: Sorted,
    orders: Mapping[str, Order],
    unknown: Sequence[tuple[Piled, Identified]],
    next_: Next | None,
    system: System,
    day: date,
) -> str:
    """The page of what became of a pile."""
    words = PileWords(found, system)
    knowledge = words.knowledge
    proposals = list(islice(next_.proposals(), MOST_MEASURED)) if next_ is not None else []
    return render(
        "pile",
        kind="Pile of parts",
        title=found.pile.title,
        about=found.pile.about,
        answer=words.answer(),
        sets=[_set(words, number, one) for number, one in enumerate(found.sets, 1)],
        wanted=[
            Wanted(capital(words.title(slot)), tuple(wanted_words(order, system)))
            for slot, order in orders.items()
        ],
        useless=Section(
            "Goes with nothing here",
            tables=(Table("Each part, and why", ("Part", "Why"), tuple(_useless(words))),),
        ),
        unknown=Section(
            "To be identified",
            tables=tuple(_unknown(words, entry, one) for entry, one in unknown),
        ),
        measured=Section(
            "Measure before the quote",
            tables=(
                Table(
                    "The most telling first",
                    ("Figure", "Where and how finely", "With what", "As measured"),
                    tuple(_measured(next_, one, system) for one in proposals if next_),
                ),
            ),
        ),
        cautions=_cautions(words, proposals),
        stamp=stamp(knowledge, system, day, build=found.frame.build),
    )


def _set(words: PileWords, number: int, one: PileSet) -> SetShown:
    rows = tuple(
        (capital(words.title(slot)), words.chosen(entry)) for slot, entry in one.chosen.items()
    )
    return SetShown(
        f"Set {number}",
        Table("What goes into each slot", ("Slot", "Part"), rows),
        tuple(capital(words.work(findings)) for findings in words.clashes(one)),
        capital(words.open(one)),
    )


def _useless(words: PileWords) -> Iterator[tuple[str, ...]]:
    for one in words.found.useless:
        title = f"{one.entry.name} ({words.title(one.entry.slot)})"
        yield title, capital(f"{words.beside(one)}: {words.reasons(one)}")


def _unknown(words: PileWords, entry: Piled, one: Identified) -> Table:
    rows = tuple((capital(text), "") for text in words.tells(one))
    caption = f"{entry.name} ({words.title(entry.slot)}): {words.matches(one)}"
    return Table(caption, ("What tells most", "As measured"), rows)


def _measured(next_: Next, proposal: Proposal, system: System) -> tuple[str, ...]:
    check = next_.check
    told = [where(check, proposal).strip(), finely_words(proposal, system)]
    title = capital(fact_title(check, proposal.attribute))
    return title, "; ".join(filter(None, told)), work(proposal), ""


def _cautions(words: PileWords, proposals: Sequence[Proposal]) -> tuple[Told, ...]:
    """Those of the work that sets need and of the measuring."""
    return cautions(words.knowledge, words.cautions(proposals))
