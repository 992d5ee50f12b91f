"""The page of a check: the answer first, then what clashes, drawings, what is open, what fits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date

from fitcheck.check import Check
from fitcheck.model import group_name
from fitcheck.quantity import System
from fitcheck.report.drawings.making import drawing, module_of, tightest
from fitcheck.report.drawings.margins import parted, ranked, strip, waiting
from fitcheck.report.drawings.numbers import Numbers
from fitcheck.report.drawings.svg import Drawing
from fitcheck.report.given import given_rows
from fitcheck.report.house import house_summary
from fitcheck.report.html.frame import Section, Table, Told, cautions, render, stamp
from fitcheck.report.measure import ask_places, work
from fitcheck.report.phrases import capital, counted
from fitcheck.report.sections import Place
from fitcheck.report.story import MOST_ASKED, Story

STRIP_HEIGHT = 840.0  # units: two strips and their heading fill a printed page of Letter
_MOST_VALVES = 2


def page_of(check: Check, system: System, day: date) -> str:
    """The page, whole."""
    return render("check", **_CheckPage(check, system, day).words())


class _CheckPage:
    def __init__(self, check: Check, system: System, day: date) -> None:
        self.check = check
        self.system: System = system
        self.day = day
        self.story = Story(check, system)
        self.numbers = Numbers(check, system)

    def words(self) -> dict[str, object]:
        check, story = self.check, self.story
        found = [
            *self.house(),
            *self.drawings(),
            *self.claims(),
            *self.disproved(),
            *self.undecided(),
            *self.asks(),
            *self.margins(),
            *self.fits(),
            *self.given(),
        ]
        return {
            "kind": "Check",
            "title": story.title,
            "about": story.about,
            "answer": f"{story.summary} {story.usual}".strip(),
            "answers": [
                (_MARKS[one.standing], capital(one.title), capital(one.words))
                for one in story.answers
            ],
            "evidence": story.evidence,
            "readings": self.check.build.readings,
            "counts": [
                ("clash", f"{story.counts.clashes} clash"),
                ("open", f"{story.counts.open} cannot be told"),
                ("open", f"{story.counts.disputed} as practice disagrees"),
                ("fits", f"{story.counts.fits} fit"),
            ],
            "failures": story.failures,
            "clashes": [(clash, self.cautions(clash.at_work)) for clash in story.clashes],
            "severities": _SEVERITIES,
            "sections": found,
            "stamp": stamp(
                check.knowledge,
                self.system,
                self.day,
                build=check.build,
                house=self.house_words(),
            ),
        }

    def cautions(self, ids: Iterable[str]) -> tuple[Told, ...]:
        return cautions(self.check.knowledge, ids)

    # Drawings.

    def drawings(self) -> Iterator[Section]:
        found: list[Drawing] = []
        for name in ("stack", "bore", "piston-gap", "volumes"):
            most = _MOST_VALVES if module_of(name).EACH == "valve" else 1
            for same_places in tightest(name, self.numbers)[:most]:
                made = drawing(name, self.numbers, same_places[0])
                same = (
                    f"The same at {group_name(same_places, self.check.build.layout)}"
                    if len(same_places) > 1
                    else ""
                )
                told = ". ".join(filter(None, (made.caption, same)))
                found.append(replace(made, caption=told))
        if self.check.conflicts:
            found.append(drawing("parts", self.numbers))
        yield Section(
            "Drawings",
            "Of the places to look at soonest; to scale where lengths are drawn.",
            drawings=tuple(found),
        )

    def margins(self) -> Iterator[Section]:
        rows = ranked(self.check, self.system)
        if not rows:
            return
        parts = parted(rows, STRIP_HEIGHT)
        found = [strip(part, f"margins-{i}") for i, part in enumerate(parts, 1)]
        yield Section(
            "Margins, the tightest first", waiting(self.check).strip(), drawings=tuple(found)
        )

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
        """The stated figures that measuring disproves."""
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
            at_work = [
                str(caution)
                for ask in shown
                for caution in (ask.procedure.file.cautions if ask.procedure else ())
            ]
            yield Section(
                "What cannot be told yet",
                tables=tuple(table for table in tables if table.rows),
                cautions=self.cautions(at_work),
            )

    # What fits, and what all rests on.

    def fits(self) -> Iterator[Section]:
        rows = tuple(
            (capital(family.title), ", ".join(family.subjects)) for family in self.story.fits
        )
        if rows:
            table = Table("Each at all places or at some", ("About", "What fits"), rows)
            yield Section("What fits", tables=(table,))

    def given(self) -> Iterator[Section]:
        """The parts as listed and each figure as typed: the record."""
        tables = []
        for slot, parts in self.check.build.parts.items():
            title = capital(self.check.knowledge.classes[slot].title)
            names = list(dict.fromkeys(filter(None, (part.name for part in parts))))
            sellers = list(dict.fromkeys(filter(None, (part.seller for part in parts))))
            about = "; ".join([*names, *(f"from {seller}" for seller in sellers)])
            rows = tuple(row for part in parts for row in given_rows(part))
            tables.append(
                Table(
                    f"{title}: {about}" if about else title,
                    ("Figure", "As given", "Evidence"),
                    rows or (("No figures given", "", ""),),
                )
            )
        if tables:
            yield Section("What was given", tables=tuple(tables), narrow=True)


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


def _at(place: Place) -> str:
    return f"{place.where}: {place.message}" if place.where else place.message
