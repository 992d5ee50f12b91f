"""Facts and figures in words; of two figures for one thing that do not meet, who gave each."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from fitcheck.knowledge import Knowledge, kind_in
from fitcheck.language import Node, variables
from fitcheck.model import Evidence, Fact, Statement
from fitcheck.quantity import Interval, System, show

# A date that nobody told counts as oldest, as it does between statements.
_UNDATED = date.min
_NO_PROCEDURE = 10**6


def describe_fact(fact: Fact) -> str:
    """Where a fact comes from, in words."""
    if fact.evidence is Evidence.USUAL:
        return f"usual: {fact.text}"
    if not fact.given:
        return "not measured; the range plausible for such a part"
    if fact.statement is None:
        return fact.text or "as listed"
    origin = str(fact.statement.origin)
    return f"{fact.word} as {fact.text}" + (f" ({origin})" if origin else "")


def options_told(fact: Fact) -> str:
    """The options that a fact leaves open, in words."""
    words_ = [word for i, word in enumerate(fact.attribute.option_words) if fact.mask >> i & 1]
    return " or ".join(words_)


def show_node(node: Node, interval: Interval, system: System) -> str:
    """A node's interval in the kind that its parts are shown in."""
    kind = kind_in(node)
    return show(interval, kind, system) if kind else "?"


def value_text(statement: Statement) -> str:
    """What a statement says, as it was typed or in the words of its options."""
    attribute, value = statement.attribute, statement.value
    if isinstance(value, str):
        return value
    if isinstance(value, int):
        return ", ".join(word for i, word in enumerate(attribute.option_words) if value >> i & 1)
    return value.text


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
