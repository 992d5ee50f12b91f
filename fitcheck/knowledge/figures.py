"""The figures behind a finding: intervals of every named quantity, in exact arithmetic.

The trees that a rule's findings show are compiled together, once, and kept with the knowledge.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from typing import Any

from fitcheck.knowledge.base import Knowledge
from fitcheck.knowledge.parts import Fix, Rule, Template, Usual
from fitcheck.language import Compare, Compiled, Known, Node, Step, Variable, walk
from fitcheck.language.tree import Apply
from fitcheck.model import Fact
from fitcheck.quantity import Interval


class NodeValues(dict[int, Interval]):
    """The interval of each node, by its id; and of each figure known in two ways, which holds."""

    def __init__(self) -> None:
        super().__init__()
        self.ways: dict[int, int] = {}


class Figures:
    """Computes the quantities in a set of trees for given facts.

    The trees are compiled together once per knowledge, by their key; facts may differ from call
    to call.
    """

    def __init__(self, knowledge: Knowledge, nodes: Iterable[Node], key: object) -> None:
        self.knowledge = knowledge
        found = knowledge.figures.get(key)
        if found is None:
            found = knowledge.figures[key] = self._compiled(nodes)
        self.nodes: list[Node] = found[0]
        self._computed: list[Node] = found[1]
        self._twofold: list[Node] = found[2]
        self.compiled: Compiled = found[3]

    def _compiled(
        self, nodes: Iterable[Node]
    ) -> tuple[list[Node], list[Node], list[Node], Compiled]:
        from fitcheck.language import compile_intervals  # noqa: PLC0415  rarely: it is kept

        kept = list({id(node): node for node in nodes}.values())
        computed = [node for node in kept if not isinstance(node, Variable | Known)]
        twofold: list[Node] = [
            node for node in computed if isinstance(node, Apply) and node.op == "agree"
        ]
        lowering = self.knowledge.lowering
        whole = [lowering.interval(node) for node in computed]
        ways = [lowering.which(*node.parts) for node in twofold]
        return kept, computed, twofold, compile_intervals([*whole, *((w, w) for w in ways)])

    def of(self, facts: Mapping[str, Fact]) -> NodeValues:
        """The interval of each node, by the node's id."""
        values = iter(self.compiled.exactly(facts))
        found = NodeValues()
        for node in self._computed:
            found[id(node)] = _ordered(next(values), next(values))
        for node in self._twofold:
            found.ways[id(node)] = int(next(values))
            next(values)
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


def figures_of(rule: Rule, knowledge: Knowledge) -> Figures:
    """All that a finding of a rule tells in figures."""
    return Figures(knowledge, told_of(rule, knowledge), rule.id)


def figures_of_fix(told: Node | Template, knowledge: Knowledge) -> Figures:
    """The figures of a fix: of its amount, or of what to look for."""
    nodes = told.nodes.values() if isinstance(told, Template) else [told]
    return Figures(knowledge, (node for node in nodes if isinstance(node.type, tuple)), told)


def figures_of_margin(compare: Compare, knowledge: Knowledge) -> Figures:
    """The margin of a comparison."""
    return Figures(knowledge, [knowledge.differences.of(compare)], compare)


def figures_of_derived(name: str, knowledge: Knowledge) -> Figures:
    """A derived figure by itself."""
    return Figures(knowledge, [knowledge.derived[name].node], ("derived", name))


def compile_figures(knowledge: Knowledge) -> None:
    """Compile the figures of rules, their fixes and those that a report tells, to be kept."""
    for question in knowledge.questions.values():
        for name in question.file.tells:
            figures_of_derived(str(name), knowledge)
    for rule in knowledge.rules.values():
        figures_of(rule, knowledge)
        for fix in rule.fixes:
            for told in (fix.amount, fix.look_for):
                if told is not None:
                    figures_of_fix(told, knowledge)
            for compare in _compares_in(fix):
                figures_of_margin(compare, knowledge)


def figure_of_usual(usual: Usual, knowledge: Knowledge) -> Figures:
    """The figure of a branch of what is usual."""
    assert usual.node is not None
    return Figures(knowledge, [usual.node], ("usual", usual.id))


def condition_of_usual(usual: Usual, knowledge: Knowledge) -> Compiled:
    """Whether a branch of what is usual holds, compiled once."""
    key = ("usual when", usual.id)
    found: Compiled | None = knowledge.figures.get(key)
    if found is None:
        from fitcheck.language import TRUE, Condition, compile_verdicts  # noqa: PLC0415  it is kept

        assert usual.when is not None
        clauses = tuple(knowledge.lowering.clauses(usual.when))
        found = compile_verdicts([Condition((TRUE, TRUE), clauses)], "exact")
        knowledge.figures[key] = found
    return found


def compile_usual(knowledge: Knowledge) -> dict[object, Any]:
    """Compile what is usual, to be kept: the figures and conditions of its branches."""
    found: dict[object, Any] = {}
    for branch in (branch for branches in knowledge.usual.values() for branch in branches):
        if branch.when is not None:
            condition_of_usual(branch, knowledge)
        if branch.node is not None and branch.attribute.kind is not None:
            figure_of_usual(branch, knowledge)
        keys = (("usual", branch.id), ("usual when", branch.id))
        found |= {key: knowledge.figures[key] for key in keys if key in knowledge.figures}
    return found


def demands(rule: Rule) -> list[Compare]:
    """The comparisons that a rule demands, those that have a margin."""
    return [node for node in _clauses(rule.requires) if _has_margin(node)]


def _clauses(node: Node) -> Iterator[Compare]:
    if isinstance(node, Apply) and node.op == "and":
        for part in node.args:
            yield from _clauses(part)
    elif isinstance(node, Compare):
        yield node


def _has_margin(compare: Compare) -> bool:
    return compare.op not in ("==", "!=")


def _compares_in(fix: Fix) -> list[Compare]:
    """The comparisons that a fix is offered by."""
    nodes = walk(fix.when) if fix.when is not None else ()
    return [node for node in nodes if isinstance(node, Compare) and _has_margin(node)]


def told_of(rule: Rule, knowledge: Knowledge) -> Iterator[Node]:
    """The trees whose figures a finding of a rule tells."""
    nodes: list[Node] = [*rule.message.nodes.values()]
    for compare in demands(rule):
        nodes += [compare.left, compare.right, knowledge.differences.of(compare)]
    named = (node for root in rule.roots for node in walk(root))
    nodes += [node for node in named if isinstance(node, Step | Known | Variable)]
    yield from (node for node in nodes if isinstance(node.type, tuple))
    yield from _ways(rule.roots)


def _ways(roots: list[Node]) -> list[Node]:
    """Every `agree` beneath, and its ways, whose figures decide which of them count."""
    found: dict[int, Node] = {}
    for root in roots:
        for node in walk(root):
            if isinstance(node, Apply) and node.op == "agree":
                found |= {id(way): way for way in (node, *node.args)}
    return list(found.values())
