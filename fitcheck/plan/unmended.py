"""What a whole library of operations says of the questions that a narrower one left unmended."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from fitcheck.model import Position
from fitcheck.plan.less import clashing_at
from fitcheck.plan.question import Question, Strictness
from fitcheck.plan.questions import Questions
from fitcheck.plan.search import Judge, SearchResult, time_left

# Seconds for which one clash is looked at alone before all are together.
ALONE = 2.0
Sought = Callable[[Judge, float | None], SearchResult]


def unmended_alone(
    questions: Questions, search: Sought, why: Iterable[Question], until: float | None
) -> set[tuple[str, Position]]:
    """The clashes among some questions that the library does not mend even one by one."""
    asked = clashing_at(why)
    found: set[tuple[str, Position]] = set()
    for question in questions.clashing:
        places = clashing_at([question])
        if asked.isdisjoint(places):
            continue
        while question.asks > Strictness.CLEAR:
            question.ask(Strictness(question.asks - 1))
        judge = questions.judge_only([question, *questions.figures])
        alone = search(judge, min(ALONE, time_left(until) or ALONE))
        if alone.point is None and alone.proven:
            found |= places
    return found


def mended_together(
    questions: Questions, search: Sought, stuck: Collection[Question], until: float | None
) -> SearchResult:
    """What mends all of some questions, as little as is asked of them, whatever else it spoils."""
    asks = {(one.title, place): one.asks for one in stuck for place in one.positions}
    chosen = [one for one in questions.all if (one.title, one.positions[0]) in asks]
    for one in chosen:
        one.ask(asks[one.title, one.positions[0]])
    left = time_left(until)
    judge = questions.judge_only([*chosen, *questions.figures])
    return search(judge, None if left is None else left / 4)
