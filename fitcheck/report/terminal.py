"""A check as text for the terminal, read from top to bottom: the answer first."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from fitcheck.check import BuildCheck
from fitcheck.check.measuring.asks import Ask
from fitcheck.quantity import System
from fitcheck.report.comes_out import comes_out
from fitcheck.report.measure import ask_places, brief, work
from fitcheck.report.phrases import capital, counted, lower
from fitcheck.report.sections import Clash, Minded, Remedy
from fitcheck.report.story import MOST_ASKED, MOST_DISPROVED, MOST_DISPUTED, Story
from fitcheck.report.writer import Writer

if TYPE_CHECKING:
    from fitcheck.report.writer import Output

_MARKS = {"stop": "STOP", "serious": "SERIOUS", "advice": "REMARK"}
_STYLES = {"stop": "bold red", "serious": "bold yellow", "advice": "bold cyan"}
_MOST_STILL_OPEN = 6
_STANDINGS = {"yes": "green", "no": "bold red", "likely not": "red"}


class CheckReport(Writer):
    """Writes a check to a console: in short, or all of it."""

    def __init__(self, check: BuildCheck, console: Output, system: System) -> None:
        super().__init__(console)
        self.story = Story(check, system)

    def short(self) -> None:
        """What decides, on two screens."""
        story = self.story
        self.line(story.title, "bold")
        self.answers()
        self.failures()
        self.console.print()
        self.line(story.verdict, "bold")
        if story.clashes:
            self.heading("What clashes, the gravest first")
        for number, clash in enumerate(story.clashes, 1):
            self.clash_in_short(number, clash)
        self.line(story.rest)
        self.house()
        self.claims_in_short()
        self.disproved(MOST_DISPROVED)
        self.asks(story.asks[:MOST_ASKED])
        self.still_open(_MOST_STILL_OPEN)
        self.disputed()
        self.readings()
        if story.cautions:
            titles = "; ".join(one.title for one in story.cautions)
            self.labelled("Mind:", f"{titles}.", 0)
        self.line(
            "See more: --all (why, sources, all that fits, cautions in full), fitcheck explain, "
            "fitcheck page.",
            "dim",
        )

    def full(self) -> None:
        """All of it, nothing shortened."""
        story = self.story
        self.line(story.title, "bold")
        self.line(story.about, "dim")
        self.console.print()
        self.answers()
        self.failures()
        self.console.print()
        self.line(f"{story.summary} {story.usual}".strip(), "bold")
        self.readings()
        self.line(story.evidence)
        if story.clashes:
            self.heading("What clashes, the gravest first")
        for number, clash in enumerate(story.clashes, 1):
            self.clash(number, clash)
        self.house()
        self.claims()
        self.disproved(len(story.disproved))
        self.undecided()
        self.asks(story.asks)
        self.still_open()
        self.fits()
        self.closing(story.cautions)

    # The answer.

    def answers(self) -> None:
        """The short answer, a line for each question."""
        width = max((len(one.short) for one in self.story.answers), default=0) + 2
        for one in self.story.answers:
            words = (one.words, _STANDINGS.get(one.standing, ""))
            self.named(f"{capital(one.short)}:", [words], width)
        told = comes_out(self.story.outcomes)
        self.labelled("It comes out at:", told and f"{told}.", 0)

    def failures(self) -> None:
        """The rules that could not be computed."""
        for problem in self.story.failures:
            self.line(problem, "bold red")

    def readings(self) -> None:
        """What was understood from figures as they are printed, so that it can be contradicted."""
        readings = [one for one in self.story.check.build.readings if not one.bare]
        bare = [one.understood for one in self.story.check.build.readings if one.bare]
        if readings:
            self.line("Read as, where more was typed than a plain name and figure:")
        for one in readings:
            self.line(f"{one.typed} -> {one.understood}", indent=3)
        if bare:
            told = "; ".join(bare)
            self.line(f"Figures without a unit, each in the one that is plausible: {told}.")

    # What clashes.

    def title(self, number: int, clash: Clash, more: str = "") -> None:
        """The line of a clash."""
        self.wrapped(
            [
                f"{number}. ",
                (_MARKS[clash.severity], _STYLES[clash.severity]),
                "  ",
                (clash.title, "bold"),
                more,
                (f"  [{clash.rule}]", "dim"),
            ],
            hang=3,
        )

    def clash_in_short(self, number: int, clash: Clash) -> None:
        """A clash at its worst place, and what is first to mend it; a remark in a line."""
        worst = clash.worst
        if clash.severity == "advice":
            short = f": {lower(worst.short)}" if worst.short else ""
            self.title(number, clash, short)
            return
        self.title(number, clash)
        short = f" {worst.short}." if worst.short else ""
        others = [place.where for place in clash.places if place != worst and place.where]
        also = f" Also at {'; '.join(map(lower, others))}." if others else ""
        self.labelled(f"{worst.where}:" if worst.where else "", f"{worst.message}{short}{also}")
        if clash.remedy is not None:
            more = len(clash.remedies) - 1
            ways = f" ({counted(more, 'other way')})" if more else ""
            self.labelled("Mend:", f"{clash.remedy.words}{ways}", hang=6)

    def clash(self, number: int, clash: Clash) -> None:
        """One rule's clashes at all their places."""
        self.title(number, clash)
        for place in clash.places:
            self.labelled(f"{place.where}:" if place.where else "", place.message)
            self.line(f"{place.short}." if place.short else "", "bold", indent=3)
        self.labelled("Why:", clash.why)
        if len(clash.places) > 1:
            where = lower(clash.worst.where)
            self.line(f"What mends it, by the figures of the worst place ({where}):", indent=3)
        self.mends(clash.remedies)
        self.labelled("By:", "; ".join(clash.limits))
        self.labelled("Weakest figure:", clash.weakest)

    def mends(self, remedies: Iterable[Remedy]) -> None:
        """What mends it."""
        for number, mend in enumerate(remedies):
            self.labelled("Mend:" if number == 0 else "  or:", mend.words, hang=6)

    def house(self) -> None:
        """What the house decided for itself."""
        if self.story.house:
            self.heading("House limits and waivers")
        for text in self.story.house:
            self.line(text)

    # What is claimed.

    def claims_in_short(self) -> None:
        """What the seller says, where this build or the head does not keep to it."""
        off = [one for one in self.story.claims if not one.good]
        if off:
            self.heading("What the seller says")
        for one in off:
            self.line(f"- {one.subject}: {one.inside}; {one.works}")

    def claims(self) -> None:
        """What the seller says: inside it or not, and whether it holds good."""
        if self.story.claims:
            self.heading("What the seller says")
        for one in self.story.claims:
            self.wrapped(
                ["- ", (one.subject, "bold"), f": this build is {one.inside}; {one.works}"], hang=2
            )
            for place in one.outside:
                self.labelled(f"{place.where}:" if place.where else "", place.message, 2)

    def disproved(self, most: int) -> None:
        """The stated figures that measuring disproves, so many of them."""
        if self.story.said_twice:
            self.heading("Said twice, and not the same")
        for one in self.story.said_twice:
            self.line(f"- {one}")
        told = self.story.disproved
        if told:
            self.heading("What measuring disproves")
        for one in told[:most]:
            self.line(f"- {one}")
        if len(told) > most:
            self.line(f"- {counted(len(told) - most, 'more figure')}: fitcheck audit")

    # What cannot be told.

    def undecided(self) -> None:
        """What known figures leave open: measure finer, or decide."""
        told = self.story.undecided
        if told:
            self.heading("What known figures leave open")
        for disputed, words in _LEFT_OPEN.items():
            some = [one for one in told if one.disputed is disputed]
            self.line(words if some else "")
            for one in some:
                where = f" ({one.where})" if one.where else ""
                at = f" at {one.at}" if one.at else ""
                self.line(f"- {one.subject}{where}:{at} {one.figure}  [{one.rule}]", indent=2)
                self.line(f"weakest figure: {one.weakest}", "dim", indent=4)

    def asks(self, asks: list[Ask]) -> None:
        """The figures worth having, the first to ask for first."""
        check, ranked = self.story.check, self.story.asks
        if not asks:
            return
        few = len(asks) < len(ranked)
        self.heading(
            f"Worth having first, of {counted(len(ranked), 'figure')}" if few else "Worth having"
        )
        reason = None
        for number, ask in enumerate(asks, 1):
            if ask.reason is not reason:
                reason = ask.reason
                self.line(f"{capital(reason.words)}:")
            how = brief(ask) if few else work(ask)
            about = ask.why.removeprefix(f"{reason.words}: ")
            self.wrapped(
                [
                    f"{number}. ",
                    (ask.title, "bold"),
                    f"{ask_places(check, ask)} ({how}): {about}",
                ],
                hang=3,
            )
        if self.story.waiting and not few:
            told = ", ".join(self.story.waiting)
            self.line(f"These also wait for parts that are not listed: {told}.")

    def disputed(self) -> None:
        """The gravest of what the builder decides himself."""
        told = self.story.disputed
        more = f" and {len(told) - MOST_DISPUTED} more" if len(told) > MOST_DISPUTED else ""
        subjects = f"{', '.join(told[:MOST_DISPUTED])}{more}." if told else ""
        self.labelled("Practice disagrees, so you decide:", subjects, 0)

    def still_open(self, most: int | None = None) -> None:
        """What work and one look answer."""
        if self.story.work or self.story.looks:
            self.console.print()
        self.labelled("Work still to do:", _listed(self.story.work, most), 0)
        looks = _listed(self.story.looks, most)
        self.labelled("One look at the bare parts, held together:", looks, 0)

    # What fits.

    def fits(self) -> None:
        """What fits, by family."""
        if self.story.fits:
            self.heading("What fits")
        for family in self.story.fits:
            self.line(f"{family.title}:", "bold")
            for one in family.fits:
                where = f" ({one.where})" if one.where else ""
                margin = f": {one.margin}" if one.margin else ""
                self.line(f"- {one.subject}{where}{margin}", indent=2)

    def closing(self, cautions: Iterable[Minded]) -> None:
        """Cautions in full, and what rules over all of it."""
        told = list(cautions)
        if told:
            self.heading("Mind")
        for one in told:
            self.labelled(f"{one.title}:", one.text, 0)
        self.console.print()
        self.line(self.story.closing, "dim")


_LEFT_OPEN = {
    False: "Measure finer, or decide:",
    True: "Practice disagrees on these. No measurement settles them; the builder decides:",
}


def _listed(subjects: tuple[str, ...], most: int | None) -> str:
    more = len(subjects) - len(subjects[:most])
    return f"{', '.join(subjects[:most])}{f' and {more} more' if more else ''}." if subjects else ""
