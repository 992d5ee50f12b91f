"""What a figure may be when it is measured after the work: the conditions of a plan, as sizes."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from fitcheck.language import CONFLICT, FITS, SILENT, STRADDLES
from fitcheck.model import LEVELS, Attribute, Position, Selector
from fitcheck.plan.howfar import RuleRuns, how_far
from fitcheck.plan.made import Plan
from fitcheck.plan.work import covers
from fitcheck.plan.work_order import LastMeasurement
from fitcheck.quantity import System

Range = tuple[int, int]
_FIT = frozenset((FITS, SILENT))
_NO_CLASH = frozenset((FITS, SILENT, STRADDLES))


@dataclass(frozen=True, slots=True)
class Acceptance:
    """What a figure may be at some places: by the numbers of its `values`, or of its options.

    At `sure` all rules fit that it can settle, remarks among them; elsewhere than at `possible` one
    surely clashes.
    """

    attribute: Attribute
    positions: tuple[Position, ...]
    values: list[Fraction]
    sure: list[Range]
    possible: list[Range]


def acceptance(plan: Plan, reading: LastMeasurement, system: System) -> Iterator[Acceptance]:
    """How far a figure can go at the places where conditions rest on it, all else as planned.

    Nothing where no condition reads it, where no value of it is bounded, or where the plan predicts
    it: then the step says what it shall come to.
    """
    if not reading.undone:
        return
    conditions = {finding.rule.id for finding in plan.conditions}
    asked = {rule.id for rule in reading.rules} & conditions
    at = [
        position
        for position in reading.positions
        if any(
            covers(one, position) or covers(position, one)
            for finding in plan.conditions
            if finding.rule.id in asked
            for one in finding.positions
        )
    ]
    attribute = reading.attribute
    for group in plan.after.binding.groups(attribute.each, _inputs(plan, attribute)):
        here = tuple(position for position in group if position in at)
        if not here:
            continue
        first = here[0]
        where = Selector(None if first.cylinder else first.bank, first.cylinder, first.side)
        far = how_far(plan.after.build, plan.before.knowledge, attribute, where, system)
        # Mere advice counts where it is a condition itself.
        told = [
            one
            for one in far.judged
            if not one.only((CONFLICT,))
            and (one.binder.rule.severity != "advice" or one.binder.rule.id in conditions)
        ]
        settled = [one for one in told if any(code == FITS for *_, code in one.runs)]
        last = len(far.values) - 1
        possible = _where(told, last, _NO_CLASH)
        sure = _shared(_where(settled, last, _FIT), possible) if settled else []
        if _bounded(sure, possible, last):
            yield Acceptance(attribute, here, far.values, sure, possible)


def _inputs(plan: Plan, attribute: Attribute) -> list[str]:
    """What else the rules read that read a figure, as far as it is one at each of its places."""
    knowledge, level = plan.before.knowledge, LEVELS.index(attribute.each)
    read = {name for rule in knowledge.readers.get(attribute.name, ()) for name in rule.inputs}
    return sorted(n for n in read if LEVELS.index(knowledge.attributes[n].each) <= level)


def _where(judged: list[RuleRuns], last: int, codes: Collection[int]) -> list[Range]:
    """The runs of values at which each rule gives one of some answers."""
    starts = sorted({0, *(first for one in judged for first, _, _ in one.runs)})
    found: list[Range] = []
    for first, after in pairwise([*starts, last + 1]):
        if all(one.code(first) in codes for one in judged):
            if found and found[-1][1] == first - 1:
                found[-1] = found[-1][0], after - 1
            else:
                found.append((first, after - 1))
    return found


def _shared(some: list[Range], others: list[Range]) -> list[Range]:
    """What two lists of runs share."""
    ends = [(max(one[0], other[0]), min(one[1], other[1])) for one in some for other in others]
    return sorted((first, last) for first, last in ends if first <= last)


def _bounded(sure: list[Range], possible: list[Range], last: int) -> bool:
    """Whether some value is ruled out and some is not."""
    whole = [(0, last)]
    return bool(possible) and (possible != whole or (bool(sure) and sure != whole))
