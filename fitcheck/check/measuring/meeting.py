"""Readings that do not contradict each other: for figures that are known in two ways.

Drawn at random, the lengths of a stack and the gap measured across it hardly ever agree, and of
figures that contradict each other nothing can be said. So readings are drawn one after the other,
each by halving what is open of it and keeping a half for which the ways can still meet.
"""

from __future__ import annotations

from collections.abc import Mapping
from random import Random

from fitcheck.check.measuring.outcomes import Outcomes
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.language import Compiled, compile_intervals, walk
from fitcheck.language.tree import Apply
from fitcheck.model import Fact

_HALVINGS = 12


class Meeting:
    """Draws readings for one rule at one place."""

    def __init__(self, rule: Rule, facts: Mapping[str, Fact], knowledge: Knowledge) -> None:
        self._facts = facts
        self._ways = _compiled(rule, knowledge)

    @property
    def needed(self) -> bool:
        """Whether the rule knows any figure in two ways."""
        return self._ways is not None

    def draw(self, inputs: Mapping[str, Outcomes], random: Random) -> dict[str, float]:
        """Where the readings of some quantities lie within what is open of each."""
        names = [name for name, one in inputs.items() if not one.choices]
        random.shuffle(names)
        read: dict[str, Fact] = {}
        shares: dict[str, float] = {}
        for name in names:
            low, high = 0.0, 1.0
            for _ in range(_HALVINGS):
                middle = (low + high) / 2
                halves = [(low, middle), (middle, high)]
                random.shuffle(halves)
                for low, high in halves:  # the last one stays where none meets
                    if self.meet({**read, name: inputs[name].at((low + high) / 2, high - low)}):
                        break
            shares[name] = (low + high) / 2
            read[name] = inputs[name].at(shares[name])
        return shares

    def meet(self, read: Mapping[str, Fact]) -> bool:
        """Whether with these readings both ways to each figure have something in common."""
        assert self._ways is not None
        facts = {**self._facts, **read}
        try:
            ends = self._ways.function([facts[name].end(end) for name, end in self._ways.inputs])
        except (ArithmeticError, ValueError):
            return False
        return all(
            ends[i] <= ends[i + 3] and ends[i + 2] <= ends[i + 1] for i in range(0, len(ends), 4)
        )


def _compiled(rule: Rule, knowledge: Knowledge) -> Compiled | None:
    """The bounds of both ways of each figure known twice."""
    key = "both ways", rule.id
    if key not in knowledge.figures:
        twofold = [
            node
            for root in rule.roots
            for node in walk(root)
            if isinstance(node, Apply) and node.op == "agree"
        ]
        bounds = [knowledge.lowering.interval(way) for node in twofold for way in node.args]
        knowledge.figures[key] = compile_intervals(bounds, "fast") if bounds else None
    found: Compiled | None = knowledge.figures[key]
    return found
