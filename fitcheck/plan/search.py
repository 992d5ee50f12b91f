"""Finds the cheapest choice of amounts that nothing speaks against, and proves it.

Each choice takes a whole number of steps, none included; its cost never falls as it grows. A box
of choices is then cheapest at its lowest corner. The cheapest box is taken, its corner is put to
a judge, and where the judge refuses it he gives reasons: each a clause of bounds, one of which
every allowed point keeps. Clauses hold everywhere, so what is learned in one box prunes all
others; a box whose corner no clause and no judge refuses is the cheapest answer.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import count, islice
from time import monotonic

Cost = tuple[Fraction, ...]
Point = Mapping[int, int]  # the steps of the choices that are made; the others are at none
# So many boxes are looked at before some answer is sought beside.
_PATIENCE = 64
# Seconds that are given however late it is.
LEAST_SECONDS = 0.1


@dataclass(frozen=True, slots=True)
class Bound:
    """`choice >= steps`, or with `most`, `choice <= steps`."""

    choice: int
    steps: int
    most: bool = False

    def holds(self, steps: int) -> bool:
        """Whether it holds at a number of steps."""
        return steps <= self.steps if self.most else steps >= self.steps


@dataclass(frozen=True, slots=True)
class Clause:
    """One of these bounds holds at every allowed point; `reason` is for whoever asks why."""

    bounds: tuple[Bound, ...]
    reason: object = None
    # There may be a thousand bounds of parts on offer, and a point makes few choices.
    _most: tuple[Bound, ...] = field(init=False, repr=False, compare=False)
    _least: dict[int, int] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Sort the bounds."""
        least: dict[int, int] = {}
        for bound in self.bounds:
            if not bound.most:
                least[bound.choice] = min(bound.steps, least.get(bound.choice, bound.steps))
        object.__setattr__(self, "_most", tuple(bound for bound in self.bounds if bound.most))
        object.__setattr__(self, "_least", least)

    def holds(self, point: Point) -> bool:
        """Whether a point keeps it."""
        least = self._least
        return any(point.get(one.choice, 0) <= one.steps for one in self._most) or any(
            choice in least and steps >= least[choice] for choice, steps in point.items()
        )


# Why a point is no answer, beyond the reasons that are known to speak against it.
Judge = Callable[[Point, frozenset[object]], Iterable[Clause]]


@dataclass(frozen=True, slots=True)
class Choice:
    """What can be chosen: up to `most` steps, at a cost for each number of steps."""

    most: int
    cost: Callable[[int], Cost]


