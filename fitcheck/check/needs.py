"""Which facts a verdict waits for, and which it rests on.

Not every fact a rule can read matters in each case: a branch that is not taken does not, nor
does a second way to a figure that is known by the first.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fitcheck.knowledge import Rule
from fitcheck.knowledge.figures import NodeValues
from fitcheck.language import FIRST, SECOND, Is, Node, Variable
from fitcheck.language.tree import Apply
from fitcheck.model import Fact

Facts = Mapping[str, Fact]
# What is missing beneath each node that was asked about, by its id, for the same facts.
Missing = dict[int, dict[str, None]]


def missing_in(rule: Rule, facts: Facts) -> list[str]:
    """The names of the facts that nobody gave and that the rule waits for."""
    memo: Missing = {}
    found: dict[str, None] = {}
    for root in rule.roots:
        found |= _missing(root, facts, memo)
    return list(found)


def missing(node: Node, facts: Facts, memo: Missing | None = None) -> list[str]:
    """The names of the facts that nobody gave and that a figure waits for."""
    return list(_missing(node, facts, {} if memo is None else memo))


def _missing(node: Node, facts: Facts, memo: Missing) -> dict[str, None]:
    found = memo.get(id(node))
    if found is None:
        found = memo[id(node)] = _find(node, facts, memo)
    return found


def _find(node: Node, facts: Facts, memo: Missing) -> dict[str, None]:
    parts = node.parts
    if isinstance(node, Variable):
        return {} if facts[node.name].given else {node.name: None}
    if isinstance(node, Apply) and node.op == "agree":
        ways = [_missing(part, facts, memo) for part in parts]
        if not all(ways):
            return {}
        # The way that lacks least is the one to ask for.
        return min(ways, key=len)
    if isinstance(node, Apply) and node.op in ("stated", "measured", "alike"):
        return {}  # who told what is known
    if isinstance(node, Apply) and node.op in ("and", "or") and taken(node, facts) is not None:
        return {}
    if isinstance(node, Apply) and node.op == "pick":
        settled = taken(parts[0], facts)
        if settled is not None:
            parts = (parts[1] if settled else parts[2],)
    found: dict[str, None] = {}
    for part in parts:
        found |= _missing(part, facts, memo)
    return found


def taken(condition: Node, facts: Facts) -> bool | None:
    """Whether the choices told so far settle a condition, and how."""
    if isinstance(condition, Is) and isinstance(condition.choice, Variable):
        mask = facts[condition.choice.name].mask
        if not mask & ~condition.mask:
            return True
        return None if mask & condition.mask else False
    if isinstance(condition, Apply) and condition.op == "stated":
        (told,) = condition.args
        return facts[told.name].given if isinstance(told, Variable) else None
    if isinstance(condition, Apply) and condition.op == "not":
        inner = taken(condition.args[0], facts)
        return None if inner is None else not inner
    if isinstance(condition, Apply) and condition.op in ("and", "or"):
        found = [taken(arg, facts) for arg in condition.args]
        decisive = condition.op == "or"
        return decisive if decisive in found else None if None in found else not decisive
    return None


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
        if node.op == "stated" and taken(node, self.facts):
            return node.args  # untold, it would be another verdict
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
