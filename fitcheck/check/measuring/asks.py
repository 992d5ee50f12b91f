"""What to ask first: one ranking of the figures that are missing, by what each would change.

First come figures that could settle a likely clash, then those behind a STOP that ordinary parts
could cause, then the rest by how grave and how many the questions are that a figure settles; last,
what is done or seen as the engine goes together. Each counts by the minute of the work, that for
other figures which it needs besides included, and for what the figures above it leave open.

What hangs on a maker's saying that nobody made is no open question, so nothing is asked for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from enum import IntEnum
from fractions import Fraction
from functools import cached_property

from fitcheck.check.checking import BuildCheck
from fitcheck.check.finding import RuleFinding
from fitcheck.check.likely import Likely
from fitcheck.check.measuring.fineness import finely
from fitcheck.check.measuring.outcomes import Outcomes, outcomes_of
from fitcheck.check.measuring.places import fitted, minutes, place_of
from fitcheck.check.measuring.settling import OpenFinding, SettlingReadings
from fitcheck.knowledge import SEVERITIES, Knowledge, Procedure, Rule
from fitcheck.model import Attribute, Fact, Position
from fitcheck.source import frozen

WEIGHTS = {"stop": 9, "serious": 3, "advice": 1}
_MOST_ASKED_FOR = 4
# A question that is settled as often as this counts as settled.
_NEARLY_ALWAYS = 0.9


class Reason(IntEnum):
    """Why a figure stands where it does: the first that holds."""

    LIKELY_CLASH = 0
    STOP = 1
    REST = 2
    WORK = 3
    SPARE = 4

    @property
    def words(self) -> str:
        """The reason, to be followed by what it is about."""
        return _WORDS[self]


_WORDS = {
    Reason.LIKELY_CLASH: "a likely clash hangs on it",
    Reason.STOP: "ordinary parts could cause a STOP here",
    Reason.REST: "it would tell",
    Reason.WORK: "done or seen as the engine goes together",
    Reason.SPARE: "seldom needed after what stands above",
}


@frozen(eq=False)
class Ask:
    """A figure that is missing, at the places where it can settle something.

    `facts` is what is known at these places; `ways` how it settles what, alone before with others
    and the gravest first; `about` the rules for which it stands where it does; `listed` tells
    whether its part is listed in the build.
    """

    knowledge: Knowledge
    attribute: Attribute
    positions: tuple[Position, ...]
    facts: tuple[Fact, ...]
    ways: tuple[SettlingReadings, ...]
    reason: Reason
    about: tuple[Rule, ...]
    listed: bool

    @property
    def title(self) -> str:
        """The part and the figure, as in `valve spring: coil-bind height`."""
        return self.full(self.attribute)

    @property
    def whether_fitted(self) -> bool:
        """Whether it is asked if a part is there at all."""
        return fitted(self.attribute)

    def full(self, attribute: Attribute) -> str:
        """A figure with its part."""
        if fitted(attribute):
            return f"{self.knowledge.classes[attribute.slot].title}: fitted or not"
        return self.knowledge.title_of(attribute)

    @property
    def procedure(self) -> Procedure | None:
        """How it is found."""
        return self.knowledge.procedures.get(self.attribute.measure)

    @property
    def asked_of(self) -> str:
        """Who can tell it, `seller` or `owner`; empty where it is measured or looked at."""
        return self.procedure.asked if self.procedure else ""

    @property
    def tool(self) -> str:
        """What it is found with."""
        if self.whether_fitted:
            return f"list {self.attribute.slot} in the build, or write {self.attribute.slot}: none"
        return str(self.procedure.file.tool) if self.procedure else ""

    @property
    def minutes(self) -> int:
        """The work at all places together."""
        return minutes(self.attribute, self.procedure, self.positions)

    @property
    def rules(self) -> tuple[Rule, ...]:
        """The rules that it could settle, alone or with other figures; the gravest first."""
        found = {way.finding.rule.id: way.finding.rule for way in self.ways}
        return tuple(sorted(found.values(), key=_grave))

    @property
    def alone(self) -> tuple[SettlingReadings, ...]:
        """How it settles something without another figure."""
        return tuple(way for way in self.ways if len(way.readings) == 1)

    @property
    def together(self) -> tuple[SettlingReadings, ...]:
        """How it settles with others what it does not alone."""
        done = {way.finding for way in self.alone}
        return tuple(way for way in self.ways if way.finding not in done)

    def others(self, way: SettlingReadings) -> list[Attribute]:
        """The figures that a way needs besides."""
        found = dict.fromkeys(single(self.knowledge, name) for name in way.readings)
        return [self.knowledge.attributes[one] for one in found if one != self.attribute.name]

    @property
    def why(self) -> str:
        """Why it stands where it does, in words."""
        subjects = list(dict.fromkeys(str(rule.file.subject) for rule in self.about))
        more = f" and {len(subjects) - 2} more" if len(subjects) > 2 else ""
        return f"{self.reason.words}: {', '.join(subjects[:2])}{more}"

    @cached_property
    def finely(self) -> Fraction | None:
        """The widest range that a reading may leave and still settle nearly all it can."""
        name = self.attribute.name
        reading = sorted(self.ways, key=lambda way: way.often)
        best = {way.finding.rule.id: way for way in reading if name in way.readings}
        some = sorted(best.values(), key=lambda way: _grave(way.finding.rule))
        return finely(some[:_MOST_ASKED_FOR], name)


class MissingFigures:
    """The figures that are missing in a build, ranked; and the questions that none can settle."""

    def __init__(self, check: BuildCheck) -> None:
        self.check = check
        self._outcomes: dict[tuple[Fact, Fact], Outcomes | None] = {}
        self._open = [
            self._opened(finding)
            for finding in check.all_findings
            if finding.verdict.undecided and not finding.disputed
        ]

    @cached_property
    def ranked(self) -> list[Ask]:
        """All figures that can settle something, the first to ask for first."""
        figures: dict[str, _Figure] = {}
        for one in self._open:
            for way in one.question.ways:
                for name in way.readings:
                    key = single(self.check.knowledge, name)
                    if key not in figures:
                        figures[key] = _Figure(key, self.check)
                    figures[key].add(one, way, name)
        return list(_in_order(figures))

    @cached_property
    def waiting(self) -> list[RuleFinding]:
        """Open findings that no figure settles while parts are not listed."""
        return [finding for finding in self._unsettled if self._unlisted(finding)]

    @cached_property
    def beyond(self) -> list[RuleFinding]:
        """Open findings on listed parts that no figure settles.

        Practice disagrees on their limit, or the figures stand on it as nearly as can be told.
        """
        disputed = [finding for finding in self.check.undecided if finding.disputed]
        return disputed + [one for one in self._unsettled if not self._unlisted(one)]

    @property
    def _unsettled(self) -> list[RuleFinding]:
        return [one.question.finding for one in self._open if not one.question.ways]

    def _unlisted(self, finding: RuleFinding) -> bool:
        return any(
            fact.open and name != "side" and fact.attribute.slot not in self.check.build.parts
            for name, fact in finding.facts.items()
        )

    def _opened(self, finding: RuleFinding) -> _Open:
        place, likelihoods = finding.positions[0], self.check.likelihoods
        inputs = {}
        # A maker's own figure would silence the rule, which says nothing of the parts.
        besides = ("side", *finding.rule.unless_given)
        for name, fact in finding.facts.items():
            if fact.open and name not in besides:
                outcomes = self._outcome(fact, likelihoods.fact(name, place))
                if outcomes is not None:
                    inputs[name] = outcomes
        costs = {
            name: _minutes(single(self.check.knowledge, name), [finding], self.check)
            for name in inputs
        }
        places = len(self.check.build.layout.positions(finding.rule.each))
        return _Open(
            OpenFinding(finding, inputs, costs),
            _reason(finding, likelihoods.standing(finding)),
            WEIGHTS[finding.rule.severity] * len(finding.positions) / places,
        )

    def _outcome(self, fact: Fact, usual: Fact) -> Outcomes | None:
        key = fact, usual
        if key not in self._outcomes:
            self._outcomes[key] = outcomes_of(fact, self.check.knowledge, usual)
        return self._outcomes[key]


def asks(check: BuildCheck, most: int | None = None) -> list[Ask]:
    """The figures worth having, the first to ask for first; `most` of them at most."""
    return MissingFigures(check).ranked[:most]


class _Open:
    """A question, what it weighs, and the share of it that no figure asked for settles yet."""

    def __init__(self, question: OpenFinding, reason: Reason, weight: float) -> None:
        self.question = question
        self.reason = reason
        self.weight = weight
        self.left = 1.0


class _Figure:
    """An attribute at all the places where it settles something."""

    def __init__(self, name: str, check: BuildCheck) -> None:
        self.name = name
        self.check = check
        self.listed = check.knowledge.attributes[name].slot in check.build.parts
        self.ways: list[tuple[_Open, SettlingReadings]] = []
        self.facts: dict[Position, Fact] = {}

    def add(self, one: _Open, way: SettlingReadings, name: str) -> None:
        """A way that needs it."""
        self.ways.append((one, way))
        for position in _places(self.name, way.finding, self.check):
            self.facts[position] = way.finding.facts[name]

    @cached_property
    def minutes(self) -> int:
        """The work at all places."""
        return _minutes(self.name, [way.finding for _, way in self.ways], self.check)

    def value(self, reason: Reason, asked: set[str]) -> float:
        """What it settles of the questions of a reason, for each minute.

        With other figures where they add more for their minutes than it has without them.
        """
        alone: dict[_Open, float] = {}
        joint: list[tuple[float, dict[str, int]]] = []
        for one, way in self.ways:
            if one.reason is reason and one.left:
                gain = one.weight * one.left * way.often
                others = self._others(one, way, asked)
                if others:
                    joint.append((gain - alone.get(one, 0.0), others))
                else:
                    alone[one] = max(gain, alone.get(one, 0.0))
        gain, work, besides = sum(alone.values()), self.minutes, dict[str, int]()
        for more, others in sorted(joint, key=lambda pair: -pair[0] / sum(pair[1].values())):
            extra = sum(took for name, took in others.items() if name not in besides)
            if more > 0 and (gain + more) * work >= gain * (work + extra):
                gain, work = gain + more, work + extra
                besides |= others
        return gain / work

    def _others(self, one: _Open, way: SettlingReadings, asked: set[str]) -> dict[str, int]:
        """What else a way needs that is not asked for yet, with the minutes."""
        found = {single(self.check.knowledge, name): name for name in way.readings}
        return {
            other: one.question.minutes[name]
            for other, name in found.items()
            if other != self.name and other not in asked
        }

    def settle(self, asked: set[str]) -> set[str]:
        """Take what it settles, once asked for, from what is left; whose value changes."""
        changed: set[str] = set()
        for one, way in self.ways:
            needed = {single(self.check.knowledge, name) for name in way.readings}
            changed |= needed
            if needed <= asked:
                one.left *= 1 - way.often
                one.left = one.left if one.left > 1 - _NEARLY_ALWAYS else 0.0
                changed |= {name for other in one.question.ways for name in other.readings}
        return {single(self.check.knowledge, name) for name in changed}

    def ask(self, reason: Reason) -> Ask:
        """What stands in the list."""
        knowledge = self.check.knowledge
        positions = tuple(sorted(self.facts, key=Position.order))
        ways = [way for _, way in self.ways]
        about = [way.finding.rule for one, way in self.ways if one.reason is reason] or [
            way.finding.rule for way in ways
        ]
        return Ask(
            knowledge,
            knowledge.attributes[self.name],
            positions,
            tuple(dict.fromkeys(self.facts[position] for position in positions)),
            tuple(sorted(ways, key=lambda way: (len(way.readings) > 1, _grave(way.finding.rule)))),
            reason,
            tuple(sorted({rule.id: rule for rule in about}.values(), key=_grave)),
            self.listed,
        )


def _in_order(figures: dict[str, _Figure]) -> Iterator[Ask]:
    """One figure after the other, each the best for what is left open by those before."""
    left, asked = dict(figures), set[str]()
    for reason in Reason:
        values = {name: figure.value(reason, asked) for name, figure in left.items()}
        while left:
            name = max(left, key=lambda one: (values[one] > 0, left[one].listed, values[one]))
            if not values[name]:
                break
            figure = left.pop(name)
            asked.add(name)
            for other in figure.settle(asked) & left.keys():
                values[other] = left[other].value(reason, asked)
            yield figure.ask(reason)
    yield from (figure.ask(Reason.SPARE) for figure in left.values())


def single(knowledge: Knowledge, name: str) -> str:
    """The attribute that is measured: of a spread, the one that it is the spread of."""
    return knowledge.attributes[name].spread_of or name


def _places(name: str, finding: RuleFinding, check: BuildCheck) -> list[Position]:
    """Where an attribute is found for a finding; for a spread everywhere."""
    each = check.knowledge.attributes[name].each
    if name not in finding.facts:
        return check.build.layout.positions(each)
    return list(dict.fromkeys(place_of(each, position) for position in finding.positions))


def _minutes(name: str, findings: Iterable[RuleFinding], check: BuildCheck) -> int:
    attribute = check.knowledge.attributes[name]
    places = dict.fromkeys(at for finding in findings for at in _places(name, finding, check))
    return minutes(attribute, check.knowledge.procedures.get(attribute.measure), places)


def _reason(finding: RuleFinding, standing: Likely | None) -> Reason:
    if finding.rule.by_work or finding.rule.by_look:
        return Reason.WORK
    if standing is Likely.CLASHES and finding.rule.severity != "advice":
        return Reason.LIKELY_CLASH
    return Reason.STOP if standing is Likely.OPEN and _grave(finding.rule) == 0 else Reason.REST


def _grave(rule: Rule) -> int:
    return SEVERITIES.index(rule.severity)