@dataclass(frozen=True, slots=True)
class SearchResult:
    """What a search found.

    `point` is None where there is none (then `proven` tells that there can be none). `least` is
    what every answer costs at least; with `proven` it is the cost of the point itself.
    """

    point: dict[int, int] | None
    cost: Cost
    least: Cost
    proven: bool
    clauses: tuple[Clause, ...]
    looked_at: int
    halted: bool = False  # it learned something on which it was to stop


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search is: what every answer costs at least, what the best one found costs."""

    looked_at: int
    reasons: int
    least: Cost
    best: Cost | None


Told = Callable[[Progress], None]


@dataclass(order=True, slots=True)
class _Box:
    rank: Cost
    shallow: int  # of boxes that cost the same the one that was split most often comes first
    number: int
    low: dict[int, int] = field(compare=False)
    high: dict[int, int] = field(compare=False)


class WorkSearch:
    """One search; `run` gives its outcome."""

    def __init__(
        self,
        choices: Sequence[Choice],
        judge: Judge,
        nothing: Cost,
        seconds: float | None = None,
        told: Told | None = None,
        clauses: Iterable[Clause] = (),
        rivals: Iterable[Iterable[int]] = (),
        some: Callable[[], Point | None] | None = None,
        halts: Callable[[Clause], bool] | None = None,
    ) -> None:
        """Of each group of `rivals` one choice at most is made.

        `some` looks for an answer that need not be the cheapest, for when the search is long. The
        search ends when it learns a clause that `halts` it.
        """
        self.choices = choices
        self.judge = judge
        self.nothing = nothing
        self.until = None if seconds is None else monotonic() + seconds
        # By then there shall be some answer.
        self.soon = None if seconds is None else monotonic() + seconds / 8
        self.told = told
        self.some = some
        self.halts = halts
        self._halted = False
        self.clauses = list(clauses)
        self._groups: dict[int, list[int]] = {}
        for number, group in enumerate(rivals):
            for choice in group:
                # In the upper bounds of a box, whose keys are choices, a key below zero says which
                # of a group is made.
                self._groups.setdefault(choice, []).append(-1 - number)
        self.boxes: list[_Box] = []
        self.best: dict[int, int] | None = None
        self.best_cost: Cost = nothing
        self.looked_at = 0
        self._numbers = count()
        self._last_told = monotonic()

    def run(self) -> SearchResult:
        """Search until the answer is proven or the time is over."""
        least = self.nothing
        self._push({}, {}, 0)
        while self.boxes:
            box = heapq.heappop(self.boxes)
            again = self._least(box.low, box.high)  # more may have been learned since
            if again is None:
                continue
            rank, box.low, box.high = again
            if rank > box.rank:
                heapq.heappush(self.boxes, _Box(rank, box.shallow, box.number, box.low, box.high))
                continue
            least = box.rank
            if self.best is not None and least >= self.best_cost:
                return self._found(self.best, self.best_cost, self.best_cost, proven=True)
            if self.looked_at > _PATIENCE or over(self.soon):
                self._seek()
            if over(self.until):
                return self._found(self.best, self.best_cost, least, proven=False)
            self.looked_at += 1
            if self._learned(box.low) or self._violated(box.low):
                if self._halted:
                    return self._found(self.best, self.best_cost, least, proven=False)
                self._split(box)
            else:
                cost = self._cost(box.low)
                return self._found(box.low, cost, cost, proven=True)
            self._tell(least)
        return self._found(self.best, self.best_cost, self.best_cost, proven=True)

    def _found(
        self, point: dict[int, int] | None, cost: Cost, least: Cost, *, proven: bool
    ) -> SearchResult:
        made = None if point is None else {c: steps for c, steps in sorted(point.items()) if steps}
        return SearchResult(
            made, cost, least, proven, tuple(self.clauses), self.looked_at, self._halted
        )

    def _seek(self) -> None:
        """Looks for some answer, once."""
        some, self.some = self.some, None
        point = None if some is None else some()
        if point is not None:
            self.best, self.best_cost = dict(point), self._cost(point)

    def _tell(self, least: Cost) -> None:
        if self.told is not None and monotonic() - self._last_told > 2:
            self._last_told = monotonic()
            best = None if self.best is None else self.best_cost
            self.told(Progress(self.looked_at, len(self.clauses), least, best))

    # Boxes.

    def _cost(self, point: Point) -> Cost:
        total = self.nothing
        for choice, steps in point.items():
            if steps:
                total = summed(total, self.choices[choice].cost(steps))
        return total

    def _push(self, low: dict[int, int], high: dict[int, int], shallow: int) -> None:
        found = self._least(low, high)
        if found is not None and (self.best is None or found[0] < self.best_cost):
            box = _Box(found[0], shallow, next(self._numbers), found[1], found[2])
            heapq.heappush(self.boxes, box)

    def _violated(self, point: Point) -> list[Clause]:
        return [clause for clause in self.clauses if not clause.holds(point)]

    def _learned(self, point: Point) -> bool:
        """Whether the judge had anything to say of a point that was not known."""
        known = frozenset(clause.reason for clause in self._violated(point))
        learned = list(self.judge(point, known))
        self.clauses += learned
        self._halted = self.halts is not None and any(map(self.halts, learned))
        return bool(learned)

    def _high(self, choice: int, high: Point) -> int:
        for group in self._groups.get(choice, ()):
            if high.get(group, choice) != choice:
                return 0
        return high.get(choice, self.choices[choice].most)

    def _rivals_met(self, choice: int, high: dict[int, int]) -> bool:
        """Notes that a choice is made; whether one that excludes it is made too."""
        groups = self._groups.get(choice, ())
        for group in groups:
            high.setdefault(group, choice)
        return any(high[group] != choice for group in groups)

    def _open(self, clause: Clause, low: Point, high: Point) -> Iterator[Bound]:
        """The bounds of a clause that some point of a box keeps."""
        for bound in clause.bounds:
            if bound.most:
                if low.get(bound.choice, 0) <= bound.steps:
                    yield bound
            elif self._high(bound.choice, high) >= bound.steps:
                yield bound

    def _tightened(self, low: Point, high: Point) -> tuple[dict[int, int], dict[int, int]] | None:
        """The box without what clauses with one bound left rule out; None where nothing is left."""
        low, high = dict(low), dict(high)
        if any(self._rivals_met(choice, high) for choice, steps in low.items() if steps):
            return None
        again = True
        while again:
            again = False
            for clause in self.clauses:
                opened = list(islice(self._open(clause, low, high), 2))
                if not opened:
                    return None
                if len(opened) > 1:
                    continue
                bound = opened[0]
                if bound.most and self._high(bound.choice, high) > bound.steps:
                    high[bound.choice] = bound.steps
                    again = True
                elif not bound.most and low.get(bound.choice, 0) < bound.steps:
                    low[bound.choice] = bound.steps
                    if self._rivals_met(bound.choice, high):
                        return None
                    again = True
        return low, high

    def _extra(self, bound: Bound, low: Point) -> Cost:
        """What keeping a bound costs beyond the corner."""
        cost, now = self.choices[bound.choice].cost, low.get(bound.choice, 0)
        more = cost(bound.steps)
        return more if not now else tuple(a - b for a, b in zip(more, cost(now), strict=True))

    def _least(self, low: Point, high: Point) -> tuple[Cost, dict[int, int], dict[int, int]] | None:
        """What every allowed point of a box costs at least, and the box tightened.

        None where it has no such point. Clauses that share no choice must each be kept by a step
        of its own.
        """
        tight = self._tightened(low, high)
        if tight is None:
            return None
        low, high = tight
        violated = []
        for clause in self.clauses:
            if not clause.holds(low):
                opened = list(self._open(clause, low, high))
                violated.append((min(self._extra(bound, low) for bound in opened), opened))
        total, used = self._cost(low), set[int]()
        for extra, opened in sorted(violated, key=lambda one: one[0], reverse=True):
            names = {bound.choice for bound in opened}
            if used.isdisjoint(names):
                used |= names
                total = summed(total, extra)
        return total, low, high

    def _split(self, box: _Box) -> None:
        """The box with the cheapest bound of a violated clause kept, and that with it broken."""
        for low, high in self._parts(box.low, box.high):
            self._push(low, high, box.shallow - 1)

    def _parts(self, low: Point, high: Point) -> list[tuple[dict[int, int], dict[int, int]]]:
        """The two parts of a box, that with the bound kept first; none where no bound can be."""
        opened = min(
            (list(self._open(clause, low, high)) for clause in self._violated(low)), key=len
        )
        if not opened:
            return []
        bound = min(opened, key=lambda one: self._extra(one, low))
        kept = {**low, bound.choice: bound.steps}, dict(high)
        return [kept, (dict(low), {**high, bound.choice: bound.steps - 1})]


def rivals_to(groups: Iterable[Iterable[int]]) -> dict[int, set[int]]:
    """Of each choice in a group of rivals the others of its groups."""
    found: dict[int, set[int]] = {}
    for group in map(set, groups):
        for one in group:
            found.setdefault(one, set()).update(group - {one})
    return found


def over(until: float | None) -> bool:
    """Whether a time has come."""
    return until is not None and monotonic() > until


def time_left(until: float | None) -> float | None:
    """The seconds until a time, never quite none."""
    return None if until is None else max(LEAST_SECONDS, until - monotonic())


def summed(a: Cost, b: Cost) -> Cost:
    """What two things cost together."""
    return tuple(x + y for x, y in zip(a, b, strict=True))
