"""Looks for some plan as a person would: mend one thing, see what that spoils, mend it too.

It proves nothing. It is for builds on which a search by cost would not end in time.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

from fitcheck.plan.question import Question
from fitcheck.plan.questions import Questions
from fitcheck.plan.search import Choice, Clause, Cost, Point, over, rivals_to, summed
from fitcheck.plan.stages import NOTHING, Stages

# Turns without less refused after which it is given up.
_PATIENCE = 25
# So many amounts of a work are tried before the least that serves is looked for between two.
_TRIED = 8
Asked = Question | Clause
# How bad and how dear a choice of works is, the works, and what refuses them.
Turn = tuple[tuple[int, Cost], dict[int, int], dict[Asked, None]]


class Repair:
    """One look for a plan: from where it starts, one work more, less or otherwise at a time.

    Of the works that answer a question the one is taken that leaves least refused then; what stays
    refused for long counts more and more, and no choice of works is come back to.
    """

    def __init__(
        self,
        questions: Questions,
        stages: Stages,
        choices: Sequence[Choice],
        start: Mapping[int, int],
    ) -> None:
        self.questions = questions
        self.choices = choices
        self.point = dict(start)  # where it is
        self._seen = {frozenset(self.point.items())}
        self._clauses: dict[int, list[Clause]] = {}
        for clause in stages.clauses:
            for bound in clause.bounds:
                self._clauses.setdefault(bound.choice, []).append(clause)
        self._rivals = rivals_to(stages.rivals)
        self._alike: dict[int, list[int]] = {}  # the same work at other places
        by_operation: dict[str, list[int]] = {}
        for stage in stages.list:
            if stage.operation is not None:
                alike = by_operation.setdefault(stage.operation.id, [])
                alike.append(stage.number)
                self._alike[stage.number] = alike
        self._weight: dict[Asked, int] = {}
        self._often: Counter[Question] = Counter()  # how often each refused a move
        self.stuck: list[Question] = []  # what stayed refused where least did
        self.at_end = False  # whether it gave up before its time was over

    @property
    def met(self) -> list[Question]:
        """What it met and could not answer at once."""
        return [one for one in self._weight if isinstance(one, Question)]

    def run(self, until: float | None = None) -> dict[int, int] | None:
        """A choice of works that nothing refuses, none of them needless; None if it found none.

        Run again it goes on where it was, by what is asked then.
        """
        self.at_end = False
        asked = self._refused()
        least, turns = len(asked) + 1, 0
        while turns < _PATIENCE:
            turns += 1
            if not asked:
                return self._without_needless(self.point)
            if len(asked) < least:
                least, turns = len(asked), 0
                self.stuck = [one for one in asked if isinstance(one, Question)]
            best = None if over(until) else self._best(asked)
            if best is None:
                break
            rank, there, left = best
            if rank[0] >= self._badness(asked):
                for one in asked:
                    self._weight[one] = self._weight.get(one, 1) + 1
            self.point, asked = there, left
            self._seen.add(frozenset(there.items()))
        self.at_end = not over(until)
        return None

    def _refused(self) -> dict[Asked, None]:
        """All that refuses the point where it is."""
        found: dict[Asked, None] = dict.fromkeys(self.questions.refused_at(self.point))
        for clauses in self._clauses.values():
            found |= {one: None for one in clauses if not one.holds(self.point)}
        return found

    def _best(self, asked: dict[Asked, None]) -> Turn | None:
        """The best move for what weighs most, or for the next thing where that has none left."""
        for one in sorted(asked, key=lambda one: -self._weight.get(one, 1)):
            best: Turn | None = None
            for move in self._moves(one, self.point):
                if any(steps > self.choices[stage].most for stage, steps in move.items()):
                    continue
                there = self._moved(self.point, move)
                if frozenset(there.items()) in self._seen:
                    continue
                left = self._left(asked, self.point, there, None if best is None else best[0][0])
                if left is None:
                    continue
                rank = self._badness(left), self.cost(there)
                if best is None or rank < best[0]:
                    best = rank, there, left
            if best is not None:
                return best
        return None

    def _badness(self, asked: Iterable[Asked]) -> int:
        return sum(self._weight.get(one, 1) for one in asked)

    def cost(self, point: Point) -> Cost:
        """What a choice of works costs."""
        total = NOTHING
        for choice, steps in point.items():
            total = summed(total, self.choices[choice].cost(steps))
        return total

    def _moved(self, point: Point, move: Mapping[int, int]) -> dict[int, int]:
        """The point after a move; a part that is bought takes the place of another."""
        out = {rival for one, steps in move.items() if steps for rival in self._rivals.get(one, ())}
        there = {**point, **move}
        return {one: steps for one, steps in sorted(there.items()) if steps and one not in out}

    def _left(
        self, asked: Iterable[Asked], point: Point, there: Point, most: int | None
    ) -> dict[Asked, None] | None:
        """What refuses the point where a move ends: of what it bears on, and as before else.

        None where that is worse than `most`, which the rest is not asked for then.
        """
        changed = {stage for stage, _ in point.items() ^ there.items()}
        left: dict[Asked, None] = {}
        for clause in {one: None for stage in changed for one in self._clauses.get(stage, ())}:
            if not clause.holds(there):
                left[clause] = None
        for one in asked:
            if isinstance(one, Clause):
                if not one.holds(there):
                    left[one] = None
            elif one.reached.isdisjoint(changed):
                left[one] = None
        worse = self._badness(left)
        first = sorted(self.questions.touched_by(changed), key=lambda one: -self._often[one])
        for one in self.questions.refusing(first, there):
            if most is not None and worse > most:
                return None
            left[one] = None
            self._often[one] += 1
            worse += self._weight.get(one, 1)
        return None if most is not None and worse > most else left

    # What can be done about one thing.

    def _moves(self, asked: Asked, point: Point) -> Iterator[dict[int, int]]:
        if isinstance(asked, Clause):
            for bound in asked.bounds:
                yield {bound.choice: bound.steps}
            return
        found = False
        for stage in asked.touching:
            for steps in self._answering(asked, stage, point):
                found = True
                yield {stage: steps}
                alike = self._alike.get(stage, [])
                if len(alike) > 1:
                    yield dict.fromkeys(alike, steps)
        if not found:  # no work answers it alone
            for bound in self.questions.clause(asked, point).bounds:
                yield {bound.choice: bound.steps}

    def _answering(self, question: Question, stage: int, point: Point) -> Iterator[int]:
        """The steps of a stage nearest to those done at which a question is not refused."""
        most, now = self.choices[stage].most, point.get(stage, 0)
        tried = sorted({now, *(round(most * i / _TRIED) for i in range(_TRIED + 1))})
        good = {
            steps: steps != now and self._allows(question, stage, steps, point) for steps in tried
        }
        for low, high in pairwise(tried):
            if good[low] and not good[high] and high <= now:
                yield self._edge(question, stage, low, high, point)
            if good[high] and not good[low] and low >= now:
                yield self._edge(question, stage, high, low, point)

    def _edge(self, question: Question, stage: int, good: int, bad: int, point: Point) -> int:
        """The last good number of steps before a bad one."""
        while abs(good - bad) > 1:
            middle = (good + bad) // 2
            if self._allows(question, stage, middle, point):
                good = middle
            else:
                bad = middle
        return good

    def _allows(self, question: Question, stage: int, steps: int, point: Point) -> bool:
        there = self._moved(point, {stage: steps})
        return not self.questions.refuses(question, there)

    def _without_needless(self, point: dict[int, int]) -> dict[int, int]:
        """The point without works that it is allowed without, the dearest tried first."""
        for stage in sorted(
            point, key=lambda one: self.choices[one].cost(point[one]), reverse=True
        ):
            less = {one: steps for one, steps in point.items() if one != stage}
            if self._left((), point, less, 0) is not None:
                point = less
        return point
