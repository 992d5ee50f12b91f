"""How much of each work of a plan is done, where its cost does not tell."""

from __future__ import annotations

from collections.abc import Mapping

from fitcheck.plan.questions import Questions
from fitcheck.plan.stages import Stages
from fitcheck.plan.work import removes_metal, step_of


def settled(point: Mapping[int, int], questions: Questions, stages: Stages) -> dict[int, int]:
    """The point with no work much deeper than it must be, and none at the edge of what it may."""
    return _with_room(_trimmed(point, questions, stages), questions, stages)


def _trimmed(point: Mapping[int, int], questions: Questions, stages: Stages) -> dict[int, int]:
    """The point with each amount as small as the others allow: a cost often hides it."""
    kept = dict(point)
    for number in sorted(kept, key=lambda one: stages.costs(one, 1).metal, reverse=True):
        refused, good = 0, kept[number]
        while good - refused > 1:
            middle = (refused + good) // 2
            if questions.allows({**kept, number: middle}):
                good = middle
            else:
                refused = middle
        kept[number] = good
    return kept


def _with_room(point: Mapping[int, int], questions: Questions, stages: Stages) -> dict[int, int]:
    """The point with each amount off the edge of what is allowed, where that costs nothing.

    What can be undone is set to the middle. Metal is cut deeper by twice the work's tolerance
    at most, and never past the middle.
    """
    found = dict(point)
    for number, least in point.items():
        operation = stages.list[number].operation
        if operation is None or operation.amount is None or least == stages.most(number):
            continue
        room = (stages.most(number) - least) // 2
        if removes_metal(operation):
            room = min(room, int(-(-2 * operation.amount.tolerance // step_of(operation))))
        cost = stages.cost_of(number)
        while room and not (
            cost(least) == cost(least + room)
            and questions.allows({**found, number: least + 2 * room})
            and questions.allows({**found, number: least + room})
        ):
            room //= 2
        found[number] = least + room
    return found
