"""The page of a check: the answer first, then what clashes, drawings, what is open, what fits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from fractions import Fraction

from fitcheck.check import Check, Finding, Verdict
from fitcheck.check.claims import ClaimJudged
from fitcheck.check.measuring.asks import asks
from fitcheck.model import group_name
from fitcheck.quantity import System
from fitcheck.report.drawings.making import drawing, module_of, tightest
from fitcheck.report.drawings.margins import parted, ranked, strip, waiting
from fitcheck.report.drawings.numbers import Numbers, state
from fitcheck.report.drawings.svg import Drawing
from fitcheck.report.given import evidence_line, given_rows
from fitcheck.report.house import house_lines, house_summary
from fitcheck.report.html.frame import Section, Table, Told, cautions, render, stamp
from fitcheck.report.measure import ask_places, work
from fitcheck.report.phrases import (
    alike,
    capital,
    margin_line,
    missing_words,
    places,
    subjects,
    summary,
    weakest_line,
)
from fitcheck.source import frozen

STRIP_HEIGHT = 840.0  # units: two strips and their heading fill a printed page of Letter
MOST_ASKED = 15
_MOST_VALVES = 2


@frozen
class Place:
    """What a clash says at some places."""

    where: str
    message: str
    short: str


@frozen
class Clash:
    """One rule's conflicts, ready to be laid out."""

    severity: str
    word: str
    title: str
    places: tuple[Place, ...]
    why: str
    mends_lead: str
    mends: tuple[str, ...]
    cautions: tuple[Told, ...]
    weakest: str


def page_of(check: Check, system: System, day: date) -> str:
    """The page, whole."""
    return render("check", **_CheckPage(check, system, day).words())


