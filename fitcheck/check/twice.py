"""Two figures for one thing that do not meet: who gave each, and which to measure again."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from fitcheck.check.telling import describe_fact
from fitcheck.knowledge import Knowledge
from fitcheck.language import Node, variables
from fitcheck.model import Fact

# A date that nobody told counts as oldest, as it does between statements.
_UNDATED = date.min
_NO_PROCEDURE = 10**6


def who_says(ways: tuple[Node, Node], facts: Mapping[str, Fact], knowledge: Knowledge) -> str:
    """What each of two ways rests on, whose those figures are, and what to measure again."""
    beneath = [_given(way, facts) for way in ways]
    told = [
        f"{'The first' if i == 0 else 'The second'} rests on {_listed(given, knowledge)}."
        for i, given in enumerate(beneath)
        if given
    ]
    again = _doubtful([fact for given in beneath for fact in given], knowledge)
    if again is not None:
        told.append(f"Measure again first: {_title(again, knowledge)}.")
    return " ".join(told)


def _given(way: Node, facts: Mapping[str, Fact]) -> list[Fact]:
    found = [facts[name] for name in variables(way) if name in facts]
    return [fact for fact in found if fact.statement is not None]


def _listed(facts: list[Fact], knowledge: Knowledge) -> str:
    """The weakest few facts of a way, each with who says so."""
    ranked = sorted(facts, key=lambda fact: -fact.rank)
    told = [f"{_title(fact, knowledge)}, {describe_fact(fact)}" for fact in ranked[:2]]
    more = len(ranked) - len(told)
    return "; ".join(told) + (f"; and {more} more" if more else "")


def _doubtful(facts: list[Fact], knowledge: Knowledge) -> Fact | None:
    """The figure to doubt first: the least known, of those the oldest, of those the quickest."""

    def key(fact: Fact) -> tuple[float, date, int]:
        when = fact.statement.origin.when if fact.statement is not None else None
        procedure = knowledge.procedures.get(fact.attribute.measure)
        return -fact.rank, when or _UNDATED, procedure.minutes if procedure else _NO_PROCEDURE

    return min(facts, key=key, default=None)


def _title(fact: Fact, knowledge: Knowledge) -> str:
    return f"{knowledge.classes[fact.attribute.slot].title}, {fact.attribute.title}"
