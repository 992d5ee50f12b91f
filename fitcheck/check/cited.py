"""What an explanation shows: the branches taken, and the ways to a figure that count."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fitcheck.check.needs import Missing, missing, taken
from fitcheck.knowledge.figures import NodeValues
from fitcheck.language import FIRST, SECOND, Node, Variable
from fitcheck.language.tree import Apply
from fitcheck.model import Fact

Facts = Mapping[str, Fact]


class Counting:
    """What counts in trees for some facts and the figures that they give."""

    def __init__(self, facts: Facts, values: NodeValues) -> None:
        self.facts = facts
        self.values = values
        self._missing: Missing = {}

    def parts(self, node: Node) -> tuple[Node, ...]:
        """The parts of a node that the verdict rests on.

        Of a choice between branches that is settled: the question and the branch taken. Of two
        ways to one figure: the better known; of two as well known, not one that is wider and lacks
        a figure.
        """
        if not isinstance(node, Apply):
            return node.parts
        if node.op == "pick":
            condition, yes, no = node.args
            settled = taken(condition, self.facts)
            return node.args if settled is None else (condition, yes if settled else no)
        if node.op in ("and", "or"):
            # One part that settles the whole is enough.
            decisive = node.op == "or"
            return next(
                ((arg,) for arg in node.args if taken(arg, self.facts) is decisive), node.args
            )
        if node.op in ("stated", "measured", "alike"):
            return ()  # asks who told it, not what it is
        if node.op == "agree":
            which = self.values.ways.get(id(node))
            if which in (FIRST, SECOND):
                return (node.args[which],)
            kept = tuple(
                way
                for way, other in zip(node.args, reversed(node.args), strict=True)
                if not self._idle(way, other)
            )
            return kept or node.args
        return node.args

    def _idle(self, way: Node, other: Node) -> bool:
        """Whether a way that lacks a figure adds nothing to another way that lacks none."""
        if not missing(way, self.facts, self._missing) or missing(other, self.facts, self._missing):
            return False
        mine, theirs = self.values.get(id(way)), self.values.get(id(other))
        return mine is not None and theirs is not None and theirs.within(mine)

    def nodes(self, roots: list[Node]) -> Iterator[Node]:
        """The nodes that the verdict rests on, each once, in order of appearance."""
        stack, seen = list(reversed(roots)), set()
        while stack:
            node = stack.pop()
            if id(node) not in seen:
                seen.add(id(node))
                yield node
                stack.extend(reversed(self.parts(node)))

    def clauses(self, node: Node) -> Iterator[Node]:
        """The demands that a condition makes and the verdict rests on, parts joined by `and`."""
        if isinstance(node, Apply) and node.op == "and":
            for part in self.parts(node):
                yield from self.clauses(part)
        else:
            yield node

    def cited(self, roots: list[Node]) -> dict[str, Fact]:
        """The facts that the verdict rests on, by name, in order of appearance."""
        return {
            node.name: self.facts[node.name]
            for node in self.nodes(roots)
            if isinstance(node, Variable)
        }