class _CheckPage:
    def __init__(self, check: Check, system: System, day: date) -> None:
        self.check = check
        self.system: System = system
        self.day = day
        self.numbers = Numbers(check, system)

    def words(self) -> dict[str, object]:
        check, build = self.check, self.check.build
        found = [
            *self.house(),
            *self.drawings(),
            *self.claims(),
            *self.undecided(),
            *self.margins(),
            *self.fits(),
            *self.given(),
        ]
        return {
            "kind": "Check",
            "title": build.title,
            "about": build.about,
            "answer": summary(check),
            "evidence": evidence_line(check),
            "counts": list(self.counts()),
            "failures": [str(problem) for problem in check.failures],
            "clashes": [self.clash(findings) for findings in self.by_rule()],
            "sections": found,
            "stamp": stamp(
                check.knowledge, self.system, self.day, build=build, house=self.house_words()
            ),
        }

    def counts(self) -> Iterator[tuple[str, str]]:
        """The questions by their answer, as the summary counts them: each by its worst place."""
        states = Counter(state(finding) for finding in self.check.worst_by_rule)
        for name, words in (("clash", "clash"), ("open", "cannot be told"), ("fits", "fit")):
            yield name, f"{states[name]} {words}"

    # What clashes.

    def by_rule(self) -> list[list[Finding]]:
        found: dict[str, list[Finding]] = {}
        for finding in self.check.conflicts:
            found.setdefault(finding.rule.id, []).append(finding)
        return list(found.values())

    def clash(self, findings: list[Finding]) -> Clash:
        check, rule = self.check, findings[0].rule
        hardest = max(findings, key=_most_missing)
        mends = hardest.mends(self.system)
        shown = [mend for mend in mends if mend.enough] or mends
        at_work = [*rule.file.cautions]
        for mend in shown:
            at_work += mend.operation.file.cautions if mend.operation else ()
        told = self.places(findings)
        where = places(hardest, check.build.layout)
        lead = (
            f"What mends it, by the figures of the worst place ({where}):"
            if len(told) > 1
            else "What mends it:"
        )
        return Clash(
            rule.severity,
            _SEVERITIES[rule.severity],
            capital(str(rule.file.title)),
            told,
            str(rule.file.why),
            lead,
            tuple(
                capital(mend.text) + (f" ({mend.fix.note})" if mend.fix.note else "")
                for mend in shown
            ),
            cautions(check.knowledge, at_work),
            weakest_line(check, hardest),
        )

    def places(self, findings: list[Finding]) -> tuple[Place, ...]:
        """What is said where, each saying once."""
        told = alike(
            findings,
            self.check.build.layout,
            lambda finding: (finding.message(self.system), missing_words(finding, self.system)),
        )
        return tuple(Place(capital(where), *map(capital, words)) for where, words in told)

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
        lines = house_lines(self.check, self.system)
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
        told: dict[str, list[ClaimJudged]] = {}
        for claim in self.check.claims:
            if not claim.finding.missing:
                told.setdefault(claim.finding.rule.id, []).append(claim)
        rows = [row for claims in told.values() for row in self.claim(claims)]
        if rows:
            head = ("The seller speaks of", "This build is", "What the claim covers")
            yield Section(
                "What the seller says",
                tables=(Table("Claims of the whole, against this build", head, tuple(rows)),),
            )

    def claim(self, claims: list[ClaimJudged]) -> Iterator[tuple[str, ...]]:
        hardest = min(claims, key=lambda claim: _WORST_FIRST.index(claim.finding.verdict))
        finding = hardest.finding
        inside = _INSIDE[finding.verdict]
        outside = [c.finding for c in claims if c.finding.verdict is Verdict.CONFLICT]
        messages = self.places(outside)
        told = " ".join(
            f"{place.where}: {place.message}" if place.where else place.message
            for place in messages
        )
        against = f": {subjects(hardest.against)}" if hardest.against else ""
        yield (
            capital(str(finding.rule.file.subject)),
            f"{inside}. {told}".strip(),
            f"{capital(hardest.works.value)}{against}",
        )

    # What is open.

    def undecided(self) -> Iterator[Section]:
        check = self.check
        straddling = tuple(self.straddling())
        worth = [ask for ask in asks(check) if ask.listed]
        tables = [
            Table(
                "Known figures that leave both answers open: measure finer, or decide",
                ("Question", "Figure", "Weakest figure"),
                straddling,
            )
        ]
        rows: list[tuple[str, ...]] = []
        at_work: list[object] = []
        for ask in worth[:MOST_ASKED]:
            at_work += ask.procedure.file.cautions if ask.procedure else ()
            title = f"{capital(ask.title)}{ask_places(check, ask)}"
            rows.append((title, capital(work(ask)), capital(ask.why)))
        rest = len(worth) - MOST_ASKED
        more = f"; {rest} more are told by fitcheck measure" if rest > 0 else ""
        tables.append(
            Table(
                f"What to measure or ask first, by what it would change{more}",
                ("Measure or ask", "How", "Why"),
                tuple(rows),
            )
        )
        if straddling or rows:
            yield Section(
                "What cannot be told yet",
                tables=tuple(tables),
                cautions=cautions(check.knowledge, at_work),
            )

    def straddling(self) -> Iterator[tuple[str, ...]]:
        by_rule: dict[str, list[Finding]] = {}
        for finding in self.check.of(Verdict.STRADDLES):
            by_rule.setdefault(finding.rule.id, []).append(finding)
        for findings in by_rule.values():
            subject = capital(str(findings[0].rule.file.subject))
            for where, words in alike(findings, self.check.build.layout, self.figure_words):
                yield subject + (f", {where}" if where else ""), *words

    def figure_words(self, finding: Finding) -> tuple[str, str]:
        """The figure with what is wanted of it, and the weakest figure behind it."""
        figure = capital(margin_line(finding, self.system))
        return figure, capital(weakest_line(self.check, finding))

    # What fits, and what all rests on.

    def fits(self) -> Iterator[Section]:
        by_family: dict[str, list[Finding]] = {}
        for finding in self.check.fits:
            by_family.setdefault(finding.rule.family_words, []).append(finding)
        rows = tuple(
            (capital(family), subjects(tuple(findings), most=99))
            for family, findings in by_family.items()
        )
        if rows:
            yield Section(
                "What fits",
                tables=(
                    Table(
                        "Each at all places or at some",
                        ("About", "What fits"),
                        rows,
                    ),
                ),
            )

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
_WORST_FIRST = (Verdict.CONFLICT, Verdict.STRADDLES, Verdict.UNMEASURED, Verdict.FITS)
_INSIDE = {
    Verdict.FITS: "Inside the claim",
    Verdict.CONFLICT: "Outside the claim",
    Verdict.STRADDLES: "At the edge of the claim",
    Verdict.UNMEASURED: "Not to be told yet",
}


def _most_missing(finding: Finding) -> Fraction:
    return finding.shortfall.upper if finding.shortfall else Fraction(0)
