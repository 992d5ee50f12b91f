"""Binds a build to the knowledge: which fact holds for each attribute at each position."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from fitcheck.knowledge import Knowledge
from fitcheck.model import (
    EVERYWHERE,
    SIDES,
    Attribute,
    Each,
    EngineBuild,
    Evidence,
    Fact,
    Layout,
    Position,
    Statement,
)
from fitcheck.quantity import Interval, Quantity

NO, YES, EITHER = 1, 2, 3


class Binding:
    """The facts of a build. Two positions share a `Fact` object where they share what is said."""

    def __init__(self, build: EngineBuild, knowledge: Knowledge) -> None:
        self.build = build
        self.knowledge = knowledge
        self._said: dict[str, list[Statement]] = defaultdict(list)
        self._brings: dict[str, Statement] = {}  # by the slots that a part sold complete fills
        for statement in build.statements():
            self._said[statement.attribute.name].append(statement)
            if statement.attribute.brings and statement.value == YES:
                self._brings |= dict.fromkeys(statement.attribute.brings, statement)
        for said in self._said.values():
            said.sort(key=lambda statement: statement.strength)
            said.reverse()  # of two as strong the later in the file comes first
        self._varying = {
            name
            for name, said in self._said.items()
            if any(statement.selector != EVERYWHERE for statement in said)
        } | {"side"}
        self._varying |= {
            name
            for name in knowledge.of_sides
            if knowledge.attributes[name].spread_of in self._said
        }
        self._groups: dict[tuple[Each, tuple[str, ...]], list[list[Position]]] = {}
        self._facts: dict[str, Fact] = {}
        self._statements: dict[int, Fact] = {}
        self._same: dict[object, Fact] = {}
        self.wordings: dict[object, Any] = {}  # by the findings on these facts
        head = build.parts.get("head", ())
        self._head_has = {
            part.slot for parts in build.parts.values() for part in parts if part.holder == "head"
        }
        self._head_told = bool(head) and bool(self._head_has)

    def fact(self, name: str, position: Position) -> Fact:
        """The fact that holds for an attribute at a position: the strongest statement there."""
        for statement in self._said.get(name, ()):
            if statement.selector.covers(position):
                if statement.attribute.spread_of:
                    return self._spread_or(statement, position)
                return self._stated(statement)
        key = f"{name} {position.side}" if name in self.knowledge.of_sides else name
        fact = self._facts.get(key)
        if fact is None:
            fact = self._facts[key] = self._unsaid(self.knowledge.attributes[name], position)
        return fact

    def _stated(self, statement: Statement) -> Fact:
        fact = self._statements.get(id(statement))
        if fact is None:
            # The same said twice, as of two cylinders, is one fact.
            key = (statement.attribute.name, statement.evidence, statement.value, statement.origin)
            fact = self._same.setdefault(key, _stated(statement))
            self._statements[id(statement)] = fact
        return fact

    def _spread_or(self, statement: Statement, position: Position) -> Fact:
        """What is said of a spread, unless the figures it is the spread of know better."""
        said = self._stated(statement)
        if statement.supposed or statement.evidence is Evidence.MEASURED:
            return said
        attribute = statement.attribute
        key = f"{attribute.name} {position.side}"
        gathered = self._facts.get(key)
        if gathered is None:
            gathered = self._facts[key] = spread(attribute, self, position)
        assert gathered.interval is not None and said.interval is not None
        return gathered if gathered.given or not gathered.interval.meets(said.interval) else said

    def groups(self, each: Each, names: Iterable[str]) -> list[list[Position]]:
        """The positions of a level, those with the same facts for all the names together."""
        varying = tuple([name for name in names if name in self._varying])
        groups = self._groups.get((each, varying))
        if groups is None:
            alike: dict[tuple[int, ...], list[Position]] = defaultdict(list)
            for position in self.build.layout.positions(each):
                key = tuple([id(self.fact(name, position)) for name in varying])
                alike[key].append(position)
            groups = self._groups[each, varying] = list(alike.values())
        return groups

    def _unsaid(self, attribute: Attribute, position: Position) -> Fact:
        """What holds where nobody said anything: the part's absence, else the class's range."""
        name = attribute.name
        if name == "side":
            return _mask(attribute, 1 << SIDES.index(position.side or ""))
        if name.endswith(".present"):
            return self._present(attribute)
        if name.endswith(".comes_with_head"):
            return self._comes_with_head(attribute)
        if attribute.spread_of:
            return spread(attribute, self, position)
        if name == "engine.cylinders" and attribute.kind is not None:
            count = Interval.point(self.build.layout.cylinders)
            return Fact.quantity(attribute, Evidence.MEASURED, count, text="as listed")
        return self._perhaps_absent(attribute) if attribute.absent else self.knowledge.unknown(name)

    def _present(self, attribute: Attribute) -> Fact:
        """Whether a part is fitted: listed, said to be none, brought by another, or not told."""
        slot = attribute.slot
        if slot in self.build.parts:
            return _mask(attribute, YES)
        if slot in self.build.absent:
            return _mask(attribute, NO)
        return self._brought(attribute) or _mask(attribute, EITHER)

    def _comes_with_head(self, attribute: Attribute) -> Fact:
        slot = attribute.slot
        if slot in self._head_has:
            return _mask(attribute, YES)
        if slot in self.build.absent or self._of_another_seller(slot):
            return _mask(attribute, NO)
        brought = self._brought(attribute)  # also where its figures stand in a slot of their own
        listed = slot in self.build.parts or self._head_told
        return brought or _mask(attribute, NO if listed else EITHER)

    def _of_another_seller(self, slot: str) -> bool:
        """Whether a part is said to come from somebody, and not from who sells the head."""
        sellers, heads = (
            {part.seller for part in self.build.parts.get(name, ()) if part.seller}
            for name in (slot, "head")
        )
        return bool(sellers) and sellers.isdisjoint(heads)

    def _brought(self, attribute: Attribute) -> Fact | None:
        """That a part comes with what somebody says is sold complete with it."""
        said = self._brings.get(attribute.slot)
        if said is None:
            return None
        text = f"as {said.attribute.title}"
        return Fact(attribute, said.evidence, True, mask=YES, sure=YES, text=text)

    def _perhaps_absent(self, attribute: Attribute) -> Fact:
        """A figure of a part that is not fitted, or of one of which that is not told."""
        fitted = self.fact(f"{attribute.slot}.present", Position())
        without, unknown = attribute.without_part, self.knowledge.unknown(attribute.name)
        if fitted.mask == YES:
            return unknown
        if fitted.mask == NO:
            text = "not fitted"
            if isinstance(without, Interval):
                return Fact.quantity(attribute, fitted.evidence, without, text=text)
            assert without is not None
            return Fact(attribute, fitted.evidence, True, mask=without, sure=without, text=text)
        possible = attribute.possible
        return unknown if possible is None else Fact.quantity(attribute, Evidence.ASSUMED, possible)


def gathered_places(
    attribute: Attribute, of: Attribute, layout: Layout, position: Position
) -> list[Position]:
    """The places of the figures that a spread is the spread of: of all, or of one side's valves."""
    return [
        at
        for at in layout.positions(of.each)
        if attribute.each != "valve" or at.side == position.side
    ]


