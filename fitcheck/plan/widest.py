"""Why a point is refused, as widely as can be said: one clause for a whole box of points."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from fitcheck.plan.question import Question
from fitcheck.plan.refusal import Refusal
from fitcheck.plan.search import Bound, Clause, Point, rivals_to

Bounds = dict[int, tuple[int, int]]
# After so many rivals that a question allows it is not asked about the dearer ones.
_ALLOWED = 8
# So many are tried alone before all together.
_FIRST = 3


class Widest:
    """Makes clauses; `most` are the steps of each stage, `cheapest` its rank by what one costs.

    Of each group of `rivals` one stage at most is done. So rivals of one that is done need not be
    spoken of, and those of none are each tried alone.
    """

    def __init__(
        self,
        most: Mapping[int, int],
        cheapest: Mapping[int, int],
        rivals: Iterable[Iterable[int]] = (),
    ) -> None:
        self.most = most
        self.cheapest = cheapest
        self._rivals = rivals_to(rivals)

    def clause(self, question: Question, point: Point, refusal: Refusal) -> Clause:
        """The clause that a question gives for a point that it refuses."""
        box = {stage: (point.get(stage, 0),) * 2 for stage in question.acting}
        if refusal.everywhere(question, box):
            # Cheap steps first: what is left to be done shall cost much, and prune much. More of
            # what is done anyway costs least, and of that first what has the finest steps.
            stages = sorted(
                question.acting,
                key=lambda one: (
                    (0, -self.most[one]) if box[one][0] else (1, 0),
                    self.cheapest[one],
                ),
            )
            alone = [one for one in stages if one not in self._rivals or box[one][0]]
            # Upward first: the search comes from below, and is held there by what others ask.
            partly = [stage for stage in alone if not self._widen(question, box, stage, refusal)]
            for stage in partly:
                low, high = box[stage]
                low = self._farthest(question, box, stage, (low, high), 0, refusal)
                box[stage] = (low, high)
            self._widen_rivals(question, box, [s for s in stages if s in self._rivals], refusal)
        else:
            box = {stage: (point.get(stage, 0),) * 2 for stage in question.touching}
        return Clause(tuple(self._bounds(box)), question)

    def _bounds(self, box: Bounds) -> Iterable[Bound]:
        excluded = self._excluded(box)
        for stage, (low, high) in box.items():
            if low > 0:
                yield Bound(stage, low - 1, most=True)
            if high < self.most[stage] and stage not in excluded:
                yield Bound(stage, high + 1)

    def _excluded(self, box: Bounds) -> set[int]:
        """The stages that no point of a box does, for a rival of theirs is done."""
        return {rival for stage, (low, _) in box.items() if low for rival in self._rival_to(stage)}

    def _rival_to(self, stage: int) -> set[int]:
        return self._rivals.get(stage, set())

    def _widen_rivals(
        self, question: Question, box: Bounds, stages: list[int], refusal: Refusal
    ) -> None:
        """Widens the box by rivals of which none is done: all together, else each alone."""
        left = [stage for stage in stages if not box[stage][1]]
        waiting = set(left) - self._excluded(box)
        while waiting:
            first = next(stage for stage in left if stage in waiting)
            group = [s for s in left if s in waiting and (s == first or s in self._rivals[first])]
            waiting -= set(group)
            done = {stage: span for stage, span in box.items() if span[1]}
            box |= self._refused(group, question, done, refusal)

    def _refused(
        self, group: list[int], question: Question, box: Bounds, refusal: Refusal
    ) -> Bounds:
        """The bounds of the rivals that may be done, each alone, without the box being allowed.

        The cheapest are tried first; where some are allowed the dearer ones are left open, for the
        search seldom comes to them. Where the first few are not, all may be refused together.
        """
        wide: Bounds = {}
        known: dict[object, bool] = {}
        allowed = 0
        for tried, stage in enumerate(sorted(group, key=self.cheapest.__getitem__)):
            span = 0, self.most[stage]
            if tried == min(_FIRST, len(group) - 1) and not allowed:
                together = {one: (0, self.most[one]) for one in group}
                if refusal.everywhere(question, box | together):
                    return together
            alike = refusal.brings(question, stage)
            if alike not in known:
                known[alike] = refusal.everywhere(question, box | {stage: span})
                allowed += not known[alike]
            if known[alike]:
                wide[stage] = span
            if allowed == _ALLOWED:
                break
        return wide

    def _widen(self, question: Question, box: Bounds, stage: int, refusal: Refusal) -> bool:
        """Widens the box by all of a stage, or else upward; tells whether by all."""
        low, high = box[stage]
        box[stage] = (0, self.most[stage])
        if refusal.everywhere(question, box):
            return True
        high = self._farthest(question, box, stage, (low, high), self.most[stage], refusal)
        box[stage] = (low, high)
        return False

    def _farthest(
        self,
        question: Question,
        box: Bounds,
        stage: int,
        kept: tuple[int, int],
        end: int,
        refusal: Refusal,
    ) -> int:
        """How far one side of the box can be moved towards an end."""
        up = end > 0
        good, bad = (kept[1] if up else kept[0]), end
        while good != bad:
            middle = (good + bad + (1 if up else 0)) // 2
            box[stage] = (kept[0], middle) if up else (middle, kept[1])
            if refusal.everywhere(question, box):
                good = middle
            else:
                bad = middle - 1 if up else middle + 1
        return good
