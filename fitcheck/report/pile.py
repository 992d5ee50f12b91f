"""A pile as a shop tells it: what goes together, what it takes, what is still to be found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console

from fitcheck.check import Finding
from fitcheck.check.next import Next
from fitcheck.plan.order import Order
from fitcheck.quantity import System
from fitcheck.report.measure import finely_words, where, work
from fitcheck.report.order import wanted_words
from fitcheck.report.phrases import capital, counted, fact_title, group_places, missing_words
from fitcheck.report.writer import Writer
from fitcheck.screen.identify import Identified
from fitcheck.screen.pile import Piled, PileSet, Sorted

MOST_MEASURED = 4
MOST_ASKED = 6
MOST_TOLD = 3


class PileReport(Writer):
    """Writes what became of a pile."""

    def __init__(
        self,
        found: Sorted,
        orders: Mapping[str, Order],
        unknown: Sequence[tuple[Piled, Identified]],
        next_: Next | None,
        console: Console,
        system: System,
    ) -> None:
        super().__init__(console)
        self.found, self.orders, self.unknown = found, orders, unknown
        self.next, self.system = next_, system
        self.knowledge = found.frame.knowledge

    def write(self) -> None:
        """The whole report."""
        pile = self.found.pile
        self.line(pile.title, "bold")
        self.line(pile.about, "dim")
        self.console.print()
        self.line(self.answer(), "bold")
        for number, one in enumerate(self.found.sets, 1):
            self.set(number, one)
        self.to_buy()
        self.useless()
        self.identify()
        self.measure()
        self.closing()

    def title(self, slot: str) -> str:
        """A class in words."""
        return self.knowledge.classes[slot].title

    def answer(self) -> str:
        """The answer in one sentence."""
        entries, slots = len(self.found.pile.entries), {e.slot for e in self.found.pile.entries}
        start = f"{counted(entries, 'part')} in the pile for {counted(len(slots), 'slot')}: "
        if not self.found.sets:
            return start + "no set goes together, whatever is bought for one slot."
        best = self.found.sets[0]
        if not best.wanted and not best.clashes:
            return (
                start
                + f"one set goes together as it is; {counted(best.questions, 'question')} open."
            )
        buy = (
            f"with a {', a '.join(self.title(slot) for slot in best.wanted)} to be bought"
            if best.wanted
            else "with nothing to be bought"
        )
        mend = (
            f" and {counted(len(best.clashes), 'clash', 'clashes')} to be worked on"
            if best.clashes
            else ""
        )
        return start + f"the best set goes together {buy}{mend}."

    def set(self, number: int, one: PileSet) -> None:
        """One set: what goes into each slot, the work, what is open."""
        self.heading(f"Set {number}")
        for slot, entry in one.chosen.items():
            name = entry.name if entry else "TO BE BOUGHT"
            short = next((n for e, n in self.found.short if e is entry), 0)
            lacks = f" ({counted(short, 'piece')} short)" if short else ""
            self.labelled(f"{self.title(slot)}:", name + lacks, 3, 2)
        for findings in _by_rule([f for f in one.check.conflicts if f.rule.id in one.clashes]):
            self.labelled("work:", self.work(findings), 3, 2)
        open_ = (
            f"{counted(one.questions, 'question')} still open" if one.questions else "nothing open"
        )
        self.line(f"{open_}.", "dim", indent=3)

    def work(self, findings: Sequence[Finding]) -> str:
        """What mends one clash, with its hours at all its places."""
        worst = max(findings, key=_missing)
        mend = self.found.frame.mends(worst, self.system)[0]
        assert mend.operation is not None
        places = sum(len(one.positions) for one in findings)
        hours = float(mend.operation.hours.interval.middle) / 3600 * places
        at = group_places(list(findings), self.found.frame.build.layout)
        missing = missing_words(worst, self.system)
        return (
            f"{mend.text}{f', {at}' if at else ''}, about {hours:.1f} h "
            f"({worst.rule.file.subject}{f': {missing}' if missing else ''})"
        )

    def to_buy(self) -> None:
        """What to ask a seller for."""
        if self.orders:
            self.heading("To be bought: what to ask for")
        for slot, order in self.orders.items():
            self.line(capital(self.title(slot)), "bold")
            for text in wanted_words(order, self.system)[:MOST_ASKED]:
                self.line(f"- {text}", indent=2)
            if not order.envelopes:
                self.line("- nothing rules any figure out by itself", indent=2)
            self.line(f"(all of it: fitcheck order BUILD {slot})", "dim", indent=2)

    def useless(self) -> None:
        """Parts that go with nothing."""
        if self.found.useless:
            self.heading("Goes with nothing here")
        for one in self.found.useless:
            what = (
                f"with no {self.title(one.other)} of the pile"
                if one.other
                else "not in this engine"
            )
            rules = "; ".join(f"{rule.file.title} [{rule.id}]" for rule in one.rules[:MOST_TOLD])
            self.labelled(
                f"- {one.entry.name} ({self.title(one.entry.slot)}), {what}:", rules, 0, 2
            )

    def identify(self) -> None:
        """What an unknown part may be, and what tells."""
        if self.unknown:
            self.heading("To be identified")
        for entry, one in self.unknown:
            names = ", ".join(offer.item for offer in one.matches)
            more = (
                f" and {one.count - len(one.matches)} more" if one.count > len(one.matches) else ""
            )
            text = (
                f"may be {names}{more}" if one.count else "no listed part agrees with its figures"
            )
            self.labelled(f"- {entry.name} ({self.title(entry.slot)}):", text, 0, 2)
            for tell in one.tell[:MOST_TOLD]:
                tool = f", {tell.procedure.file.tool}" if tell.procedure else ""
                self.line(
                    f"measure {tell.attribute.title}: leaves {tell.leaves:.0f} of {one.count} "
                    f"({tell.minutes} min{tool})",
                    indent=4,
                )

    def measure(self) -> None:
        """What to measure first for the best set."""
        if self.next is None:
            return
        check = self.next.check
        proposals = []
        for proposal in self.next.proposals():
            proposals.append(proposal)
            if len(proposals) == MOST_MEASURED:
                break
        if proposals:
            self.heading("Measure before the quote, the most telling first")
        for proposal in proposals:
            told = [
                where(check, proposal).strip(),
                finely_words(proposal, self.system),
                work(proposal),
            ]
            name = fact_title(check, proposal.attribute)
            self.labelled(f"- {name}:", "; ".join(text for text in told if text), 0, 2)

    def closing(self) -> None:
        """What holds for every line."""
        self.console.print()
        self.line(
            "The makers' instructions rule over every figure here. A spring under load can "
            "hurt: compress it with the tool made for it.",
            "dim",
        )


def write_note(
    found: Sorted, orders: Mapping[str, Order], next_: Next | None, console: Console, system: System
) -> None:
    """The quote note: what a customer is told of the best set, to be priced by the shop."""
    report = PileReport(found, orders, (), next_, console, system)
    report.line(f"Note for a quote: {found.frame.build.title}", "bold")
    if not found.sets:
        report.line(report.answer())
        return
    best = found.sets[0]
    report.line("We have looked over your parts. On the figures told or measured so far:")
    for slot, entry in best.chosen.items():
        if entry is not None:
            stays = "stays as it is" if slot in best.listed else f"we would use: {entry.name}"
            report.line(f"- {report.title(slot)}: {stays}", indent=2)
    for slot in best.wanted:
        report.line(f"- {report.title(slot)}: to be bought, price ________", indent=2)
    for entry, pieces in found.short:
        if best.chosen.get(entry.slot) is entry:
            report.line(
                f"- {report.title(entry.slot)}: {counted(pieces, 'piece')} more of the same, "
                "price ________",
                indent=2,
            )
    clashes = _by_rule([f for f in best.check.conflicts if f.rule.id in best.clashes])
    if clashes:
        report.heading("Work, at ________ an hour")
    for findings in clashes:
        report.line(f"- {report.work(findings)}", indent=2)
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


def _missing(finding: Finding) -> Any:
    return finding.shortfall.upper if finding.shortfall else 0


def _by_rule(findings: Sequence[Finding]) -> list[list[Finding]]:
    found: dict[str, list[Finding]] = {}
    for finding in findings:
        found.setdefault(finding.rule.id, []).append(finding)
    return list(found.values())


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
                "matches": one.count,
                "may_be": [offer.item for offer in one.matches],
                "tell": [
                    {
                        "measure": t.attribute.name,
                        "leaves": round(t.leaves, 2),
                        "minutes": t.minutes,
                    }
                    for t in one.tell
                ],
            }
            for e, one in unknown
        ],
    }
