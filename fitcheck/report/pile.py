"""A pile as a shop tells it: what goes together, what it takes, what is still to be found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console

from fitcheck.check.measuring.asks import MissingFigures
from fitcheck.plan.order import Order
from fitcheck.quantity import System
from fitcheck.report.identify import identified_data, matches_words, tells_words
from fitcheck.report.measure import ask_places, finely_words, work
from fitcheck.report.order import wanted_words
from fitcheck.report.phrases import capital, counted
from fitcheck.report.pile_words import MOST_MEASURED, PileWords
from fitcheck.report.writer import Writer
from fitcheck.screen.identify import Identified
from fitcheck.screen.pile import Piled, PileSet, Sorted

MOST_ASKED = 6


class PileReport(Writer):
    """Writes what became of a pile."""

    def __init__(
        self,
        found: Sorted,
        orders: Mapping[str, Order],
        unknown: Sequence[tuple[Piled, Identified]],
        asks: MissingFigures | None,
        console: Console,
        system: System,
    ) -> None:
        super().__init__(console)
        self.found, self.orders, self.unknown = found, orders, unknown
        self.asks, self.system = asks, system
        self.words = PileWords(found, system)
        self.first = asks.ranked[:MOST_MEASURED] if asks else []

    def write(self) -> None:
        """The whole report."""
        pile = self.found.pile
        self.line(pile.title, "bold")
        self.line(pile.about, "dim")
        self.console.print()
        self.line(self.words.answer(), "bold")
        for number, one in enumerate(self.found.sets, 1):
            self.set(number, one)
        self.to_buy()
        self.useless()
        self.identify()
        self.measure()
        self.closing()

    def set(self, number: int, one: PileSet) -> None:
        """One set: what goes into each slot, the work, what is open."""
        self.heading(f"Set {number}")
        for slot, entry in one.chosen.items():
            self.labelled(f"{self.words.title(slot)}:", self.words.chosen(entry), 3, 2)
        for findings in self.words.clashes(one):
            self.labelled("work:", self.words.work(findings), 3, 2)
        self.line(self.words.open(one), "dim", indent=3)

    def to_buy(self) -> None:
        """What to ask a seller for."""
        if self.orders:
            self.heading("To be bought: what to ask for")
        for slot, order in self.orders.items():
            self.line(capital(self.words.title(slot)), "bold")
            for text in wanted_words(order, self.system)[:MOST_ASKED]:
                self.line(f"- {text}", indent=2)
            if not wanted_words(order, self.system):
                self.line("- nothing rules any figure out by itself", indent=2)
            self.line(f"(all of it: fitcheck order BUILD {slot})", "dim", indent=2)

    def useless(self) -> None:
        """Parts that go with nothing."""
        if self.found.useless:
            self.heading("Goes with nothing here")
        for one in self.found.useless:
            title = f"{one.entry.name} ({self.words.title(one.entry.slot)})"
            self.labelled(f"- {title}, {self.words.beside(one)}:", self.words.reasons(one), 0, 2)

    def identify(self) -> None:
        """What an unknown part may be, and what tells."""
        if self.unknown:
            self.heading("To be identified")
        for entry, one in self.unknown:
            title = f"{entry.name} ({self.words.title(entry.slot)})"
            self.labelled(f"- {title}:", matches_words(one), 0, 2)
            for text in tells_words(one):
                self.line(text, indent=4)

    def measure(self) -> None:
        """What to measure first for the best set."""
        if self.asks is None or not self.first:
            return
        check = self.asks.check
        self.heading("Measure before the quote, the most telling first")
        for ask in self.first:
            told = [
                ask_places(check, ask).strip(),
                finely_words(ask, self.system),
                work(ask),
            ]
            self.labelled(f"- {ask.title}:", "; ".join(text for text in told if text), 0, 2)

    def closing(self) -> None:
        """What to mind, and what holds for every line."""
        knowledge = self.words.knowledge
        found = self.words.cautions(self.first)
        if found:
            self.heading("Mind")
        for id_ in found:
            caution = knowledge.cautions[id_].file
            self.line(f"- {capital(str(caution.title))}. {caution.text}")
        self.console.print()
        self.line("The makers' instructions rule over every figure here.", "dim")


def write_note(
    found: Sorted,
    orders: Mapping[str, Order],
    asks: MissingFigures | None,
    console: Console,
    system: System,
) -> None:
    """The quote note: what a customer is told of the best set, to be priced by the shop."""
    report = PileReport(found, orders, (), asks, console, system)
    report.line(f"Note for a quote: {found.frame.build.title}", "bold")
    if not found.sets:
        report.line(report.words.answer())
        return
    best = found.sets[0]
    report.line("We have looked over your parts. On the figures told or measured so far:")
    for slot, entry in best.chosen.items():
        if entry is not None:
            stays = "stays as it is" if slot in best.listed else f"we would use: {entry.name}"
            report.line(f"- {report.words.title(slot)}: {stays}", indent=2)
    for slot in best.wanted:
        report.line(f"- {report.words.title(slot)}: to be bought, price ________", indent=2)
    for entry, pieces in found.short:
        if best.chosen.get(entry.slot) is entry:
            report.line(
                f"- {report.words.title(entry.slot)}: {counted(pieces, 'piece')} more of the same, "
                "price ________",
                indent=2,
            )
    clashes = report.words.clashes(best)
    if clashes:
        report.heading("Work, at ________ an hour")
    for findings in clashes:
        report.line(f"- {report.words.work(findings)}", indent=2)
    if found.useless:
        report.heading("Parts we would not use")
    for one in found.useless:
        report.line(f"- {one.entry.name}: {one.rules[0].file.title}", indent=2)
    if best.questions:
        report.console.print()
        report.line(
            f"{capital(counted(best.questions, 'question'))} cannot be answered before more is "
            "measured; the quote holds with that measuring, and may change by it."
        )
    report.measure()
    report.closing()


def pile_data(
    found: Sorted, orders: Mapping[str, Any], unknown: Sequence[tuple[Piled, Identified]]
) -> dict[str, Any]:
    """What became of a pile as plain data."""
    return {
        "pile": found.pile.title,
        "currency": found.pile.currency,
        "build": found.frame.build.title,
        "knowledge": found.frame.knowledge.digest,
        "sets": [
            {
                "parts": {slot: one.name if one else None for slot, one in own.chosen.items()},
                "to_be_bought": list(own.wanted),
                "to_be_worked_on": list(own.clashes),
                "price": own.price,
                "questions": own.questions,
            }
            for own in found.sets
        ],
        "to_be_bought": dict(orders),
        "goes_with_nothing": [
            {
                "part": one.entry.name,
                "class": one.entry.slot,
                "with": one.other or "the engine",
                "rules": [rule.id for rule in one.rules],
            }
            for one in found.useless
        ],
        "pieces_short": [{"part": e.name, "pieces": n} for e, n in found.short],
        "unidentified": [
            {
                "part": e.name,
                **identified_data(one),
            }
            for e, one in unknown
        ],
    }
