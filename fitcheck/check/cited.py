"""What an explanation shows: the branches taken, and the ways to a figure that count."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fitcheck.check.needs import missing, taken
from fitcheck.language import Node, Variable
from fitcheck.language.tree import Apply
from fitcheck.model import Fact
from fitcheck.quantity import Interval

Facts = Mapping[str, Fact]
Values = Mapping[int, Interval]


def counting_parts(node: Node, facts: Facts, values: Values) -> tuple[Node, ...]:
    """The parts of a node that the verdict rests on.

    Of a choice between branches that is settled: the question and the branch taken. Of two ways
    to one figure: not the way that is wider and lacks a figure.
    """
    if isinstance(node, Apply) and node.op == "pick":
        condition, yes, no = node.args
        settled = taken(condition, facts)
        return node.args if settled is None else (condition, yes if settled else no)
    if isinstance(node, Apply) and node.op in ("and", "or"):
        # One part that settles the whole is enough.
        decisive = node.op == "or"
        return next(((arg,) for arg in node.args if taken(arg, facts) is decisive), node.args)
    if isinstance(node, Apply) and node.op == "agree":
        kept = tuple(
            way
            for way, other in zip(node.args, reversed(node.args), strict=True)
            if not _idle(way, other, facts, values)
        )
        return kept or node.args
    return node.parts


def _idle(way: Node, other: Node, facts: Facts, values: Values) -> bool:
    """Whether a way that lacks a figure adds nothing to another way that lacks none."""
    if not missing(way, facts) or missing(other, facts):
        return False
    mine, theirs = values.get(id(way)), values.get(id(other))
    return mine is not None and theirs is not None and theirs.within(mine)


def ways(roots: list[Node]) -> list[Node]:
    """The ways of every `agree` beneath, whose figures decide which of them count."""
    found: dict[int, Node] = {}
    stack, seen = list(roots), set()
    while stack:
        node = stack.pop()
        if id(node) in seen:
            continue
        seen.add(id(node))
        if isinstance(node, Apply) and node.op == "agree":
            found |= {id(way): way for way in node.args}
        stack.extend(node.parts)
    return list(found.values())


def counting(roots: list[Node], facts: Facts, values: Values) -> Iterator[Node]:
    """The nodes that the verdict rests on, each once, in order of appearance."""
    stack, seen = list(reversed(roots)), set()
    while stack:
        node = stack.pop()
        if id(node) not in seen:
            seen.add(id(node))
            yield node
            stack.extend(reversed(counting_parts(node, facts, values)))


def cited(roots: list[Node], facts: Facts, values: Values) -> dict[str, Fact]:
    """The facts that the verdict rests on, by name, in order of appearance."""
    return {
        node.name: facts[node.name]
        for node in counting(roots, facts, values)
        if isinstance(node, Variable)
    }
