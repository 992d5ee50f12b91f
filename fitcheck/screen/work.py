"""The work that mends a candidate's clashes, where machine work can: hours, and a shop's price."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from fitcheck.check import RuleFinding
from fitcheck.knowledge import Operation, Rule
from fitcheck.model import Position
from fitcheck.plan.prices import Prices
from fitcheck.screen.opening import Frame
from fitcheck.screen.screening import Screen


@dataclass(frozen=True, slots=True)
class CandidateWork:
    """What mends a candidate's clashes: each operation, in words, and at how many places.

    `price` is what a shop asks for all of it; None where the price of a step is not told.
    """

    steps: tuple[tuple[Operation, str, int], ...]
    hours: Fraction
    price: Fraction | None = None


def least_hours(found: Screen, rule: Rule) -> str:
    """The hours that mend a rule's clash at one place at least; endless where none can."""
    hours = [operation.hours.interval.middle for operation in found.frame.works(rule)]
    return f"{float(min(hours)) / 3600!r}e0" if hours else "1e9"


def work_for(frame: Frame, clashes: Sequence[RuleFinding], prices: Prices) -> CandidateWork | None:
    """The fewest hours that mend each clash; None where an operation is not enough for one."""
    ways: list[list[tuple[Operation, str, tuple[Position, ...]]]] = []
    for finding in clashes:
        mends = [m for m in frame.mends(finding) if m.enough]
        if not mends:
            return None
        ways.append([(m.operation, m.text, finding.positions) for m in mends if m.operation])
    best_: tuple[Fraction, dict[tuple[str, Position], tuple[Operation, str]]] | None = None

    def choose(
        at: int, hours: Fraction, done: dict[tuple[str, Position], tuple[Operation, str]]
    ) -> None:
        nonlocal best_
        if best_ is not None and hours >= best_[0]:
            return
        if at == len(ways):
            best_ = hours, done
            return
        for operation, text, positions in ways[at]:
            new = {
                (operation.id, p): (operation, text)
                for p in positions
                if (operation.id, p) not in done
            }
            more = operation.hours.interval.middle / 3600 * len(new)
            choose(at + 1, hours + more, done | new)

    choose(0, Fraction(0), {})
    assert best_ is not None
    steps: dict[str, tuple[Operation, str, int]] = {}
    for operation, text in best_[1].values():
        known = steps.get(operation.id)
        steps[operation.id] = (operation, known[1] if known else text, known[2] + 1 if known else 1)
    costs = [
        (one, places) for operation, _, places in steps.values() for one in [prices.of(operation)]
    ]
    told = [one * places for one, places in costs if one is not None]
    price = sum(told, Fraction(0)) if len(told) == len(costs) else None
    return CandidateWork(tuple(steps.values()), best_[0], price)
