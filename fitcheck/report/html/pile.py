"""The page of a pile: which parts go together, what is to be bought, identified or left aside."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fitcheck.check.measuring.asks import Ask, MissingFigures
from fitcheck.plan.order import Order
from fitcheck.quantity import System
from fitcheck.report.html.frame import Section, Table, Told, cautions, render, stamp
from fitcheck.report.identify import matches_words, tells_words
from fitcheck.report.measure import ask_places, finely_words, work
from fitcheck.report.order import wanted_words
from fitcheck.report.phrases import capital
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
    asks: MissingFigures | None,
    system: System,
    day: date,
) -> str:
    """The page of what became of a pile."""
    words = PileWords(found, system)
    knowledge = words.knowledge
    first = asks.ranked[:MOST_MEASURED] if asks is not None else []
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
                    tuple(_measured(asks, one, system) for one in first if asks),
                ),
            ),
        ),
        cautions=_cautions(words, first),
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
    rows = tuple((capital(text), "") for text in tells_words(one))
    caption = f"{entry.name} ({words.title(entry.slot)}): {matches_words(one)}"
    return Table(caption, ("What tells most", "As measured"), rows)


def _measured(asks: MissingFigures, ask: Ask, system: System) -> tuple[str, ...]:
    check = asks.check
    told = [ask_places(check, ask).strip(), finely_words(ask, system)]
    title = capital(ask.title)
    return title, "; ".join(filter(None, told)), work(ask), ""


def _cautions(words: PileWords, first: Sequence[Ask]) -> tuple[Told, ...]:
    """Those of the work that sets need and of the measuring."""
    return cautions(words.knowledge, words.cautions(first))
