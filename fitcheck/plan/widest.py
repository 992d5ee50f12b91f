"""Why a point is refused, as widely as can be said: one clause for a whole box of points."""

from __future__ import annotations

from collections.abc import Mapping

from fitcheck.plan.question import Question
from fitcheck.plan.refusal import Refusal
from fitcheck.plan.search import Bound, Clause, Cost, Point


class Widest:
    """Makes clauses; `most` are the steps of each stage, `cheapest` what its first one costs."""

    def __init__(
        self, refusal: Refusal, most: Mapping[int, int], cheapest: Mapping[int, Cost]
    ) -> None:
        self.refusal = refusal
        self.most = most
        self.cheapest = cheapest

    def clause(self, question: Question, point: Point) -> Clause:
        """The clause that a question gives for a point that it refuses."""
        box = {stage: (point.get(stage, 0),) * 2 for stage in question.acting}
        if self.refusal.everywhere(question, box):
            # Cheap steps first: what is left to be done shall cost much, and prune much.
            for stage in sorted(question.acting, key=self.cheapest.__getitem__):
                self._widen(question, box, stage)
        else:
            box = {stage: (point.get(stage, 0),) * 2 for stage in question.touching}
        bounds = []
        for stage, (low, high) in box.items():
            if low > 0:
                bounds.append(Bound(stage, low - 1, most=True))
            if high < self.most[stage]:
                bounds.append(Bound(stage, high + 1))
        return Clause(tuple(bounds), question)

    def _widen(self, question: Question, box: dict[int, tuple[int, int]], stage: int) -> None:
        low, high = box[stage]
        box[stage] = (0, self.most[stage])
        if self.refusal.everywhere(question, box):
            return
        high = self._farthest(question, box, stage, (low, high), self.most[stage])
        low = self._farthest(question, box, stage, (low, high), 0)
        box[stage] = (low, high)

    def _farthest(
        self,
        question: Question,
        box: dict[int, tuple[int, int]],
        stage: int,
        kept: tuple[int, int],
        end: int,
    ) -> int:
        """How far one side of the box can be moved towards an end."""
        up = end > 0
        good, bad = (kept[1] if up else kept[0]), end
        while good != bad:
            middle = (good + bad + (1 if up else 0)) // 2
            box[stage] = (kept[0], middle) if up else (middle, kept[1])
            if self.refusal.everywhere(question, box):
                good = middle
            else:
                bad = middle - 1 if up else middle + 1
        return good
