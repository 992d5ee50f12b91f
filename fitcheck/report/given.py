"""What a check rests on: the figures given, counted and one by one."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.check import BuildCheck
from fitcheck.check.telling import value_text
from fitcheck.check.values import selector_words
from fitcheck.model import EVERYWHERE, Part
from fitcheck.report.phrases import capital, counted

_KINDS = ("supposed", "measured", "predicted", "claimed", "assumed")


def evidence_line(check: BuildCheck) -> str:
    """How many given figures the findings rest on, by kind of evidence."""
    facts = {
        id(fact): fact
        for finding in check.findings
        for fact in finding.facts.values()
        if fact.attribute.slot in check.build.parts and fact.statement is not None
    }
    count = {word: sum(fact.word == word for fact in facts.values()) for word in _KINDS}
    told = ", ".join(f"{number} {word}" for word, number in count.items() if number)
    return (
        f"It rests on {counted(len(facts), 'given figure')}: {told}."
        if facts
        else "No figures are given."
    )


def given_rows(part: Part) -> Iterator[tuple[str, str, str]]:
    """Each thing said of a part: what and where, as given, on which evidence by whom."""
    for statement in part.statements:
        where = "" if statement.selector == EVERYWHERE else selector_words(statement.selector)
        title = capital(statement.attribute.title) + (f", {where}" if where else "")
        origin = str(statement.origin)
        evidence = "supposed" if statement.supposed else statement.evidence.word
        yield title, value_text(statement), f"{evidence} {origin}" if origin else evidence
