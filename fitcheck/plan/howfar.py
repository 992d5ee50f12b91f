"""How far an attribute can go: where nothing conflicts, and the rule that binds at each end.

Two things are kept apart. Where it is *possible*, no rule surely conflicts; where it is *certain*,
every rule fits whatever the figures that are still open turn out to be.

A range may have holes, so no end is searched for: the whole plausible range is cut up until each
piece is proved to give one answer, or is a single step of the display. The ends are then asked in
exact arithmetic. A rule that proves nothing over a range, however often it is cut, is asked at
values all over it, and named.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from fitcheck.check.bind import Binding
from fitcheck.check.checking import CLAIMS
from fitcheck.check.measuring.trial import Trial
from fitcheck.check.needs import missing_in
from fitcheck.check.verdict import RuleFailed
from fitcheck.knowledge import Knowledge, Rule, as_makers_ask
from fitcheck.language import CONFLICT, FITS, SILENT, STRADDLES
from fitcheck.model import (
    EVERYWHERE,
    Attribute,
    EngineBuild,
    Evidence,
    Fact,
    Origin,
    Position,
    Selector,
    Statement,
)
from fitcheck.plan.pieces import Pieces
from fitcheck.plan.steps import steps_of
from fitcheck.quantity import Interval, Quantity, System, show

FAILED = -1
_GOOD = frozenset((FITS, SILENT))
_CLEAR = frozenset((FITS, SILENT, STRADDLES))


@dataclass(frozen=True, slots=True)
class Binder:
    """A rule that ends a range, at these positions."""

    rule: Rule
    positions: tuple[Position, ...]


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run of values, both ends included, and what stands against the next value either way.

    Nothing stands there where the run ends with what is plausible.
    """

    first: int
    last: int
    below: tuple[Binder, ...]
    above: tuple[Binder, ...]


@dataclass(frozen=True, slots=True)
class RuleRuns:
    """What one rule says at some positions of each value, as runs of one answer.

    `waits` tells that other figures are not told that it waits for.
    """

    binder: Binder
    runs: list[tuple[int, int, int]]
    proved: bool
    waits: bool

    def code(self, at: int) -> int:
        """What it says of one value."""
        return next(code for first, last, code in self.runs if first <= at <= last)

    def only(self, codes: Iterable[int]) -> bool:
        """Whether it says nothing else of any value."""
        return all(code in codes for _, _, code in self.runs)


@dataclass(frozen=True)
class HowFar:
    """The answer for one attribute: `values` are its steps, or its options as masks.

    `hopeless` are rules that conflict at every value and `open` those that stay open at every
    value: no value of this attribute settles them, and the stretches leave them out. Where
    nothing is possible, `contradicting` are the fewest rules that leave each other no value.
    `asked` are rules that were asked at values all over the range and where the answers turn, and
    not proved in between. `judged` is what each rule says by itself, those of mere advice too.
    """

    attribute: Attribute
    positions: tuple[Position, ...]
    values: list[Fraction]
    possible: list[Stretch]
    certain: list[Stretch]
    hopeless: list[Binder]
    open: list[Binder]
    remarks: list[Binder]
    contradicting: list[Binder]
    asked: list[Binder]
    judged: list[RuleRuns]

    def interval(self, stretch: Stretch) -> Interval:
        """The ends of a stretch."""
        return Interval(self.values[stretch.first], self.values[stretch.last])


def how_far(
    build: EngineBuild,
    knowledge: Knowledge,
    attribute: Attribute,
    selector: Selector = EVERYWHERE,
    system: System = "inch",
) -> HowFar:
    """How far `attribute` can go at the positions selected, everything else as it is."""
    values = steps_of(attribute, system)
    supposed = build.supposing([suppose(attribute, values[0], selector)])
    knowledge = as_makers_ask(knowledge, supposed)
    binding = Binding(supposed, knowledge)
    judged: list[RuleRuns] = []
    for rule in knowledge.readers.get(attribute.name, ()):
        if rule.family != CLAIMS and rule.ways is None:
            judged += _judge(rule, binding, attribute, selector, values)
    remarks = [
        one.binder
        for one in judged
        if one.binder.rule.severity == "advice" and not one.only(_CLEAR)
    ]
    every, judged = judged, [one for one in judged if one.binder.rule.severity != "advice"]
    hopeless = [one for one in judged if one.only((CONFLICT,))]
    open_ = [one for one in judged if one.only((STRADDLES, FAILED))]
    able = [one for one in judged if one not in hopeless]
    positions = tuple(
        position for position in build.layout.positions(attribute.each) if selector.covers(position)
    )
    return HowFar(
        attribute,
        positions,
        values,
        _stretches(able, _CLEAR, len(values)),
        _stretches([one for one in able if one not in open_], _GOOD, len(values)),
        [one.binder for one in hopeless],
        [one.binder for one in open_],
        remarks,
        [one.binder for one in _contradicting(able, len(values))],
        [one.binder for one in judged if not one.proved],
        every,
    )


