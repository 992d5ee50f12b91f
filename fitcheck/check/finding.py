"""A finding: one rule's verdict at some places, with everything needed to explain it.

Findings are data. Their figures are computed in exact arithmetic, and only for those findings
that somebody looks at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from fractions import Fraction
from functools import cache, cached_property
from typing import Any

from fitcheck.check.bind import Binding
from fitcheck.check.cited import Counting
from fitcheck.check.derivation import Derivation, Deriving
from fitcheck.check.figures import may_hold, show_node
from fitcheck.check.needs import missing_in
from fitcheck.check.telling import options_told
from fitcheck.check.twice import who_says
from fitcheck.check.verdict import Verdict, verdict_on
from fitcheck.knowledge import Fix, Knowledge, Operation, Rule, Template, kind_in, shortfall
from fitcheck.knowledge.figures import Values, demands, figures_of, figures_of_fix
from fitcheck.knowledge.practice import by_practice
from fitcheck.language import (
    BOTH,
    FITS,
    YES_NO,
    Compare,
    Is,
    Known,
    Node,
    Step,
    Variable,
    variables,
)
from fitcheck.model import Attribute, Evidence, Fact, Position
from fitcheck.quantity import Interval, Kind, System, finer_apart, show, show_safe
from fitcheck.source import frozen

NOT_FITTED = YES_NO.bit("no")
# Words beside a figure of a remedy that tell which side of it is the safe one.
_MORE_BEFORE = (" by ", " allowed to ", " with room for ")
_LESS_BEFORE = (" no wider than ", " none wider than ", " nothing over ")
_MORE_AFTER, _LESS_AFTER = (" or more",), (" or less", " or flatter")


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


@frozen
class Mend:
    """A fix with its figures filled in; `enough` is False when the operation can't give it all.

    `perhaps` says what the fix takes for granted and nobody told; empty where all is told.
    """

    fix: Fix
    operation: Operation | None
    amount: Interval | None
    enough: bool
    text: str
    perhaps: str = ""


class Finding:
    """One rule's verdict for a group of positions that share their facts."""

    def __init__(
        self,
        knowledge: Knowledge,
        rule: Rule,
        verdict: Verdict,
        positions: tuple[Position, ...],
        facts: tuple[Fact, ...],
        all_facts: dict[str, Fact],
        told: dict[object, Any] | None = None,
    ) -> None:
        self.knowledge = knowledge
        self.rule = rule
        self.verdict = verdict
        self.positions = positions
        self.facts = dict(zip(rule.inputs, facts, strict=True))
        self._message_facts = all_facts
        # Words for facts and for figures that come from them, shared by the findings of a check.
        self.told: dict[object, Any] = {} if told is None else told
        self._shown: dict[object, Any] = {}

    def on(self, binding: Binding) -> Finding:
        """The same finding with what its texts name beside its own facts bound anew."""
        others = {name: binding.fact(name, self.positions[0]) for name in self._message_facts}
        return Finding(
            self.knowledge,
            self.rule,
            self.verdict,
            self.positions,
            tuple(self.facts.values()),
            others,
            binding.told,
        )

    def at(self, positions: tuple[Position, ...]) -> Finding:
        """The same finding for some of its positions."""
        return Finding(
            self.knowledge,
            self.rule,
            self.verdict,
            positions,
            tuple(self.facts.values()),
            self._message_facts,
            self.told,
        )

    @property
    def is_remark(self) -> bool:
        """Whether it is a clash that is only worth knowing."""
        return self.verdict is Verdict.CONFLICT and self.rule.severity == "advice"

    @cached_property
    def disputed(self) -> bool:
        """Whether it is open only because practice disagrees: by one practice it surely fits."""
        if self.verdict is not Verdict.STRADDLES:
            return False
        for compiled in by_practice(self.rule, self.knowledge):
            ends = [self.facts[name].exact_end(which) for name, which in compiled.inputs]
            if compiled.function(ends)[0] == FITS:
                return True
        return False

    def as_stated(self, also: Callable[[Fact], bool] | None = None) -> Finding | None:
        """What can't be told, at the very figures that were stated; None where one is missing.

        It is less sure than a finding: what each figure is good for is left out. Of usual figures
        only those count that `also` lets in; what kind a part is may be usual.
        """
        if not self.verdict.undecided or self.contradicted:
            return None
        for fact in self.cited.values():
            if fact.interval is not None and not _is_stated(fact) and not (also and also(fact)):
                return None
        facts = {name: _at_its_middle(fact) for name, fact in self._known.items()}
        verdict = verdict_on(self.rule, facts, self.knowledge)
        own = tuple(facts[name] for name in self.facts)
        return verdict and Finding(self.knowledge, self.rule, verdict, self.positions, own, facts)

    @cached_property
    def contradicted(self) -> bool:
        """Whether it rests on a figure that is told in two ways which do not meet."""
        return BOTH in self.values.ways.values()

    @cached_property
    def cited(self) -> dict[str, Fact]:
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
    def _known(self) -> dict[str, Fact]:
        """The facts that its verdict rests on, and those that its texts name besides."""
        return {**self._message_facts, **self.facts}

    @cached_property
    def values(self) -> Values:
        """The interval of every named quantity, by its node's id."""
        return figures_of(self.rule, self.knowledge).of(self._known)

    @cached_property
    def demands(self) -> list[Demand]:
        """The comparisons that the verdict rests on, the worst first."""
        found = []
        counts = {id(node) for node in self.counting.clauses(self.rule.requires)}
        for compare in demands(self.rule):
            if id(compare) not in counts:
                continue
            difference = self.knowledge.differences.of(compare)
            kind = kind_in(compare.left) or kind_in(compare.right)
            assert kind is not None
            found.append(
                Demand(
                    compare,
                    self.values[id(compare.left)],
                    self.values[id(compare.right)],
                    self.values[id(difference)],
                    kind,
                )
            )
        return sorted(found, key=lambda demand: (demand.margin.upper, demand.margin.lower))

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
        told = [self._fill(self.rule.message, system)]
        told += [
            f"That {limit.name.replace('_', ' ')} is {maker}." for maker, limit in makers.items()
        ]
        if self.rule.ways is not None:
            told.append(who_says(self.rule.ways, self.facts, self.knowledge))
        return " ".join(told)

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
                (self.told, (self._known[node.name], system))
                if isinstance(node, Variable)
                else (self._shown, (node, system))
            )
            text: str | None = where.get(key)
            if text is None:
                text = where[key] = show_node(node, self.values[id(node)], system)
            return text
        assert isinstance(node, Variable)
        fact = self.facts.get(node.name) or self._message_facts[node.name]
        return fact.text if fact.given and fact.statement else options_told(fact)

    def mends(self, system: System = "inch") -> list[Mend]:
        """The rule's fixes with their figures; those that give enough come first."""
        found = [
            replace(self._mend(fix, system), perhaps=self._perhaps(fix))
            for fix in self.rule.fixes
            if fix.when is None or may_hold(fix.when, self._known, self.knowledge)
        ]
        return sorted(found, key=lambda mend: (not mend.enough, mend.perhaps))

    def _perhaps(self, fix: Fix) -> str:
        """That a fix works on a part of which nobody said whether it is fitted."""
        asked = fix.when.choice if isinstance(fix.when, Is) else None
        if not isinstance(asked, Variable) or not asked.name.endswith(".present"):
            return ""
        fact = self._known[asked.name]
        title = self.knowledge.classes[fact.attribute.slot].title
        return f"if any {title} is fitted" if fact.open else ""

    def _can_tell(self, nodes: Iterable[Node]) -> bool:
        """Whether the figures of a fix are known: of what no figure decides, none is missing."""
        return self.shortfall is not None or all(
            "shortfall" not in variables(node) for node in nodes
        )

    def _mend(self, fix: Fix, system: System) -> Mend:
        if fix.replace:
            title = self.knowledge.classes[fix.replace].title
            look_for = (
                self._look_for(fix, fix.look_for, system)
                if fix.look_for and self._can_tell(fix.look_for.nodes.values())
                else ""
            )
            fitted = self.facts.get(f"{fix.replace}.present")
            verb = "fit" if fitted is not None and fitted.mask == NOT_FITTED else "replace the"
            text = f"{verb} {title}" + (f": {look_for}" if look_for else "")
            return Mend(fix, None, None, True, text)
        operation = self.knowledge.operations[fix.operation]
        text = str(operation.file.title)
        if fix.amount is None or operation.amount is None or not self._can_tell([fix.amount]):
            return Mend(fix, operation, None, True, text)
        amount = self._amount(fix.amount)
        most = operation.amount.range.upper
        needed = Interval.point(_stepped_up(amount.upper, operation.amount.step.interval.middle))
        text += f" by {show_safe(needed, operation.amount.kind, system, up=True)}"
        enough = needed.upper <= most
        if not enough:
            text += (
                f", more than the {show(Interval.point(most), operation.amount.kind, system)} "
                "that this can give"
            )
        return Mend(fix, operation, needed, enough, text)

    def _amount(self, node: Node) -> Interval:
        return figures_of_fix(node, self.knowledge).of(self._and_shortfall)[id(node)]

    @cached_property
    def _and_shortfall(self) -> dict[str, Fact]:
        if not self.demands:
            return self._known
        missing = self.shortfall or Interval.point(0)
        attribute = _shortfall_attribute(self.demands[0].kind)
        fact = Fact.quantity(attribute, Evidence.PREDICTED, missing)
        return {**self._known, "shortfall": fact}

    def _look_for(self, fix: Fix, template: Template, system: System) -> str:
        """What another part has to be: figures that bound it as one figure on the safe side."""
        figures = figures_of_fix(template, self.knowledge)
        values = figures.of(self._and_shortfall) if figures.nodes else {}
        after = [piece for piece, _ in template.pieces[1:]] + [""]
        text = ""
        for (before, name), behind in zip(template.pieces, after, strict=True):
            text += before
            if name is None:
                continue
            node, value = template.nodes[name], values.get(id(template.nodes[name]))
            up = _safe_side(text, name, behind)
            kind = kind_in(node)
            if up is None or value is None or kind is None:
                text += self.show(node, system, value)
            else:
                step = self._step(fix.replace, kind)
                text += show_safe(value, kind, system, up=up, step=step)
        return text

    def _step(self, slot: str, kind: Kind) -> Fraction:
        """In what steps the figures of a part that the rule reads can be held; 0 if not told."""
        read = [self.knowledge.attributes.get(name) for name in self.rule.inputs]
        steps = [
            procedure.resolution.interval.middle
            for attribute in read
            if attribute is not None and attribute.slot == slot and attribute.kind == kind
            for procedure in [self.knowledge.procedures.get(attribute.measure)]
            if procedure is not None and procedure.resolution is not None
        ]
        return max(steps, default=Fraction(0))

    def derivation(self, system: System = "inch") -> list[Derivation]:
        """How the figures of the worst demand come about, down to what was given."""
        roots: list[Node] = [self.rule.requires]
        for demand in self.demands[:1]:
            roots = [demand.node.left, demand.node.right]
        deriving = Deriving(self, system)
        return [found for root in roots for found in deriving.beneath(root)]

    def title(self, node: Node) -> str:
        """The words for a named node."""
        if isinstance(node, Variable):
            attribute = self.knowledge.attributes.get(node.name)
            if attribute is None or attribute.name == "side":
                return node.name
            return f"{self.knowledge.classes[attribute.slot].title}: {attribute.title}"
        if isinstance(node, Step) and node.name in self.knowledge.derived:
            return str(self.knowledge.derived[node.name].file.title)
        if isinstance(node, Step | Known) and node.name in self.rule.limits:
            return f"limit '{node.name.replace('_', ' ')}'"
        return getattr(node, "name", "figure")


def _safe_side(before: str, name: str, after: str) -> bool | None:
    """Whether all that is no less than a figure will do, or all that is no more; else None."""
    before = f" {before}"
    if name == "shortfall" or before.endswith(_MORE_BEFORE) or after.startswith(_MORE_AFTER):
        return True
    if before.endswith(_LESS_BEFORE) or after.startswith(_LESS_AFTER):
        return False
    return None


def _is_stated(fact: Fact) -> bool:
    return fact.given and fact.rank is not Evidence.USUAL


def _at_its_middle(fact: Fact) -> Fact:
    if fact.interval is None:
        return fact
    middle = fact.interval.middle
    end = float(middle)
    return replace(fact, interval=Interval.point(middle), low=end, high=end)


def _stepped_up(value: Fraction, step: Fraction) -> Fraction:
    """The value rounded up to whole steps."""
    return -(-value // step) * step


@cache
def _shortfall_attribute(kind: Kind) -> Attribute:
    variable = shortfall(kind)
    return Attribute(
        "shortfall", "what is missing", "engine", kind=kind, plausible=variable.plausible
    )
