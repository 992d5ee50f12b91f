"""Binds a build a second time: what nobody gave is as ordinary parts are."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from fitcheck.check.bind import NO, YES, Binding
from fitcheck.knowledge import Knowledge
from fitcheck.knowledge.figures import condition_of_usual, figure_of_usual
from fitcheck.knowledge.parts import Usual
from fitcheck.language import FITS
from fitcheck.model import LEVELS, Each, EngineBuild, Evidence, Fact, Position
from fitcheck.quantity import Interval

_NOT_FITTED = "such a part is usually not fitted"


class Ordinary(Binding):
    """The facts of a build; where nobody gave one, what is usual; where nothing is, the unknown.

    A usual figure is no statement: it is not `given`. It is never wider than what is plausible
    nor outside it. Positions at which the same is said share usual facts as well.
    """

    def __init__(self, build: EngineBuild, knowledge: Knowledge) -> None:
        super().__init__(build, knowledge)
        scattered = {
            statement.attribute.name
            for said in self._said.values()
            for statement in said
            if statement.selector.cylinder or statement.selector.bank
        }
        self._varying |= knowledge.usual_of(self._varying)
        self._scattered = knowledge.usual_of(scattered)
        self._found: dict[tuple[str, bool, Position | None], Fact] = {}
        self._alike: dict[tuple[object, ...], Fact] = {}
        self._branches: dict[Fact, Usual] = {}
        self._rests_on: dict[Fact, frozenset[str]] = {}

    def fact(self, name: str, position: Position) -> Fact:
        """The fact that holds: as given, else as is usual."""
        return self._known(name, position, helpers=False)

    def untold(self, name: str, position: Position) -> Fact:
        """The fact without what is usual."""
        if name == "side" and position.side is None:
            return self.knowledge.unknown(name)
        return super().fact(name, position)

    def branch(self, fact: Fact) -> Usual | None:
        """The branch that a usual fact comes from."""
        return self._branches.get(fact)

    def scattered(self, name: str) -> bool:
        """Whether a figure may differ between cylinders or banks."""
        return name in self._scattered

    def figure(self, name: str, position: Position) -> Fact:
        """The fact as other usual figures read it."""
        return self._known(name, position, helpers=True)

    def _known(self, name: str, position: Position, *, helpers: bool) -> Fact:
        attribute = self.knowledge.attributes[name]
        at = _within(position, attribute.each)
        key = (name, helpers, at if name in self._varying else None)
        fact = self._found.get(key)
        if fact is None:
            sure = self.untold(name, at)
            fact = self._found[key] = sure if sure.given else self._usual(sure, at, helpers)
        return fact

    def _usual(self, sure: Fact, at: Position, helpers: bool) -> Fact:
        attribute = sure.attribute
        if attribute.absent:
            fitted = self._known(f"{attribute.slot}.present", at, helpers=False).mask
            if fitted == NO:
                value = attribute.without_part
                assert value is not None
                return self._shared((attribute.name, NO), sure, value, _NOT_FITTED)
            if fitted != YES:
                return sure
        for branch in self.knowledge.usual.get(attribute.name, ()):
            usual = self._branch(branch, sure, at) if helpers or not branch.helper else None
            if usual is not None:
                return usual
        return sure

    def _branch(self, branch: Usual, sure: Fact, at: Position) -> Fact | None:
        """The fact that a branch gives; None where it does not hold, or lacks a figure."""
        if any(map(self._said_of, branch.unless_stated)):
            return None
        if not all(map(self._said_of, branch.if_stated)):
            return None
        facts = {name: self._read(name, branch, at) for name in branch.reads}
        if branch.when is not None and not _holds(branch, facts, self.knowledge):
            return None
        if any(_unknown(facts[name]) for name in branch.figures):
            return None
        value = _value(branch, facts, self.knowledge)
        source = self.knowledge.sources[branch.source].words
        usual = self._shared((branch.id, value), sure, value, f"{branch.why} [{source}]")
        if usual is not sure:
            self._branches[usual] = branch
            self._rests_on[usual] = frozenset(self._stated_in(facts))
        return usual

    def _stated_in(self, facts: dict[str, Fact]) -> Iterator[str]:
        """The names that somebody stated, among facts and what those rest on."""
        for name, fact in facts.items():
            if fact.given:
                yield name
            yield from self.rests_on(fact)

    def rests_on(self, fact: Fact) -> frozenset[str]:
        """What was stated that a usual fact comes from."""
        return self._rests_on.get(fact, frozenset())

    def _said_of(self, name: str) -> bool:
        """Whether somebody said something of it: a figure, or that the part is there or is not."""
        slot, _, own = name.partition(".")
        listed = own == "present" and (slot in self.build.parts or slot in self.build.absent)
        return listed or name in self._said

    def _read(self, name: str, branch: Usual, at: Position) -> Fact:
        """A fact that a branch reads; what differs between finer places, over all of them."""
        here = self._known(name, at, helpers=True)
        finer = LEVELS.index(here.attribute.each) > LEVELS.index(branch.attribute.each)
        if name not in self._varying or not (finer or branch.at):
            return here
        inside = [
            self._known(name, place, helpers=True)
            for place in self.build.layout.positions(here.attribute.each)
            if place.side in (None, branch.at or place.side)
            if at.cylinder in (None, place.cylinder) and at.bank in (None, place.bank)
        ]
        return _over(inside)

    def _shared(self, key: tuple[object, ...], sure: Fact, value: Interval | int, why: str) -> Fact:
        """One fact for all positions at which it comes about alike."""
        key = (*key, sure)
        usual = self._alike.get(key)
        if usual is None:
            usual = self._alike[key] = _narrowed(sure, value, why)
        return usual


def _within(position: Position, each: Each) -> Position:
    """The position as far as an attribute of a level can differ."""
    if each == "engine":
        return Position()
    if each == "bank":
        return Position(position.bank)
    return Position(position.bank, position.cylinder, position.side if each == "valve" else None)


def _over(facts: list[Fact]) -> Fact:
    """One fact that holds wherever one of these does; unknown, where one of them is."""
    first, *others = dict.fromkeys(facts)
    if not others or any(map(_unknown, facts)):
        return next((fact for fact in facts if _unknown(fact)), first)
    given, evidence = all(fact.given for fact in facts), max(fact.evidence for fact in facts)
    if first.interval is None:
        mask = first.mask
        for fact in others:
            mask |= fact.mask
        return Fact(first.attribute, evidence, given, mask=mask, sure=0)
    ends = [fact.interval for fact in facts if fact.interval]
    interval = Interval(min(end.lower for end in ends), max(end.upper for end in ends))
    return replace(Fact.quantity(first.attribute, evidence, interval), given=given)


def _unknown(fact: Fact) -> bool:
    return not fact.given and fact.evidence is not Evidence.USUAL


def _holds(branch: Usual, facts: dict[str, Fact], knowledge: Knowledge) -> bool:
    compiled = condition_of_usual(branch, knowledge)
    code: int = compiled.exactly(facts)[0]
    return code == FITS


def _value(branch: Usual, facts: dict[str, Fact], knowledge: Knowledge) -> Interval | int:
    if branch.node is None:
        return branch.mask
    if branch.attribute.kind is None:
        (name,) = branch.figures
        return facts[name].mask
    return figure_of_usual(branch, knowledge).of(facts)[id(branch.node)]


def _narrowed(sure: Fact, value: Interval | int, why: str) -> Fact:
    """What is usual of what is possible; what is possible, where nothing of it is usual."""
    attribute = sure.attribute
    if isinstance(value, Interval):
        assert sure.interval is not None
        if not value.meets(sure.interval) or sure.interval.within(value):
            return sure
        kept = value.clipped(sure.interval)
        low, high = float(kept.lower), float(kept.upper)
        return Fact(attribute, Evidence.USUAL, False, kept, text=why, low=low, high=high)
    mask = value & sure.mask
    if not mask or mask == sure.mask:
        return sure
    single = attribute.several or not mask & mask - 1
    return Fact(attribute, Evidence.USUAL, False, mask=mask, sure=mask if single else 0, text=why)