def suppose(attribute: Attribute, value: Fraction, selector: Selector = EVERYWHERE) -> Statement:
    """The statement that an attribute has one exact value, or option."""
    if attribute.kind is None:
        return Statement(attribute, selector, Evidence.MEASURED, int(value), Origin())
    quantity = Quantity(attribute.kind, Interval.point(value), "as supposed")
    return Statement(attribute, selector, Evidence.MEASURED, quantity, Origin())


def fact_at(attribute: Attribute, value: Fraction) -> Fact:
    """The fact that an attribute has one exact value, or option."""
    if attribute.kind is None:
        mask = int(value)
        return Fact(
            attribute,
            Evidence.MEASURED,
            True,
            mask=mask,
            sure=mask,
            text="as supposed",
            supposed=True,
        )
    return Fact.quantity(
        attribute, Evidence.MEASURED, Interval.point(value), text="as supposed", supposed=True
    )


def _judge(
    rule: Rule, binding: Binding, attribute: Attribute, selector: Selector, values: list[Fraction]
) -> list[RuleRuns]:
    judged = []
    for group in binding.groups(rule.each, rule.inputs):
        positions = tuple(position for position in group if selector.covers(position))
        if not positions:
            continue
        facts = {name: binding.fact(name, positions[0]) for name in rule.inputs}
        if any(not facts[name].given for name in rule.only_given):
            continue
        trial = Trial(rule, facts, binding.knowledge)
        code = _asker(trial, attribute, values)
        if attribute.kind is None:
            runs, proved = [(i, i, code(i)) for i in range(len(values))], True
        else:
            pieces = Pieces(rule, facts, attribute.name, binding.knowledge)
            runs, proved = pieces.runs(values, code), pieces.proved
        waits = bool({*missing_in(rule, facts)} - {attribute.name})
        judged.append(RuleRuns(Binder(rule, positions), runs, proved, waits))
    return judged


def _asker(trial: Trial, attribute: Attribute, values: list[Fraction]) -> Callable[[int], int]:
    known: dict[int, int] = {}

    def code(at: int) -> int:
        answer = known.get(at)
        if answer is None:
            try:
                answer = trial.code({attribute.name: fact_at(attribute, values[at])})
            except RuleFailed:
                answer = FAILED
            known[at] = answer
        return answer

    return code


def _contradicting(judged: list[RuleRuns], count: int) -> list[RuleRuns]:
    """The fewest that leave each other nothing, by leaving out whatever can be left out."""
    if _stretches(judged, _CLEAR, count):
        return []
    kept = list(judged)
    for one in judged:
        rest = [other for other in kept if other is not one]
        if rest and not _stretches(rest, _CLEAR, count):
            kept = rest
    return kept


def _stretches(judged: list[RuleRuns], good: frozenset[int], count: int) -> list[Stretch]:
    """The runs of values at which every rule gives one of the good answers."""
    cuts = sorted(
        {
            0,
            count,
            *(edge for one in judged for first, last, _ in one.runs for edge in (first, last + 1)),
        }
    )
    runs: list[tuple[int, int]] = []
    for first, after in pairwise(cuts):
        if all(one.code(first) in good for one in judged):
            if runs and runs[-1][1] == first - 1:
                runs[-1] = runs[-1][0], after - 1
            else:
                runs.append((first, after - 1))

    def against(at: int) -> tuple[Binder, ...]:
        if not 0 <= at < count:
            return ()
        return tuple(one.binder for one in judged if one.code(at) not in good)

    return [Stretch(first, last, against(first - 1), against(last + 1)) for first, last in runs]


@dataclass(frozen=True, slots=True)
class ReachTable:
    """For values of a second attribute, each as shown, how far the first can go."""

    rows: list[tuple[str, HowFar]]


def table(
    build: EngineBuild,
    knowledge: Knowledge,
    first: Attribute,
    second: Attribute,
    selector: Selector = EVERYWHERE,
    system: System = "inch",
    rows: int = 7,
) -> ReachTable:
    """How far `first` can go for some values of `second`, within what is possible for that."""
    here = any(selector.covers(p) for p in build.layout.positions(second.each))
    where = selector if here else EVERYWHERE
    second_alone = how_far(build, knowledge, second, where, system)
    lines = []
    for at in _spread_over(second_alone, rows):
        value = second_alone.values[at]
        supposed = build.supposing([suppose(second, value, where)])
        text = (
            second.option_words[at]
            if second.kind is None
            else show(Interval.point(value), second.kind, system)
        )
        lines.append((text, how_far(supposed, knowledge, first, selector, system)))
    return ReachTable(lines)


def _spread_over(range_of: HowFar, rows: int) -> list[int]:
    """Values spread evenly over what is possible; over all where nothing is."""
    if range_of.attribute.kind is None:
        return list(range(len(range_of.values)))
    first = range_of.possible[0].first if range_of.possible else 0
    last = range_of.possible[-1].last if range_of.possible else len(range_of.values) - 1
    return sorted({first + round((last - first) * i / max(1, rows - 1)) for i in range(rows)})
