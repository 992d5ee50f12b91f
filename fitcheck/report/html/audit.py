"""The page of a claim audit: each claimed or ordered figure against its measurement."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from fitcheck.check import BuildCheck
from fitcheck.check.records.audit import Audited, ClaimOutcome, audit
from fitcheck.check.telling import value_text
from fitcheck.model import Evidence
from fitcheck.quantity import System
from fitcheck.report.audit import AuditWords, audit_answer
from fitcheck.report.html.frame import Section, Table, render, stamp
from fitcheck.report.phrases import capital
from fitcheck.report.story import Story

_SECTIONS = {
    Evidence.CLAIMED: ("Claimed against measured", "Claimed"),
    Evidence.PREDICTED: ("Ordered against measured", "Ordered"),
}
_STATES = {ClaimOutcome.OUTSIDE: "clash", ClaimOutcome.OPEN: "open", ClaimOutcome.WITHIN: "fits"}


def page_of(check: BuildCheck, system: System, day: date, handbook: str = "") -> str:
    """The page of all that is claimed or ordered in a check's build."""
    story = Story(check, system)
    return audit_page(audit(check.build), story, day)


def audit_page(found: list[Audited], story: Story, day: date) -> str:
    """The page of an audit."""
    build, knowledge = story.check.build, story.check.knowledge
    words = AuditWords(build, knowledge, story.system)
    counts = {outcome: sum(one.outcome is outcome for one in found) for outcome in ClaimOutcome}
    return render(
        "audit",
        kind="Claim audit",
        title=build.title,
        about=build.about,
        answer=audit_answer(found, story.claims),
        counts=[(_STATES[out], f"{counts[out]} {out.value}") for out in _STATES],
        letters=list(words.letters(found)),
        sections=list(_sections(found, words)),
        stamp=stamp(knowledge, story.system, day, build=build),
    )


def _sections(found: list[Audited], words: AuditWords) -> Iterator[Section]:
    for evidence, (title, said) in _SECTIONS.items():
        own = [one for one in found if one.said.evidence is evidence]
        rows = tuple(_row(one, words) for one in own if one.measured is not None)
        rest = tuple(_row(one, words)[:2] for one in own if one.measured is None)
        head = ("Figure", said, "Measured", "Outcome")
        tables = (Table("The worst first", head, rows), Table("Not measured", head[:2], rest))
        if own:
            yield Section(title, tables=tables)


def _row(one: Audited, words: AuditWords) -> tuple[str, ...]:
    part = words.knowledge.classes[one.attribute.slot].title
    figure = f"{capital(part)}: {one.attribute.title}{words.where(one)}"
    said = f"{value_text(one.said)}{words.tolerance(one.said)}"
    measured = one.measured
    read = f"{value_text(measured)}{words.range(measured)}" if measured else ""
    return figure, said, read, capital(f"{one.outcome.value}{words.off(one)}")
