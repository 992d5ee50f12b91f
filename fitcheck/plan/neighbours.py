"""Figures that nobody measured where they are, and that measurements beside them disprove.

Four chambers of one head measure 3 cc less than the paper says: the other two of that head are
hardly as it says. A plan that counts on the paper there is told so before anything is paid for.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from fitcheck.model import Attribute, Evidence, Fact, Position
from fitcheck.plan.made import Plan
from fitcheck.quantity import Interval

# One reading alone may be the one that is off.
_ENOUGH = 2


@dataclass(frozen=True, slots=True)
class OnPaper:
    """What is only said of some places, and what was measured at others of the same bank."""

    attribute: Attribute
    positions: tuple[Position, ...]
    said: Fact
    measured: Interval


def on_paper(plan: Plan) -> list[OnPaper]:
    """The figures that the work changes or mends by, and their neighbours disprove."""
    knowledge = plan.before.knowledge
    mended = {name for finding in plan.before.conflicts for name in finding.rule.inputs}
    names = sorted(plan.applied.changed & (mended | _worked(plan)))
    found: list[OnPaper] = []
    for name in names:
        attribute = knowledge.attributes[name]
        if attribute.kind is not None and attribute.each in ("cylinder", "valve"):
            found += _of(attribute, plan)
    return found


def _worked(plan: Plan) -> set[str]:
    return {name for work in plan.works if work.operation for name in work.operation.effects}


def _of(attribute: Attribute, plan: Plan) -> Iterator[OnPaper]:
    binding = plan.before.binding
    groups: dict[tuple[str | None, str | None], list[tuple[Position, Fact]]] = defaultdict(list)
    for at in plan.before.build.layout.positions(attribute.each):
        groups[at.bank, at.side].append((at, binding.fact(attribute.name, at)))
    for group in groups.values():
        read = [
            fact.interval
            for _, fact in group
            if fact.interval and fact.statement and fact.evidence is Evidence.MEASURED
        ]
        said: dict[int, tuple[Fact, list[Position]]] = {}
        for at, fact in group:
            if fact.interval and fact.statement and fact.evidence >= Evidence.CLAIMED:
                said.setdefault(id(fact), (fact, []))[1].append(at)
        for fact, positions in said.values():
            apart = all(fact.interval and not fact.interval.meets(one) for one in read)
            if len(read) >= _ENOUGH and apart:
                hull = Interval(min(one.lower for one in read), max(one.upper for one in read))
                yield OnPaper(attribute, tuple(positions), fact, hull)
