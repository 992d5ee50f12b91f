"""The knowledge as one object, with what is computed from it once and kept."""

from __future__ import annotations

import pickle
from collections.abc import Iterable
from dataclasses import dataclass, field, fields, replace
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from fitcheck.knowledge.parts import (
    Caution,
    Citation,
    Derived,
    House,
    JobQuestion,
    Mate,
    Operation,
    Procedure,
    Rule,
    Usual,
)
from fitcheck.knowledge.word_lists import WordLists
from fitcheck.knowledge.words import Words
from fitcheck.language import Compiled, Differences
from fitcheck.model import LEVELS, Attribute, Each, Fact, MakerLimit, PartClass

if TYPE_CHECKING:
    from fitcheck.knowledge.files import StartFile
    from fitcheck.knowledge.hints import Hints
    from fitcheck.knowledge.titled import Titled
    from fitcheck.language import Condition, Lowering, Ranges

# Not needed where all is compiled already.
_MADE_AGAIN = {"ranges", "_conditions", "_unknown"}


@dataclass
class Knowledge:
    """Everything under rules/, checked; `digest` names just this state of it.

    `house` is what a shop decides over it, where one was asked: see `fitcheck.knowledge.house`.
    `asked` is what the makers of a build's parts ask for instead of limits, `before_makers` the
    knowledge without.
    """

    classes: dict[str, PartClass]
    attributes: dict[str, Attribute]
    derived: dict[str, Derived]
    rules: dict[str, Rule]
    mates: dict[str, Mate]
    procedures: dict[str, Procedure]
    operations: dict[str, Operation]
    sources: dict[str, Citation]
    cautions: dict[str, Caution]
    digest: str
    ranges: Ranges | None = field(default=None, repr=False)
    _conditions: dict[str, Condition] = field(default_factory=dict, repr=False)
    _fast: dict[str, Compiled] = field(default_factory=dict, repr=False)
    _exact: dict[str, Compiled] = field(default_factory=dict, repr=False)
    figures: dict[object, Any] = field(default_factory=dict, repr=False)
    differences: Differences = field(default_factory=Differences, repr=False)
    _unknown: dict[str, Fact] = field(default_factory=dict, repr=False)
    house: House | None = None
    ordinary: dict[str, tuple[Usual, ...]] | bytes = field(default_factory=dict, repr=False)
    asked: tuple[MakerLimit, ...] = ()
    before_makers: Knowledge | None = field(default=None, repr=False)
    questions: dict[str, JobQuestion] = field(default_factory=dict)
    word_lists: WordLists = field(default_factory=WordLists, repr=False)
    starts: tuple[StartFile, ...] = field(default=(), repr=False)

    def __getstate__(self) -> dict[str, Any]:
        """What is kept between runs: the knowledge, and what is compiled of it."""
        kept = {item.name for item in fields(self)} - _MADE_AGAIN
        state = {name: value for name, value in self.__dict__.items() if name in kept}
        return state | {"by_level": self.by_level}

    def __setstate__(self, state: dict[str, Any]) -> None:
        self.__dict__.update(state)
        self.ranges = None
        self._conditions, self._unknown = {}, {}

    @property
    def usual(self) -> dict[str, tuple[Usual, ...]]:
        """What each attribute usually is. Few commands ask, so what is kept is read when asked."""
        if isinstance(self.ordinary, bytes):
            self.ordinary, compiled = pickle.loads(self.ordinary)
            self.figures.update(compiled)
        assert not isinstance(self.ordinary, bytes)
        return self.ordinary

    def forget(self) -> None:
        """Drop everything made from the rules, as after a change of them."""
        self.ordinary = self.usual  # what is kept of it is compiled with the rules as they were
        self.ranges = None
        self._conditions, self._fast, self._exact, self.figures = {}, {}, {}, {}
        self._unknown = {}
        self.differences = Differences()

    def keep_compiled(self, other: Knowledge) -> None:
        """Take over what is compiled of the rules that another has unchanged."""
        same = {name for name, rule in self.rules.items() if other.rules.get(name) is rule}
        self._fast = {name: made for name, made in other._fast.items() if name in same}
        self._exact = {name: made for name, made in other._exact.items() if name in same}
        self.by_level = other.by_level  # each rule in it that is another here is judged alone

    def unknown(self, name: str) -> Fact:
        """The fact that stands in where nothing is said: all that is plausible."""
        found = self._unknown.get(name)
        if found is None:
            found = self._unknown[name] = Fact.unknown(self.attributes[name])
        return found

    def title_of(self, attribute: Attribute) -> str:
        """An attribute with its part, as in `valve spring: coil-bind height`."""
        if "." not in attribute.name:
            return attribute.title
        return f"{self.classes[attribute.slot].title}: {attribute.title}"

    def resolution_of(self, attribute: Attribute) -> Fraction | None:
        """What the attribute's procedure can tell apart; None where no scale is read."""
        procedure = self.procedures.get(attribute.measure)
        read = procedure.resolution if procedure and attribute.kind else None
        return read.interval.middle if read else None

    def with_rules(self, rules: dict[str, Rule]) -> Knowledge:
        """The same knowledge with other rules."""
        made = replace(self, rules=rules)
        made.forget()
        return made

    @cached_property
    def named_rules(self) -> Titled:
        """Finds rules by their names and titles."""
        from fitcheck.knowledge.titled import Titled  # noqa: PLC0415

        titles = {name: str(rule.file.title) for name, rule in self.rules.items()}
        return Titled("rule", titles, "fitcheck rules", self.hints)

    @cached_property
    def named_operations(self) -> Titled:
        """Finds operations by their names and titles."""
        from fitcheck.knowledge.titled import Titled  # noqa: PLC0415

        titles = {name: str(one.file.title) for name, one in self.operations.items()}
        return Titled("operation", titles, "fitcheck start --kind prices", self.hints)

    @cached_property
    def words(self) -> Words:
        """What people's words for parts, attributes and options mean."""
        return Words(self.classes, self.word_lists)

    @cached_property
    def hints(self) -> Hints:
        """What to write instead of a word that is not understood."""
        from fitcheck.knowledge.hints import Hints  # noqa: PLC0415  rarely needed

        return Hints(self.words)

    @cached_property
    def lowering(self) -> Lowering:
        """Where all expressions are lowered, so that what they share is computed once."""
        from fitcheck.language import Lowering  # noqa: PLC0415  rarely: what it gives is kept

        return Lowering(ranges=self.ranges, differences=self.differences)

    def condition(self, rule: Rule) -> Condition:
        """The rule, lowered."""
        from fitcheck.language import TRUE, Condition  # noqa: PLC0415

        found = self._conditions.get(rule.id)
        if found is None:
            applies = self.lowering.truth(rule.applies) if rule.applies else (TRUE, TRUE)
            found = Condition(applies, tuple(self.lowering.clauses(rule.requires)))
            self._conditions[rule.id] = found
        return found

    def fast(self, rule: Rule) -> Compiled:
        """The rule's verdict in floats, on its own."""
        found = self._fast.get(rule.id)
        if found is None:
            found = self._fast[rule.id] = self._verdicts([rule])
        return found

    def exact(self, rule: Rule) -> Compiled:
        """The rule's verdict in fractions, for where rounding could matter."""
        found = self._exact.get(rule.id)
        if found is None:
            found = self._exact[rule.id] = self._verdicts([rule], "exact")
        return found

    @cached_property
    def by_level(self) -> dict[Each, tuple[list[Rule], Compiled]]:
        """The rules of each level and one function that gives all their verdicts."""
        levels: dict[Each, tuple[list[Rule], Compiled]] = {}
        for each in LEVELS:
            rules = [rule for rule in self.rules.values() if rule.each == each]
            if rules:
                levels[each] = rules, self._verdicts(rules)
        return levels

    def _verdicts(self, rules: list[Rule], style: Literal["fast", "exact"] = "fast") -> Compiled:
        from fitcheck.language import compile_verdicts  # noqa: PLC0415

        return compile_verdicts([self.condition(rule) for rule in rules], style)

    @cached_property
    def of_sides(self) -> frozenset[str]:
        """What differs by the valve's side though unsaid: the side, spreads of its valves."""
        return frozenset(
            name
            for name, one in self.attributes.items()
            if name == "side" or (one.spread_of and one.each == "valve")
        )

    def with_spreads(self, names: Iterable[str]) -> frozenset[str]:
        """Some attributes and the spreads of their figures."""
        found = frozenset(names)
        return found | {name for name, one in self.attributes.items() if one.spread_of in found}

    @cached_property
    def readers(self) -> dict[str, list[Rule]]:
        """For each attribute the rules that read it, or its spread."""
        found: dict[str, list[Rule]] = {}
        for rule in self.rules.values():
            for name in rule.inputs:
                found.setdefault(name, []).append(rule)
                attribute = self.attributes.get(name)
                if attribute is not None and attribute.spread_of not in ("", *rule.inputs):
                    found.setdefault(attribute.spread_of, []).append(rule)
        return found

    @cached_property
    def _questions_by_name(self) -> dict[str, JobQuestion]:
        return {
            str(name): question
            for question in self.questions.values()
            for name in (*question.file.families, *question.file.rules)
        }

    def question_of(self, rule: Rule) -> JobQuestion:
        """What a person asks that the rule helps to answer: that names it, or its family."""
        named = self._questions_by_name
        return named.get(rule.id) or named[rule.family]

    def usual_of(self, names: Iterable[str]) -> set[str]:
        """The attributes of which something is usual that depends on one of these."""
        key = ("usual of", frozenset(names))
        known: set[str] | None = self.figures.get(key)
        if known is None:
            known = set(key[1])
            while more := {
                name
                for name, branches in self.usual.items()
                if name not in known and any(not known.isdisjoint(one.reads) for one in branches)
            }:
                known |= more
            self.figures[key] = known
        return known
