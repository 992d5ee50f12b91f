"""A finding: one rule's verdict at some places, with everything needed to explain it.

Findings are data. Their figures are computed in exact arithmetic, and only for those findings
that somebody looks at.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from typing import Any

from fitcheck.check.bind import Binding
from fitcheck.check.needs import Counting, missing_in
from fitcheck.check.telling import options_told, show_node, who_says
from fitcheck.check.verdict import Judged, Verdict, verdict_on
from fitcheck.knowledge import Knowledge, Rule, Template, kind_in
from fitcheck.knowledge.figures import NodeValues, demands, figures_of
from fitcheck.knowledge.practice import by_practice
from fitcheck.language import (
    BOTH,
    FITS,
    Compare,
    Known,
    Node,
    Step,
    Variable,
)
from fitcheck.model import Evidence, Fact, Position
from fitcheck.quantity import Interval, Kind, System, finer_apart, show
from fitcheck.source import frozen


@frozen
class Demand:
    """One comparison of a rule: what is, what is wanted, and by how much it holds.

    `margin` is below zero where the demand is missed.
    """

    node: Compare
    actual: Interval
    wanted: Interval
    margin: Interval
    kind: Kind

    def show(self, figure: Interval, system: System) -> str:
        """What is or what is wanted, with the digits that let one see which is the greater."""
        finer = finer_apart(self.actual, self.wanted, self.kind, system)
        return show(figure, self.kind, system, finer=finer)


@dataclass(eq=False, repr=False)
class RuleFinding:
    """One rule's verdict for a group of positions that share their facts.

    `beside` are the facts that its texts name beside those that it rests on, `wordings` the words
    for facts and for figures that come from them: all findings of a check share those.
    """

    knowledge: Knowledge
    rule: Rule
    verdict: Verdict
    positions: tuple[Position, ...]
    facts: Mapping[str, Fact]
    beside: Mapping[str, Fact]
    wordings: dict[object, Any] = field(default_factory=dict)
    _shown: dict[object, Any] = field(default_factory=dict, init=False)

    @classmethod
    def of(cls, judged: Judged, binding: Binding) -> RuleFinding:
        """What a rule that has something to say says, on the facts of a build."""
        assert judged.verdict is not None
        rule, positions = judged.rule, judged.positions
        beside = {name: binding.fact(name, positions[0]) for name in rule.told}
        facts, wordings = judged.facts, binding.wordings
        return cls(binding.knowledge, rule, judged.verdict, positions, facts, beside, wordings)

    def on(self, binding: Binding) -> RuleFinding:
        """The same finding with what its texts name beside its own facts bound anew."""
        beside = {name: binding.fact(name, self.positions[0]) for name in self.beside}
        return replace(self, beside=beside, wordings=binding.wordings)

    def at(self, positions: tuple[Position, ...]) -> RuleFinding:
        """The same finding for some of its positions."""
        return replace(self, positions=positions)

    @property
    def is_remark(self) -> bool:
        """Whether it is a clash that is only worth knowing."""
        return self.verdict is Verdict.CONFLICT and self.rule.severity == "advice"

    @cached_property
    def disputed(self) -> bool:
        """Whether it is open only because practice disagrees: by one practice it surely fits."""
        if self.verdict is not Verdict.STRADDLES:
            return False
        practices = by_practice(self.rule, self.knowledge)
        return any(compiled.exactly(self.facts)[0] == FITS for compiled in practices)

    def as_stated(self, also: Callable[[Fact], bool] | None = None) -> RuleFinding | None:
        """What can't be told, at the very figures that were stated; None where one is missing.

        It is less sure than a finding: what each figure is good for is left out. Of usual figures
        only those count that `also` lets in; what kind a part is may be usual.
        """
        if not self.verdict.undecided or self.contradicted:
            return None
        for fact in self.cited.values():
            if fact.interval is not None and not _is_stated(fact) and not (also and also(fact)):
                return None
        facts = {name: at_its_middle(fact) for name, fact in self.known.items()}
        verdict = verdict_on(self.rule, facts, self.knowledge)
        figures = {name: facts[name] for name in self.facts}
        return verdict and replace(self, verdict=verdict, facts=figures, beside=facts)

    @cached_property
    def contradicted(self) -> bool:
        """Whether it rests on a figure that is told in two ways which do not meet."""
        return BOTH in self.values.ways.values()

    @cached_property
    def cited(self) -> Mapping[str, Fact]:
        """The facts that the verdict rests on: other facts may change and it stays."""
        if not self.rule.branching:
            return self.facts
        return self.counting.cited(self.rule.roots)

    @cached_property
    def counting(self) -> Counting:
        """Which parts of its trees count."""
        return Counting(self.facts, self.values)

    @property
    def weakest(self) -> Fact | None:
        """The fact with the weakest evidence among those the verdict rests on."""
        facts = list(self.cited.values())
        return max(facts, key=lambda fact: (fact.evidence, not fact.given), default=None)

    @cached_property
    def missing(self) -> list[Fact]:
        """The facts that nobody gave and that the verdict waits for."""
        return [self.facts[name] for name in missing_in(self.rule, self.facts)]

    @cached_property
    def known(self) -> dict[str, Fact]:
        """The facts that its verdict rests on, and those that its texts name besides."""
        return {**self.beside, **self.facts}

    @cached_property
    def values(self) -> NodeValues:
        """The interval of every named quantity, by its node's id."""
        return figures_of(self.rule, self.knowledge).of(self.known)

    @cached_property
    def demands(self) -> list[Demand]:
        """The comparisons that the verdict rests on, the worst first."""
        demanded = []
        counted = {id(node) for node in self.counting.clauses(self.rule.requires)}
        for compare in demands(self.rule):
            if id(compare) not in counted:
                continue
            difference = self.knowledge.differences.of(compare)
            kind = kind_in(compare.left) or kind_in(compare.right)
            assert kind is not None
            demanded.append(
                Demand(
                    compare,
                    self.values[id(compare.left)],
                    self.values[id(compare.right)],
                    self.values[id(difference)],
                    kind,
                )
            )
        return sorted(demanded, key=lambda demand: (demand.margin.upper, demand.margin.lower))

    @property
    def margin(self) -> Interval | None:
        """By how much the worst demand holds (below zero: is missed)."""
        return self.demands[0].margin if self.demands else None

    @cached_property
    def shortfall(self) -> Interval | None:
        """How much is missing, at least and at most; None where nothing can be."""
        margin = self.margin
        if margin is None or margin.lower >= 0:
            return None
        return Interval(max(Fraction(0), -margin.upper), -margin.lower)

    def message(self, system: System = "inch") -> str:
        """The rule's message with the figures in place, and whose figures its limits are.

        Of two figures that contradict each other it says whose they are.
        """
        makers = {limit.maker: limit for limit in self.rule.limits.values() if limit.maker}
        sentences = [self._fill(self.rule.message, system)]
        sentences += [
            f"That {limit.name.replace('_', ' ')} is {maker}." for maker, limit in makers.items()
        ]
        if self.rule.ways is not None:
            sentences.append(who_says(self.rule.ways, self.facts, self.knowledge))
        return " ".join(sentences)

    def _fill(self, template: Template, system: System) -> str:
        text = ""
        demanded = {
            node: demand
            for demand in self.demands
            for node in (demand.node.left, demand.node.right)
        }
        for before, name in template.pieces:
            text += before
            if name is not None:
                node = template.nodes[name]
                demand = demanded.get(node)
                text += (
                    demand.show(self.values[id(node)], system)
                    if demand is not None and kind_in(node) == demand.kind
                    else self.show(node, system)
                )
        return text

    def show(self, node: Node, system: System, value: Interval | None = None) -> str:
        """The value of a node as text; an option in words for a choice."""
        if isinstance(node.type, tuple):
            if value is not None:
                return show_node(node, value, system)
            # A fact is shown alike wherever it is named.
            where, key = (
                (self.wordings, (self.known[node.name], system))
                if isinstance(node, Variable)
                else (self._shown, (node, system))
            )
            text: str | None = where.get(key)
            if text is None:
                text = where[key] = show_node(node, self.values[id(node)], system)
            return text
        assert isinstance(node, Variable)
        fact = self.facts.get(node.name) or self.beside[node.name]
        return fact.text if fact.given and fact.statement else options_told(fact)

    def title(self, node: Node) -> str:
        """The words for a named node."""
        if isinstance(node, Variable):
            attribute = self.knowledge.attributes.get(node.name)
            if attribute is None or attribute.name == "side":
                return node.name
            return self.knowledge.title_of(attribute)
        if isinstance(node, Step) and node.name in self.knowledge.derived:
            return str(self.knowledge.derived[node.name].file.title)
        if isinstance(node, Step | Known) and node.name in self.rule.limits:
            return f"limit '{node.name.replace('_', ' ')}'"
        return getattr(node, "name", "figure")


def _is_stated(fact: Fact) -> bool:
    return fact.given and fact.rank is not Evidence.USUAL


def at_its_middle(fact: Fact) -> Fact:
    """The fact with the very figure that is in the middle of what it may be."""
    return _narrowed(fact, Fraction(0))


def half_as_wide(fact: Fact) -> Fact:
    """The fact with the nearer half, about its middle, of what it may be."""
    return _narrowed(fact, Fraction(1, 4))


def _narrowed(fact: Fact, share: Fraction) -> Fact:
    """The fact from and to so far of its width about its middle."""
    if fact.interval is None:
        return fact
    off = fact.interval.width * share
    kept = Interval(fact.interval.middle - off, fact.interval.middle + off)
    return replace(fact, interval=kept, low=float(kept.lower), high=float(kept.upper))
