"""The figures behind a finding: intervals of every named quantity, in exact arithmetic."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from fitcheck.check.needs import taken
from fitcheck.knowledge import Knowledge, kind_in
from fitcheck.language import Compare, Compiled, Known, Node, Variable, compile_intervals
from fitcheck.language.tree import Apply
from fitcheck.model import Fact
from fitcheck.quantity import Interval, System, show

Facts = Mapping[str, Fact]


class Figures:
    """Computes and shows the quantities in a set of trees for given facts.

    The trees are compiled together once per knowledge; facts may differ from call to call.
    """

    def __init__(self, knowledge: Knowledge, nodes: Iterable[Node], key: object) -> None:
        self.knowledge = knowledge
        found = knowledge.figures.get(key)
        if found is None:
            found = knowledge.figures[key] = self._compiled(nodes)
        self.nodes: list[Node] = found[0]
        self._computed: list[Node] = found[1]
        self.compiled: Compiled = found[2]

    def _compiled(self, nodes: Iterable[Node]) -> tuple[list[Node], list[Node], Compiled]:
        kept = list({id(node): node for node in nodes}.values())
        computed = [node for node in kept if not isinstance(node, Variable | Known)]
        lowering = self.knowledge.lowering
        return kept, computed, compile_intervals([lowering.interval(node) for node in computed])

    def of(self, facts: Facts) -> dict[int, Interval]:
        """The interval of each node, by the node's id."""
        ends = [facts[name].exact_end(which) for name, which in self.compiled.inputs]
        values = iter(self.compiled.function(ends))
        found = {id(node): _ordered(next(values), next(values)) for node in self._computed}
        for node in self.nodes:
            if isinstance(node, Variable):
                given = facts[node.name].interval
                assert given is not None
                found[id(node)] = given
            elif isinstance(node, Known):
                found[id(node)] = node.interval
        return found


def _ordered(lower: Fraction, upper: Fraction) -> Interval:
    try:
        return Interval(lower, upper)
    except ValueError:  # two inexact bounds of one point may cross by their rounding
        return Interval(upper, lower)


def may_hold(condition: Node, facts: Facts, knowledge: Knowledge) -> bool:
    """Whether a condition can hold, by the choices and the figures known so far."""
    if isinstance(condition, Apply) and condition.op in ("and", "or"):
        join = all if condition.op == "and" else any
        return join(may_hold(part, facts, knowledge) for part in condition.args)
    if isinstance(condition, Compare) and condition.op in ("<", "<=", ">", ">="):
        margin = knowledge.lowering.difference(condition)
        greatest = (
            Figures(knowledge, [margin], ("may hold", id(margin))).of(facts)[id(margin)].upper
        )
        return greatest >= 0 if condition.op.endswith("=") else greatest > 0
    return taken(condition, facts) is not False


def show_node(node: Node, interval: Interval, system: System) -> str:
    """A node's interval in the kind that its parts are shown in."""
    kind = kind_in(node)
    return show(interval, kind, system) if kind else "?"
