"""The graph of parts: classes that meet at interfaces. Imported only where it is used."""

from __future__ import annotations

from typing import TYPE_CHECKING

import networkx

from fitcheck.knowledge.parts import Mate, Rule

if TYPE_CHECKING:
    from fitcheck.knowledge.base import Knowledge


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


def uncovered(knowledge: Knowledge) -> list[Mate]:
    """The interfaces that no rule judges and that are not declared free."""
    return [
        mate
        for mate in knowledge.mates.values()
        if mate.file.free is None
        and not any(covers(rule, mate) for rule in knowledge.rules.values())
    ]


def touched(knowledge: Knowledge, slot: str) -> list[str]:
    """The slots that a changed part meets."""
    return sorted(knowledge.graph.neighbors(slot))
