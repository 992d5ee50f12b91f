"""Cuts the values of one attribute into runs for which a rule gives one answer."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from heapq import heappop, heappush

from fitcheck.check.measuring.trial import Facts
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.language import CONFLICT, FITS, SILENT, STRADDLES
from fitcheck.model.evidence import SUPPOSED
from fitcheck.plan.reach import RangeWalk, Reach

Run = tuple[int, int, int]
# As many values are asked one by one: no dearer than another try to prove them at once.
FEW = 5
# So many ranges and values together; what can be proved takes far fewer.
MOST_TRIES = 150


class Pieces:
    """One rule at one place, with an attribute free to take any value within a range."""

    def __init__(self, rule: Rule, facts: Facts, name: str, knowledge: Knowledge) -> None:
        condition = knowledge.condition(rule)
        self._count = len(condition.clauses)
        self._walk = RangeWalk(
            [
                *condition.applies,
                *(clause.certain for clause in condition.clauses),
                *(clause.possible for clause in condition.clauses),
            ]
        )
        self._reaches = {other: Reach.of(fact) for other, fact in facts.items()}
        self._name = name
        self.proved = True

    def runs(self, values: list[Fraction], code: Callable[[int], int]) -> list[Run]:
        """The answer at every value, neighbours with one answer joined.

        `code` gives the answer at one value; it is asked only where no range proves it. The widest
        pieces come first. Where no more is proved after MOST_TRIES, pieces between the values
        asked count as their ends do, a piece with two answers is halved down to where they turn,
        and `proved` is False.
        """
        runs: list[Run] = []
        tries = 0
        heap = [(1 - len(values), 0, len(values) - 1)]
        while heap and tries < MOST_TRIES:
            _, first, last = heappop(heap)
            if last - first < FEW:
                runs += [(at, at, code(at)) for at in range(first, last + 1)]
                tries += last - first + 1
                continue
            tries += 1
            sure = self._sure(values[first], values[last])
            if sure is not None:
                runs.append((first, last, sure))
            else:
                middle = (first + last) // 2
                for part in ((first, middle), (middle + 1, last)):
                    heappush(heap, (part[0] - part[1], *part))
        self.proved = not heap
        for _, first, last in heap:
            runs += _between(first, last, code)
        return _joined(sorted(runs))

    def _sure(self, low: Fraction, high: Fraction) -> int | None:
        """The one answer that the rule gives over a range; None where it may give several."""
        ends = _outward(low, high)
        free = Reach(ends, ends, rank=(SUPPOSED, SUPPOSED))
        reaches = {**self._reaches, self._name: free}
        applies, may_apply, *demands = self._walk.over(reaches)
        certain, possible = _all(demands[: self._count]), _all(demands[self._count :])
        if not may_apply[1]:
            return SILENT
        if may_apply[0] and certain[0]:
            return FITS
        if applies[0] and may_apply[0] and not possible[1]:
            return CONFLICT
        may_fit = may_apply[1] and certain[1]
        may_conflict = applies[1] and not possible[0]
        return STRADDLES if may_apply[0] and not may_fit and not may_conflict else None


def _between(first: int, last: int, code: Callable[[int], int]) -> list[Run]:
    """A piece as its ends have it, halved where they differ."""
    runs: list[Run] = []
    stack = [(first, last)]
    while stack:
        first, last = stack.pop()
        if code(first) == code(last):
            runs.append((first, last, code(first)))
        else:
            middle = (first + last) // 2
            stack += [(first, middle), (middle + 1, last)]
    return runs


def _outward(low: Fraction, high: Fraction) -> tuple[float, float]:
    """The ends as floats, moved outward by more than their rounding."""
    ends = float(low), float(high)
    return ends[0] - abs(ends[0]) * 2**-50, ends[1] + abs(ends[1]) * 2**-50


def _all(truths: list[tuple[bool, bool]]) -> tuple[bool, bool]:
    return all(one[0] for one in truths), all(one[1] for one in truths)


def _joined(runs: list[Run]) -> list[Run]:
    joined: list[Run] = []
    for first, last, code in runs:
        if joined and joined[-1][2] == code:
            joined[-1] = joined[-1][0], last, code
        else:
            joined.append((first, last, code))
    return joined
