"""The page of a check: the answer first, then what clashes, drawings, what is open, what fits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from fitcheck.check import BuildCheck
from fitcheck.model import Position, group_name
from fitcheck.quantity import System
from fitcheck.report.comes_out import comes_out
from fitcheck.report.drawings.making import beside, drawing, module_of, tightest
from fitcheck.report.drawings.margins import strips, waiting
from fitcheck.report.drawings.numbers import Numbers
from fitcheck.report.drawings.svg import Drawing
from fitcheck.report.given import given_rows
from fitcheck.report.handbook.links import Links
from fitcheck.report.house import house_summary
from fitcheck.report.html.frame import Section, Table, Typed, render, stamp
from fitcheck.report.measure import ask_places, work
from fitcheck.report.phrases import capital, counted, lower
from fitcheck.report.sections import Clash, Minded, PlaceWords
from fitcheck.report.story import MOST_ASKED, Story
from fitcheck.source import frozen

_MOST_VALVES = 2
_DRAWN = ("stack", "bore", "piston-gap", "volumes", "parts")


@frozen
class Card:
    """A clash as it stands on the page: its number, its cautions by name, what shows it."""

    number: int
    clash: Clash
    minded: tuple[Minded, ...]
    drawing: Drawing | None
    drawn_above: int


@frozen
class Given:
    """A part as listed, and what is said of it: on which evidence, what, as typed."""

    title: str
    about: Typed
    said: tuple[tuple[Typed, tuple[tuple[Typed, Typed], ...]], ...]


def page_of(check: BuildCheck, system: System, day: date, handbook: str = "") -> str:
    """The page, whole; `handbook` is where the handbook lies, as seen from the page."""
    return render("check", **_CheckPage(check, system, day, Links(handbook)).words())


class _CheckPage:
    def __init__(self, check: BuildCheck, system: System, day: date, links: Links) -> None:
        self.check = check
        self.system: System = system
        self.day = day
        self.links = links
        self.story = Story(check, system)
        self.numbers = Numbers(check, system)

    def words(self) -> dict[str, object]:
        check, story = self.check, self.story
        cards = self.cards()
        beside = {card.drawing.body for card in cards if card.drawing is not None}
        return {
            "kind": "Check",
            "title": story.title,
            "about": story.about,
            "story": story,
            "answers": [
                (_MARKS[one.standing], capital(one.title), capital(one.words))
                for one in story.answers
            ],
            "comes_out": comes_out(story.outcomes),
            "readings": self.check.build.readings,
            "counts": [
                *self.clashing(),
                ("open", f"{story.counts.open} cannot be told"),
                ("open", f"{story.counts.disputed} as practice disagrees"),
                ("fits", f"{story.counts.fits} fit"),
            ],
            "cards": cards,
            "severities": _SEVERITIES,
            "links": self.links,
            "sections": [
                *self.house(),
                *self.asks(),
                *self.undecided(),
                *self.claims(),
                *self.disproved(),
                *self.drawings(beside),
                *self.fits(),
            ],
            "given": list(self.given()),
            "stamp": stamp(
                check.knowledge,
                self.system,
                self.day,
                build=check.build,
                house=self.house_words(),
            ),
        }

    def clashing(self) -> Iterator[tuple[str, str]]:
        """The clashes and, counted apart as in the sentence above them, the remarks; red stands
        for nothing where there are none."""
        counts = self.story.counts
        if counts.clashes > counts.remarks:
            yield "clash", f"{counts.clashes - counts.remarks} clash"
        if counts.remarks:
            yield "clash", counted(counts.remarks, "remark")

    # What clashes.

    def cards(self) -> list[Card]:
        """The clashes; a drawing that shows several stands beside the first of them."""
        cards: list[Card] = []
        seen: dict[str, int] = {}
        told = zip(self.story.clashes, self.story.worst, strict=True)
        for number, (clash, worst) in enumerate(told, 1):
            made = beside(worst, self.numbers)
            above = seen.setdefault(made.body, number) if made is not None else number
            minded = self.story.minded(clash.at_work)
            shown = made if above == number else None
            cards.append(Card(number, clash, minded, shown, 0 if above == number else above))
        return cards

    # Drawings.

    def drawings(self, beside: set[str]) -> Iterator[Section]:
        """The drawings of the places to look at soonest, but for those beside a clash."""
        found: list[Drawing] = []
        not_drawn: list[str] = []
        for name in _DRAWN:
            most = _MOST_VALVES if module_of(name).EACH == "valve" else 1
            for same_places in tightest(name, self.numbers)[:most]:
                made = drawing(name, self.numbers, same_places[0])
                if made.lacks:
                    not_drawn.append(f"Not drawn is {lower(made.title)}: {made.lacks}")
                elif made.body not in beside:
                    found.append(self.captioned(made, same_places))
        found += strips(self.numbers)
        intro = "Of the places to look at soonest; to scale where lengths are drawn."
        told = " ".join([intro, *not_drawn, waiting(self.check).strip()])
        yield Section("Drawings", told, drawings=tuple(found))

    def captioned(self, made: Drawing, same_places: list[Position]) -> Drawing:
        """A drawing with what its caption says besides: at which places it looks the same."""
        same = (
            f"The same at {group_name(same_places, self.check.build.layout)}"
            if len(same_places) > 1
            else ""
        )
        return replace(made, caption=". ".join(filter(None, (made.caption, same))))

    # What the house decided.

    def house(self) -> Iterator[Section]:
        lines = self.story.house
        if lines:
            rows = tuple((line.strip().removeprefix("- "),) for line in lines[1:])
            yield Section(
                "House limits and waivers",
                lines[0],
                tables=(Table("Each decision of the house", ("Decision",), rows),),
            )

    def house_words(self) -> str:
        use = self.check.house
        return house_summary(use, len(self.check.waived)) if use is not None else ""

    # What is claimed.

    def claims(self) -> Iterator[Section]:
        rows = tuple(
            (
                capital(one.subject),
                ". ".join([capital(one.inside.lower()), *map(_at, one.outside)]),
                capital(one.works),
            )
            for one in self.story.claims
        )
        if rows:
            head = ("The seller speaks of", "This build is", "What the claim covers")
            yield Section(
                "What the seller says",
                tables=(Table("Claims of the whole, against this build", head, rows),),
            )

    def disproved(self) -> Iterator[Section]:
        """The figures said twice that do not meet, and those that measuring disproves."""
        twice = tuple((capital(one),) for one in self.story.said_twice)
        if twice:
            table = Table("One of the two is wrong", ("Figure",), twice)
            yield Section("Said twice, and not the same", tables=(table,))
        rows = tuple((capital(one),) for one in self.story.disproved)
        if rows:
            table = Table("What was measured holds", ("Figure",), rows)
            yield Section("What measuring disproves", tables=(table,))

    # What is open.

    def undecided(self) -> Iterator[Section]:
        head = ("Question", "Figure", "Weakest figure")
        told = self.story.undecided
        tables = tuple(
            Table(
                caption,
                head,
                tuple(
                    (
                        capital(one.subject) + (f", {one.where}" if one.where else ""),
                        (f"At {one.at}: " if one.at else "") + one.figure,
                        capital(one.weakest),
                    )
                    for one in told
                    if one.disputed is disputed
                ),
            )
            for disputed, caption in _LEFT_OPEN.items()
        )
        if told:
            yield Section(
                "What known figures leave open",
                tables=tuple(table for table in tables if table.rows),
            )

    def asks(self) -> Iterator[Section]:
        """The figures worth having, and what work and one look answer."""
        story = self.story
        shown = story.asks[:MOST_ASKED]
        rows = tuple(
            (capital(ask.title) + ask_places(self.check, ask), work(ask), capital(ask.why))
            for ask in shown
        )
        rest = len(story.asks) - len(shown)
        more = f"; {counted(rest, 'more figure')} can be asked for too" if rest else ""
        lists = tuple(
            (words, ", ".join(subjects))
            for words, subjects in (("Work still to do", story.work), ("One look", story.looks))
            if subjects
        )
        tables = [Table(f"The figures worth having first{more}", ("Figure", "How", "Why"), rows)]
        if lists:
            tables.append(
                Table("What no part's figure settles", ("Answered by", "Questions"), lists)
            )
        if rows or lists:
            yield Section(
                "What cannot be told yet", tables=tuple(table for table in tables if table.rows)
            )

    # What fits, and what all rests on.

    def fits(self) -> Iterator[Section]:
        rows = tuple(
            (capital(family.title), ", ".join(family.subjects)) for family in self.story.fits
        )
        if rows:
            table = Table("Each at all places or at some", ("About", "What fits"), rows)
            yield Section("What fits", tables=(table,))

    def given(self) -> Iterator[Given]:
        """The parts as listed and each figure as typed: the record."""
        for slot, parts in self.check.build.parts.items():
            names = list(dict.fromkeys(filter(None, (part.name for part in parts))))
            sellers = list(dict.fromkeys(filter(None, (part.seller for part in parts))))
            about = "; ".join([*names, *(f"from {seller}" for seller in sellers)])
            said: dict[str, list[tuple[Typed, Typed]]] = {}
            for what, value, evidence in (row for part in parts for row in given_rows(part)):
                said.setdefault(evidence, []).append((Typed(what), Typed(value)))
            told = tuple((Typed(capital(by)), tuple(rows)) for by, rows in said.items())
            yield Given(capital(self.check.knowledge.classes[slot].title), Typed(about), told)


_SEVERITIES = {"stop": "Stop", "serious": "Serious", "advice": "Remark"}
_MARKS = {
    "no": "clash",
    "likely not": "open",
    "ask": "open",
    "decide": "open",
    "look": "open",
    "likely": "open",
    "yes": "fits",
}
_LEFT_OPEN = {
    False: "Measure finer, or decide",
    True: "Practice disagrees on these, and no measurement settles them: the builder decides",
}


def _at(place: PlaceWords) -> str:
    return f"{place.where}: {place.message}" if place.where else place.message
