"""What mends a clash: the fixes of its rule, with their figures filled in."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from functools import cache, cached_property

from fitcheck.check.finding import RuleFinding
from fitcheck.check.needs import Facts, taken
from fitcheck.knowledge import Fix, Knowledge, Operation, Template, kind_in, shortfall
from fitcheck.knowledge.figures import figures_of_fix, figures_of_margin
from fitcheck.language import YES_NO, Compare, Is, Node, Variable, variables
from fitcheck.language.tree import Apply
from fitcheck.model import Attribute, Evidence, Fact
from fitcheck.quantity import Interval, Kind, System, show, show_safe
from fitcheck.source import frozen

NOT_FITTED = YES_NO.bit("no")
# Words beside a figure of a remedy that tell which side of it is the safe one.
_MORE_BEFORE = (" by ", " allowed to ", " with room for ")
_LESS_BEFORE = (" no wider than ", " none wider than ", " nothing over ")
_MORE_AFTER, _LESS_AFTER = (" or more",), (" or less", " or flatter")


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


def mends(finding: RuleFinding, system: System = "inch") -> list[Mend]:
    """The rule's fixes with their figures; those that give enough come first."""
    return _Mending(finding).all(system)


class _Mending:
    """The fixes of one finding's rule, with its figures."""

    def __init__(self, finding: RuleFinding) -> None:
        self.finding = finding

    def all(self, system: System) -> list[Mend]:
        found = [
            replace(self._mend(fix, system), perhaps=self._perhaps(fix))
            for fix in self.finding.rule.fixes
            if fix.when is None or _may_hold(fix.when, self.finding.known, self.finding.knowledge)
        ]
        return sorted(found, key=lambda mend: (not mend.enough, mend.perhaps))

    def _perhaps(self, fix: Fix) -> str:
        """That a fix works on a part of which nobody said whether it is fitted."""
        asked = fix.when.choice if isinstance(fix.when, Is) else None
        if not isinstance(asked, Variable) or not asked.name.endswith(".present"):
            return ""
        fact = self.finding.known[asked.name]
        title = self.finding.knowledge.classes[fact.attribute.slot].title
        return f"if any {title} is fitted" if fact.open else ""

    def _can_tell(self, nodes: Iterable[Node]) -> bool:
        """Whether the figures of a fix are known: of what no figure decides, none is missing."""
        return self.finding.shortfall is not None or all(
            "shortfall" not in variables(node) for node in nodes
        )

    def _mend(self, fix: Fix, system: System) -> Mend:
        if fix.replace:
            title = self.finding.knowledge.classes[fix.replace].title
            look_for = (
                self._look_for(fix, fix.look_for, system)
                if fix.look_for and self._can_tell(fix.look_for.nodes.values())
                else ""
            )
            fitted = self.finding.facts.get(f"{fix.replace}.present")
            verb = "fit" if fitted is not None and fitted.mask == NOT_FITTED else "replace the"
            text = f"{verb} {title}" + (f": {look_for}" if look_for else "")
            return Mend(fix, None, None, True, text)
        operation = self.finding.knowledge.operations[fix.operation]
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
        return figures_of_fix(node, self.finding.knowledge).of(self._and_shortfall)[id(node)]

    @cached_property
    def _and_shortfall(self) -> dict[str, Fact]:
        if not self.finding.demands:
            return self.finding.known
        missing = self.finding.shortfall or Interval.point(0)
        attribute = _shortfall_attribute(self.finding.demands[0].kind)
        fact = Fact.quantity(attribute, Evidence.PREDICTED, missing)
        return {**self.finding.known, "shortfall": fact}

    def _look_for(self, fix: Fix, template: Template, system: System) -> str:
        """What another part has to be: figures that bound it as one figure on the safe side."""
        figures = figures_of_fix(template, self.finding.knowledge)
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
                text += self.finding.show(node, system, value)
            else:
                step = self._step(fix.replace, kind)
                text += show_safe(value, kind, system, up=up, step=step)
        return text

    def _step(self, slot: str, kind: Kind) -> Fraction:
        """In what steps the figures of a part that the rule reads can be held; 0 if not told."""
        read = [self.finding.knowledge.attributes.get(name) for name in self.finding.rule.inputs]
        steps = [
            procedure.resolution.interval.middle
            for attribute in read
            if attribute is not None and attribute.slot == slot and attribute.kind == kind
            for procedure in [self.finding.knowledge.procedures.get(attribute.measure)]
            if procedure is not None and procedure.resolution is not None
        ]
        return max(steps, default=Fraction(0))


def _may_hold(condition: Node, facts: Facts, knowledge: Knowledge) -> bool:
    """Whether a condition can hold, by the choices and the figures known so far."""
    if isinstance(condition, Apply) and condition.op in ("and", "or"):
        join = all if condition.op == "and" else any
        return join(_may_hold(part, facts, knowledge) for part in condition.args)
    if isinstance(condition, Compare) and condition.op in ("<", "<=", ">", ">="):
        margin = knowledge.differences.of(condition)
        greatest = figures_of_margin(condition, knowledge).of(facts)[id(margin)].upper
        return greatest >= 0 if condition.op.endswith("=") else greatest > 0
    return taken(condition, facts) is not False


def _safe_side(before: str, name: str, after: str) -> bool | None:
    """Whether all that is no less than a figure will do, or all that is no more; else None."""
    before = f" {before}"
    if name == "shortfall" or before.endswith(_MORE_BEFORE) or after.startswith(_MORE_AFTER):
        return True
    if before.endswith(_LESS_BEFORE) or after.startswith(_LESS_AFTER):
        return False
    return None


def _stepped_up(value: Fraction, step: Fraction) -> Fraction:
    """The value rounded up to whole steps."""
    return -(-value // step) * step


@cache
def _shortfall_attribute(kind: Kind) -> Attribute:
    variable = shortfall(kind)
    return Attribute(
        "shortfall", "what is missing", "engine", kind=kind, plausible=variable.plausible
    )
