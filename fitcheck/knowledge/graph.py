"""The graph of parts: classes that meet at interfaces. Imported only where it is used."""

from __future__ import annotations

from typing import TYPE_CHECKING

import networkx

from fitcheck.knowledge.base import Knowledge
from fitcheck.knowledge.parts import Mate, Rule
from fitcheck.language import Step, Variable
from fitcheck.source import frozen

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from fitcheck.language import Node


def part_graph(knowledge: Knowledge) -> networkx.MultiGraph:
    """Classes as nodes, each interface an edge keyed by its id."""
    graph = networkx.MultiGraph()
    for part_class in knowledge.classes.values():
        graph.add_node(part_class.id, title=part_class.title)
    for mate in knowledge.mates.values():
        one, other = mate.file.between
        graph.add_edge(str(one), str(other), key=mate.id, title=str(mate.file.title))
    return graph


def covers(rule: Rule, mate: Mate) -> bool:
    """Whether a rule judges an interface: it reads one of its attributes on each side."""
    through = {str(name) for name in mate.file.through}
    read = {name.partition(".")[0] for name in rule.inputs if name in through}
    return set(map(str, mate.file.between)) <= read


RULE = "rule"


@frozen
class Questioned:
    """What a change of some figures puts in question.

    `derived` follow from them, `rules` judge by them; `beside` are the figures of other parts, by
    part, that these rules hold them against; `undone` those that work on the part leaves to be
    measured again.
    """

    derived: tuple[str, ...]
    rules: tuple[str, ...]
    beside: dict[str, tuple[str, ...]]
    undone: tuple[str, ...]


def figure_graph(knowledge: Knowledge) -> networkx.DiGraph:
    """Attributes, derived figures and rules; an edge leads from what is read to its reader.

    Attributes and derived figures are nodes by their names, a rule is ("rule", its id).
    """
    graph = networkx.DiGraph()
    for attribute in knowledge.attributes.values():
        graph.add_node(attribute.name)
        if attribute.spread_of:
            graph.add_edge(attribute.spread_of, attribute.name)
    for name, derived in knowledge.derived.items():
        read = _read(derived.node.inner, knowledge.derived)
        graph.add_edges_from((one, name) for one in read)
    for rule in knowledge.rules.values():
        derived_here = knowledge.derived.keys() - rule.limits.keys()  # a limit may bear such a name
        for root in rule.roots:
            read = _read(root, derived_here)
            graph.add_edges_from((one, (RULE, rule.id)) for one in read)
    return graph


def _read(root: Node, derived: Collection[str]) -> set[str]:
    """The names that an expression reads itself, not those behind a derived figure it reads."""
    if isinstance(root, Variable) or (isinstance(root, Step) and root.name in derived):
        return {root.name}
    return set().union(*(_read(part, derived) for part in root.parts))


def questioned(knowledge: Knowledge, graph: networkx.DiGraph, names: Iterable[str]) -> Questioned:
    """What a change of some attributes puts in question, by the graph of figures."""
    own = {name for name in names if name in graph}
    slots = {name.partition(".")[0] for name in own}
    after = set().union(*(networkx.descendants(graph, name) for name in own))
    rules = [rule for rule in knowledge.rules.values() if (RULE, rule.id) in after]
    beside: dict[str, dict[str, None]] = {}
    for rule in rules:
        for name in rule.inputs:
            slot = name.partition(".")[0]
            if "." in name and slot not in slots:
                beside.setdefault(slot, {})[name] = None
    undone = {
        str(name): None
        for operation in knowledge.operations.values()
        if operation.file.on in slots and own.intersection(map(str, operation.file.undoes))
        for name in operation.file.undoes
        if name not in own and name.partition(".")[0] not in slots
    }
    return Questioned(
        tuple(name for name in knowledge.derived if name in after),
        tuple(rule.id for rule in rules),
        {slot: tuple(found) for slot, found in beside.items()},
        tuple(undone),
    )


def meetings(knowledge: Knowledge, slot: str) -> dict[str, list[Mate]]:
    """The parts that a part meets, each with the interfaces between the two."""
    met = part_graph(knowledge)[slot]
    return {other: [knowledge.mates[key] for key in met[other]] for other in sorted(met)}
