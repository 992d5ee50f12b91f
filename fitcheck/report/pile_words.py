"""What a report of a pile says, in words that text and pages share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from fitcheck.check import RuleFinding
from fitcheck.check.measuring.asks import Ask
from fitcheck.quantity import System
from fitcheck.report.answers import worst_place
from fitcheck.report.phrases import counted, group_places, missing_words, open_words
from fitcheck.report.story import by_rule
from fitcheck.screen.pile import Piled, PileSet, Sorted, Useless

MOST_MEASURED = 4
MOST_TOLD = 3


class PileWords:
    """Words for what became of a pile."""

    def __init__(self, found: Sorted, system: System) -> None:
        self.found = found
        self.system: System = system
        self.frame = found.frame
        self.knowledge = found.frame.knowledge

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
            left = open_words(best.check)
            if not left:
                return start + "one set goes together as it is."
            return f"{start}of the best set {left} Nothing known of it clashes."
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
        left = open_words(best.check)
        first = f"of the best set {left} " if left else ""
        what = "It goes" if left else "the best set goes"
        return f"{start}{first}{what} together, as far as known, {buy}{mend}."

    def chosen(self, entry: Piled | None) -> str:
        """What goes into a slot, and how many pieces of it lack."""
        name = entry.name if entry else "TO BE BOUGHT"
        short = next((number for one, number in self.found.short if one is entry), 0)
        return name + (f" ({counted(short, 'piece')} short)" if short else "")

    def open(self, one: PileSet) -> str:
        """What a set leaves open."""
        told = counted(one.questions, "question")
        return f"{told} still open." if one.questions else "nothing open."

    def clashes(self, one: PileSet) -> list[list[RuleFinding]]:
        """The clashes of a set that work mends, those of one rule together."""
        return by_rule(found for found in one.check.conflicts if found.rule.id in one.clashes)

    def work(self, findings: Sequence[RuleFinding]) -> str:
        """What mends one clash, with its hours at all its places."""
        worst = worst_place(findings)
        mend = self.frame.mends(worst, self.system)[0]
        assert mend.operation is not None
        places = sum(len(one.positions) for one in findings)
        hours = float(mend.operation.hours.interval.middle) / 3600 * places
        at = group_places(list(findings), self.frame.build.layout)
        missing = missing_words(worst, self.system)
        return (
            f"{mend.text}{f', {at}' if at else ''}, about {hours:.1f} h "
            f"({worst.rule.file.subject}{f': {missing}' if missing else ''})"
        )

    def beside(self, one: Useless) -> str:
        """With what a part does not go."""
        return f"with no {self.title(one.other)} of the pile" if one.other else "not in this engine"

    def reasons(self, one: Useless) -> str:
        """Why a part goes with nothing."""
        return "; ".join(f"{rule.file.title} [{rule.id}]" for rule in one.rules[:MOST_TOLD])

    def cautions(self, first: Iterable[Ask]) -> list[str]:
        """The cautions of the work that the sets take and of what is to be measured."""
        found: list[str] = []
        for one in self.found.sets:
            for findings in self.clashes(one):
                operation = self.frame.mends(findings[0], self.system)[0].operation
                assert operation is not None
                found += map(str, operation.file.cautions)
        slots = {slot for one in self.found.sets for slot in one.chosen}
        if "spring" in slots:
            found.append("compressed_spring")
        for ask in first:
            if ask.procedure is not None:
                found += map(str, ask.procedure.file.cautions)
        return list(dict.fromkeys(found))
