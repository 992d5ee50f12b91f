"""How well a figure is known, and which of two ways to one figure holds.

Beside its two ends a variable has a rank: how good its evidence is, the least the best. A figure
is known as well as the weakest that it was reckoned from. Of two ways to one figure the better
known holds alone; of two as well known, what they share, and both where they do not meet.

What is reckoned with a named figure that is a band (the error of an estimate) is predicted at best.

Ranks are whole numbers and exact in floats: nothing here is near a limit but whether ways meet.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from fitcheck.language.plain import Forest, Plain
from fitcheck.language.tree import (
    BOTH,
    FIRST,
    SECOND,
    SHARED,
    Apply,
    Known,
    Node,
    Variable,
    variables,
)
from fitcheck.model.evidence import SUPPOSED, UNTOLD, Evidence

RANK = "rank"

TruthOf = Callable[[Node], tuple[Plain, Plain]]


class Ways:
    """Ranks of nodes; `truth` lowers a condition."""

    def __init__(self, forest: Forest, truth: TruthOf) -> None:
        self._forest = forest
        self._truth = truth
        self._ranks: dict[int, Plain] = {}
        self._kept: list[Node] = []  # ids stay valid while their nodes are held

    def rank(self, node: Node) -> Plain:
        """How well a node is known."""
        found = self._ranks.get(id(node))
        if found is None:
            found = self._ranks[id(node)] = self._rank(node)
            self._kept.append(node)
        return found

    def _rank(self, node: Node) -> Plain:
        if isinstance(node, Variable):
            return self._forest.make("var", value=(node.name, RANK), size=float(UNTOLD))
        if isinstance(node, Apply) and node.op == "agree":
            return self._forest.least(*map(self.rank, node.args))
        if isinstance(node, Apply) and node.op == "pick":
            return self._of_pick(node)
        if isinstance(node, Known) and node.interval.width:
            return self._whole(Evidence.PREDICTED)  # what is reckoned with it is an estimate
        if isinstance(node, Apply) and node.op in ("stated", "measured", "alike"):
            return self._whole(SUPPOSED)  # who told what is known
        whole = self._greatest([self.rank(part) for part in node.parts])
        if isinstance(node, Apply) and node.op in ("and", "or"):
            # One part that settles the whole is enough.
            for part in node.args:
                certain, possible = self._truth(part)
                settles = certain if node.op == "or" else self._forest.opposite(possible)
                alone = self._forest.least(whole, self.rank(part))
                whole = self._forest.pick(settles, alone, whole)
        return whole

    def _of_pick(self, node: Apply) -> Plain:
        """A choice: as well as its condition and the branch taken."""
        condition, yes, no = node.args
        certain, possible = self._truth(condition)
        either = self._greatest([self.rank(yes), self.rank(no)])
        taken = self._forest.pick(
            certain, self.rank(yes), self._forest.pick(possible, either, self.rank(no))
        )
        return self._greatest([self.rank(condition), taken])

    def _greatest(self, ranks: list[Plain]) -> Plain:
        """The weakest of some; a constant is as good as can be, but for what only estimates."""
        best = self._whole(SUPPOSED)
        some = [rank for rank in ranks if rank is not best]
        return self._forest.greatest(*some) if some else best

    def which(self, a: Node, b: Node, meet: Plain) -> Plain:
        """Which of two ways holds, as a number; `meet` tells whether they surely meet."""
        first, second = self.rank(a), self.rank(b)
        forest = self._forest
        # Of two that each lack a figure and do not meet, the one that somebody told more of.
        lacking = forest.pick(
            self.below(self._best(a), self._best(b)),
            self._whole(FIRST),
            forest.pick(
                self.below(self._best(b), self._best(a)), self._whole(SECOND), self._whole(BOTH)
            ),
        )
        apart = forest.pick(
            forest.both(*(self.at_least(rank, UNTOLD) for rank in (first, second))),
            lacking,
            self._whole(BOTH),
        )
        return forest.pick(
            self.below(first, second),
            self._whole(FIRST),
            forest.pick(
                self.below(second, first),
                self._whole(SECOND),
                forest.pick(meet, self._whole(SHARED), apart),
            ),
        )

    def _best(self, node: Node) -> Plain:
        """The rank of the best known figure beneath."""
        ranks = [self.rank(found) for found in variables(node).values()]
        return self._forest.least(*ranks) if ranks else self._whole(SUPPOSED)

    def stated(self, node: Node) -> Plain:
        """Whether somebody gave all that a node rests on: nothing else stands in for it."""
        rank = self.rank(node)
        claimed = self.at_least(self._less(self._whole(Evidence.CLAIMED), rank), 0)
        assumed = self._forest.both(
            self.at_least(rank, Evidence.ASSUMED),
            self.at_least(self._less(self._whole(Evidence.ASSUMED), rank), 0),
        )
        return self._forest.either(claimed, assumed)

    def measured(self, node: Node) -> Plain:
        """Whether somebody measured all that a node rests on."""
        return self.at_least(self._less(self._whole(Evidence.MEASURED), self.rank(node)), 0)

    def alike(self, a: Node, b: Node) -> Plain:
        """Whether two nodes are known as well as each other."""
        first, second = self.rank(a), self.rank(b)
        return self._forest.both(
            self.at_least(self._less(first, second), 0), self.at_least(self._less(second, first), 0)
        )

    def is_way(self, which: Plain, *ways: int) -> Plain:
        """Whether the way that holds is the first of `ways`, or lies between the first and last."""
        low, high = ways[0], ways[-1]
        least, most = (
            self.at_least(which, low),
            self.at_least(self._less(self._whole(high), which), 0),
        )
        if low == FIRST:
            return most
        return least if high == BOTH else self._forest.both(least, most)

    def below(self, a: Plain, b: Plain) -> Plain:
        """Whether one whole number is less than another."""
        return self._forest.sign("gt", self._less(b, a), 1)

    def at_least(self, a: Plain, number: int) -> Plain:
        """Whether a whole number is at least a known one."""
        return self._forest.sign("ge", self._less(a, self._whole(number)), 1)

    def _whole(self, number: int) -> Plain:
        return self._forest.make("const", value=Fraction(number), size=float(abs(number)))

    def _less(self, a: Plain, b: Plain) -> Plain:
        """The difference of whole numbers, which floats hold exactly."""
        return self._forest.make("-", a, b, size=a.size + b.size)
