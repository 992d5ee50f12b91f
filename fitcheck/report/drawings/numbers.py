"""The build's own numbers at one place, for drawings: how wide each is, and what it waits for."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import cached_property
from typing import Any

from fitcheck.check import BuildCheck, RuleFinding, Verdict
from fitcheck.check.needs import missing
from fitcheck.knowledge import kind_in
from fitcheck.knowledge.figures import Figures, figures_of_derived
from fitcheck.language import Compare, Node, Step, variables
from fitcheck.language.tree import Apply
from fitcheck.model import Fact, Position
from fitcheck.quantity import Interval, Kind, System, show
from fitcheck.report.answers import worst_place
from fitcheck.source import frozen


@frozen
class DrawnFigure:
    """A figure of the build; `lacks` names what nobody gave and it waits for."""

    title: str
    kind: Kind
    interval: Interval
    lacks: tuple[str, ...]
    text: str

    @property
    def known(self) -> bool:
        """Whether it rests on given figures alone."""
        return not self.lacks

    @property
    def low(self) -> float:
        """The least it can be, in base units."""
        return float(self.interval.lower)

    @property
    def high(self) -> float:
        """The most it can be."""
        return float(self.interval.upper)

    @property
    def middle(self) -> float:
        """Half way."""
        return float(self.interval.middle)

    @property
    def shown(self) -> str:
        """The figure with its unit, or that it is not known."""
        if self.known:
            return self.text
        waits = [title for title in self.lacks if title != self.title]
        return f"not known (lacks {', '.join(waits)})" if waits else "not known"


class Numbers:
    """Finds numbers of a check's build, and the findings about them."""

    def __init__(self, check: BuildCheck, system: System) -> None:
        self.check = check
        self.system: System = system
        self.knowledge = check.knowledge
        self.binding = check.binding
        self.kept: dict[object, Any] = {}  # what a drawing worked out for a place, once

    def of(self, name: str, at: Position) -> DrawnFigure:
        """An attribute or a derived quantity at a position."""
        if name in self.knowledge.derived:
            return self._told(figures_of_derived(name, self.knowledge), at)[0]
        fact = self.binding.fact(name, at)
        assert fact.interval is not None and fact.attribute.kind is not None
        title = self.check.knowledge.title_of(fact.attribute)
        lacks = () if fact.given else (title,)
        shown = show(fact.interval, fact.attribute.kind, self.system)
        return DrawnFigure(title, fact.attribute.kind, fact.interval, lacks, shown)

    def all_of(self, key: object, nodes: list[Node], at: Position) -> list[DrawnFigure]:
        """Several figures at a position at once; `key` names just these nodes."""
        return self._told(Figures(self.knowledge, nodes, ("drawn", key)), at)

    def _told(self, figures: Figures, at: Position) -> list[DrawnFigure]:
        names = (name for node in figures.nodes for name in variables(node))
        facts = {name: self.binding.fact(name, at) for name in names}
        values = figures.of(facts)
        return [self._number(node, values[id(node)], facts) for node in figures.nodes]

    def _number(self, node: Node, interval: Interval, facts: dict[str, Fact]) -> DrawnFigure:
        kind = kind_in(node)
        assert kind is not None
        lacks = tuple(
            self.check.knowledge.title_of(facts[name].attribute) for name in missing(node, facts)
        )
        shown = show(interval, kind, self.system)
        return DrawnFigure(self.title(node), kind, interval, lacks, shown)

    def title(self, node: Node) -> str:
        """The words for a named figure."""
        name = getattr(node, "name", "")
        if isinstance(node, Step) and name in self.knowledge.derived:
            return str(self.knowledge.derived[name].file.title)
        attribute = self.knowledge.attributes.get(name)
        return self.check.knowledge.title_of(attribute) if attribute else name

    def option(self, name: str, at: Position) -> str:
        """The one option that a choice has at a position; empty while it is open."""
        fact = self.binding.fact(name, at)
        return (
            "" if fact.open or not fact.mask else fact.attribute.options[fact.mask.bit_length() - 1]
        )

    def fitted(self, slot: str, at: Position) -> bool:
        """Whether a part is surely fitted."""
        return self.option(f"{slot}.present", at) == "yes"

    @cached_property
    def _by_figure(self) -> dict[str, list[RuleFinding]]:
        found: dict[str, list[RuleFinding]] = {}
        for finding in self.check.findings:
            for name in _figures_asked(finding.rule.requires):
                found.setdefault(name, []).append(finding)
        return found

    def about(self, name: str, at: Position) -> RuleFinding | None:
        """The worst finding that asks about a figure at a position."""
        found = [finding for finding in self._by_figure.get(name, ()) if _holds(finding, at)]
        return worst_place(found) if found else None

    def groups(self, names: list[str], each: str) -> list[list[Position]]:
        """The positions of a level, those with the same numbers together."""
        read: dict[str, None] = {}
        for name in names:
            derived = self.knowledge.derived.get(name)
            read |= dict.fromkeys(variables(derived.node) if derived else (name,))
        return self.binding.groups(each, read)  # type: ignore[arg-type]

    def length(self, millimetres: float) -> str:
        """A length as the reader expects it."""
        from fitcheck.quantity import KINDS  # noqa: PLC0415

        return show(Interval.point(Fraction(millimetres)), KINDS["length"], self.system)


def _holds(finding: RuleFinding, at: Position) -> bool:
    return any(
        own.bank in (None, at.bank)
        and own.cylinder in (None, at.cylinder)
        and own.side in (None, at.side)
        for own in finding.positions
    )


def _figures_asked(node: Node) -> Iterator[str]:
    """The names of the figures that a demand compares, as it is written."""
    if isinstance(node, Compare):
        name = getattr(node.left, "name", "")
        if name:
            yield name
    elif isinstance(node, Apply):
        for part in node.args:
            yield from _figures_asked(part)


def state(finding: RuleFinding) -> str:
    """The state that a finding is drawn in."""
    return {Verdict.CONFLICT: "clash", Verdict.FITS: "fits"}.get(finding.verdict, "open")


STATE_WORDS = {"clash": "clashes", "open": "cannot be told yet", "fits": "fits"}
