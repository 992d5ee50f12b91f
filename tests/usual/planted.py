"""Faults planted in whole engines: one figure moved to where the full measurements show a clash.

The page of the engine states that figure, wrong as it is. What is usual of its mates must then not
agree with it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from random import Random

from fitcheck.check import Check, Likely, check_build, recheck
from fitcheck.knowledge import Knowledge
from fitcheck.model import EVERYWHERE, Attribute, Evidence, Origin, Statement
from fitcheck.quantity import Interval, Quantity
from tests.usual.sparse import page_of

# How far a figure is moved, as shares of what it was: slight faults, gross ones, blunders.
MOVED = tuple(map(Fraction, ("0.7", "0.9", "0.97", "0.995", "1.005", "1.03", "1.1", "1.4")))


@dataclass(frozen=True)
class Planted:
    """One fault: the engine as it is with it, the rules that clash by it, what is called fitting."""

    what: str
    clashes: frozenset[str]
    called_fitting: frozenset[str]


def planted(sound: Check, knowledge: Knowledge, share: float, seed: int) -> Iterator[Planted]:
    """Faults of a sound engine that make a clash, a random share of all that were tried."""
    random = Random(seed)
    before = {finding.rule.id for finding in sound.conflicts}
    for statement in list(sound.build.statements()):
        if statement.selector != EVERYWHERE and statement.selector.cylinder is not None:
            continue
        for fault in _faults(statement):
            if random.random() < share:
                found = _planted(sound, fault, knowledge, before)
                if found.clashes:
                    yield found


def _planted(sound: Check, fault: Statement, knowledge: Knowledge, before: set[str]) -> Planted:
    build = sound.build.supposing([fault])
    after = recheck(sound, build, {fault.attribute.name})
    places = {
        (finding.rule.id, place)
        for finding in after.conflicts
        for place in finding.positions
        if finding.rule.id not in before
    }
    if not places:
        return Planted("", frozenset(), frozenset())
    page = check_build(page_of(build, knowledge, [fault.attribute.name]), knowledge)
    fitting = {
        finding.rule.id
        for finding in page.findings
        if page.likelihoods.standing(finding) is Likely.FITS
        and any((finding.rule.id, place) in places for place in finding.positions)
    }
    value = fault.value.text if isinstance(fault.value, Quantity) else fault.value
    what = f"{fault.attribute.name} {value}"
    return Planted(what, frozenset(rule for rule, _ in places), frozenset(fitting))


def _faults(statement: Statement) -> Iterator[Statement]:
    attribute, value = statement.attribute, statement.value
    if isinstance(value, Quantity):
        assert attribute.plausible is not None
        middle = value.interval.middle
        for share in MOVED:
            moved = middle * share if middle else attribute.plausible.upper * (share - 1)
            interval = Interval.point(moved)
            if interval.within(attribute.plausible) and moved != middle:
                text = f"{float(moved):.6g} mm, s, K or deg"
                yield _instead(statement, Quantity(value.kind, interval, text))
    elif isinstance(value, int):
        for bit in range(len(attribute.options)):
            if value != 1 << bit:
                yield _instead(statement, 1 << bit)


def _instead(statement: Statement, value: Quantity | int) -> Statement:
    attribute: Attribute = statement.attribute
    origin = Origin("planted")
    return Statement(attribute, statement.selector, Evidence.MEASURED, value, origin)
