"""What to measure next: the measurements that can change an answer, the most telling first.

A measurement ranks by what it can settle (the gravity of each rule, the share of its places, and
how many measurements it takes together) for each minute of work. Each is proved before it is
proposed, and only as many are proved as are asked for.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction
from functools import cached_property

from fitcheck.check.checking import Check
from fitcheck.check.finding import Finding
from fitcheck.check.measuring.deciding import Question, Way
from fitcheck.check.measuring.fineness import finely
from fitcheck.knowledge import Procedure
from fitcheck.model import Attribute, Fact, Position
from fitcheck.source import frozen

WEIGHTS = {"stop": 9, "serious": 3, "advice": 1}
USUAL_MINUTES = 5
MOST_ASKED_FOR = 4


@frozen
class Proposal:
    """An attribute to measure, at the places where it can settle something, and how finely.

    `facts` is what is known at each of these places; `ways` the proof, one for each finding.
    """

    attribute: Attribute
    procedure: Procedure | None
    positions: tuple[Position, ...]
    facts: tuple[Fact, ...]
    ways: tuple[Way, ...]
    value: float

    @property
    def minutes(self) -> int:
        """The work at all places together."""
        each = self.procedure.minutes if self.procedure else USUAL_MINUTES
        return each * len(self.positions)

    @property
    def alone(self) -> tuple[Way, ...]:
        """What it can settle without another measurement."""
        return tuple(way for way in self.ways if not way.others)

    @property
    def together(self) -> tuple[Way, ...]:
        """What it can settle with others."""
        return tuple(way for way in self.ways if way.others)

    @cached_property
    def finely(self) -> Fraction | None:
        """The widest range that a reading may leave and still settle nearly all it can."""
        gravest = sorted(
            self.alone or self.ways,
            key=lambda way: (-WEIGHTS[way.finding.rule.severity], len(way.readings)),
        )
        found = [width for way in gravest[:MOST_ASKED_FOR] if (width := finely(way)) is not None]
        return min(found, default=None)


class Next:
    """The measurements worth making for a check, and the questions that none can settle."""

    def __init__(self, check: Check) -> None:
        self.check = check
        undecided = [finding for finding in check.all_findings if finding.verdict.undecided]
        self.questions = [Question(finding, check.build.parts) for finding in undecided]
        self._asking: dict[str, list[Question]] = defaultdict(list)
        for question in self.questions:
            for name in question.inputs:
                self._asking[name].append(question)

    def proposals(self) -> Iterator[Proposal]:
        """All measurements that can settle something, in order; found as they are asked for."""
        heap = [(-self._hoped(name), False, name) for name in self._asking]
        heapq.heapify(heap)
        proved: dict[str, Proposal] = {}
        while heap:
            _, known, name = heapq.heappop(heap)
            if known:
                yield proved[name]
                continue
            proposal = self._proved(name)
            if proposal is not None:
                proved[name] = proposal
                heapq.heappush(heap, (-proposal.value, True, name))

    @property
    def waiting(self) -> list[Finding]:
        """Undecided findings that need a part which is not listed."""
        return [q.finding for q in self.questions if not q.ways and self._unlisted(q.finding)]

    @property
    def beyond(self) -> list[Finding]:
        """Undecided findings on listed parts that no measurement settles.

        Practice disagrees on their limit, or the figures stand on it as nearly as can be told.
        """
        return [q.finding for q in self.questions if not q.ways and not self._unlisted(q.finding)]

    def _unlisted(self, finding: Finding) -> bool:
        parts = self.check.build.parts
        return any(
            fact.open and name != "side" and fact.attribute.slot not in parts
            for name, fact in finding.facts.items()
        )

    def _hoped(self, name: str) -> float:
        """The value if it could settle alone whatever asks for it: never less than it is."""
        asking = self._asking[name]
        minutes = self._minutes_each(asking[0].finding.facts[name].attribute)
        return sum(self._weight(question.finding) for question in asking) / minutes

    def _proved(self, name: str) -> Proposal | None:
        ways = [question.ways[name] for question in self._asking[name] if name in question.ways]
        if not ways:
            return None
        attribute = ways[0].finding.facts[name].attribute
        facts: dict[Position, Fact] = {}
        for way in ways:
            for position in way.finding.positions:
                facts[self._place(attribute, position)] = way.finding.facts[name]
        positions = tuple(sorted(facts, key=Position.order))
        told = tuple({id(facts[p]): facts[p] for p in positions}.values())
        weight = sum(self._weight(way.finding) / len(way.readings) for way in ways)
        value = weight / (self._minutes_each(attribute) * len(positions))
        procedure = self.check.knowledge.procedures.get(attribute.measure)
        return Proposal(attribute, procedure, positions, told, tuple(ways), value)

    def _weight(self, finding: Finding) -> float:
        places = len(self.check.build.layout.positions(finding.rule.each))
        return WEIGHTS[finding.rule.severity] * len(finding.positions) / places

    def _minutes_each(self, attribute: Attribute) -> int:
        procedure = self.check.knowledge.procedures.get(attribute.measure)
        return max(1, procedure.minutes) if procedure else USUAL_MINUTES

    def _place(self, attribute: Attribute, position: Position) -> Position:
        """Where an attribute is measured for a position of a rule that may be finer."""
        level = attribute.each
        if level == "engine":
            return Position()
        if level == "bank":
            return Position(bank=position.bank)
        side = position.side if level == "valve" else None
        return Position(position.bank, position.cylinder, side)
