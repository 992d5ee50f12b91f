"""Of which questions less is asked where all together leave no plan."""

from __future__ import annotations

from collections.abc import Iterable

from fitcheck.knowledge import SEVERITIES
from fitcheck.model import Position
from fitcheck.plan.question import Question, Strictness
from fitcheck.plan.search import Clause


def to_ask_less(why: Iterable[Question], *, give_up: bool) -> list[Question]:
    """Of questions that leave no plan those of which less can be asked, the least matter first.

    That is a remark, where more than remarks are asked about: first that the work does not bring
    it, then, before one is given up that no work brought, to fit for sure and at the figures aimed
    at; last, before a clash is given up, that what did not clash does not at the figures aimed at.
    """
    asked = [question for question in why if question.rule is not None]
    graver = any(not question.is_remark for question in asked)
    if graver:
        brought = [one for one in asked if one.is_remark and not one.clashed]
        for least in (Strictness.AIMED, Strictness.CLEAR):
            found = [one for one in brought if one.asks is least]
            if found and (least is Strictness.AIMED or give_up):
                return found
    strict = [question for question in asked if question.must_fit]
    if strict:
        return strict
    rungs = [(Strictness.AIMED, clashed) for clashed in (True, False)]
    if give_up:
        rungs.append((Strictness.CLEAR, True))
    for asks, clashed in rungs:
        for severity in reversed(SEVERITIES):
            found = [
                question
                for question in asked
                if question.asks is asks
                and question.rule is not None
                and question.rule.severity == severity
                and (question.clashed or not clashed or severity == "advice")
            ]
            if found:
                return found
    return []


def clashing_at(questions: Iterable[Question]) -> set[tuple[str, Position]]:
    """The clashes that some questions ask about, by rule and place."""
    return {(one.title, place) for one in questions if one.clashed for place in one.positions}


def reasons(clauses: Iterable[Clause]) -> list[Question]:
    """The questions behind some clauses, each once."""
    found = dict.fromkeys(clause.reason for clause in clauses)
    return [reason for reason in found if isinstance(reason, Question)]


def key_of(clause: Clause) -> object:
    """The key of the question behind a clause."""
    return clause.reason.key if isinstance(clause.reason, Question) else None