def spread(attribute: Attribute, binding: Binding, position: Position) -> Fact:
    """A spread as the single figures tell it; given only where each of them is measured.

    With some of them open it is at least what those known differ by.
    """
    of = binding.knowledge.attributes[attribute.spread_of]
    places = gathered_places(attribute, of, binding.build.layout, position)
    facts = [binding.fact(of.name, at) for at in places]
    return spread_of(attribute, facts, binding.knowledge)


def spread_of(attribute: Attribute, facts: list[Fact], knowledge: Knowledge) -> Fact:
    """The same for the single figures themselves."""
    assert attribute.plausible is not None
    if not any(fact.given for fact in facts):
        return knowledge.unknown(attribute.name)
    known = all(fact.given and fact.evidence <= Evidence.PREDICTED for fact in facts)
    evidence = max(fact.evidence for fact in facts) if known else Evidence.ASSUMED
    between = spread_between([fact.interval for fact in facts if fact.interval])
    most = attribute.plausible.upper
    interval = Interval(min(between.lower, most), min(between.upper, most))
    text = f"largest less smallest {facts[0].attribute.title}" if known else ""
    return Fact.quantity(attribute, evidence, interval, text=text)


def spread_between(single: list[Interval]) -> Interval:
    """Largest less smallest of several figures, whatever each is within its interval."""
    least = max(one.lower for one in single) - min(one.upper for one in single)
    most = max(
        (
            one.upper - other.lower
            for i, one in enumerate(single)
            for j, other in enumerate(single)
            if i != j
        ),
        default=Fraction(0),
    )
    return Interval(max(least, Fraction(0)), max(most, Fraction(0)))


def _mask(attribute: Attribute, mask: int) -> Fact:
    known = mask & mask - 1 == 0
    evidence = Evidence.MEASURED if known else Evidence.ASSUMED
    return Fact(
        attribute,
        evidence,
        known,
        mask=mask,
        sure=mask if known else 0,
        text="as listed" if known else "",
    )


def _stated(statement: Statement) -> Fact:
    attribute, value = statement.attribute, statement.value
    if isinstance(value, Quantity):
        return Fact.quantity(attribute, statement.evidence, value.interval, statement, value.text)
    if isinstance(value, int):
        words = dict(zip(attribute.options, attribute.option_words, strict=True))
        chosen = [words[option] for i, option in enumerate(attribute.options) if value >> i & 1]
        return Fact(
            attribute,
            statement.evidence,
            True,
            mask=value,
            # Of a choice two options are one or the other, and neither is sure.
            sure=value if attribute.several or len(chosen) == 1 else 0,
            text=(", " if attribute.several else " or ").join(chosen),
            statement=statement,
        )
    return Fact(attribute, statement.evidence, True, text=value, statement=statement)
