"""What can still decide a question: proved by readings that decide it, or not proposed.

An input can decide a question when it belongs to a set of measurements of which some readings
give the answer and, without it, the others' readings do not. Every such `Way` is kept with those
readings; whoever doubts it evaluates the rule twice.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from random import Random

from fitcheck.check.finding import Finding
from fitcheck.check.measuring.meeting import Meeting
from fitcheck.check.measuring.outcomes import Outcomes, outcomes_of
from fitcheck.check.measuring.routes import routes
from fitcheck.check.measuring.trial import Trial
from fitcheck.model import Fact
from fitcheck.source import frozen

# Rules of many figures are asked no more often than this; what has weight shows long before.
MOST_ASKED = 400
_DRAWS, _VAIN = 8, 3
_SMALL = 2
_LINES = 10
_ROUGH, _FINE = 8, 12
_USUAL = (0.0, 1.0, 0.5)

Shares = dict[str, float]
Readings = Mapping[str, Fact]


@frozen
class Way:
    """Readings that decide a finding and, without the one of `name`, do not."""

    finding: Finding
    name: str
    readings: Readings

    @property
    def others(self) -> tuple[str, ...]:
        """What has to be measured besides."""
        return tuple(name for name in self.readings if name != self.name)


class Question:
    """An undecided finding and the measurements, of parts in `slots`, that could decide it."""

    def __init__(self, finding: Finding, slots: Iterable[str]) -> None:
        self.finding = finding
        knowledge, listed = finding.knowledge, set(slots)
        self.trial = Trial(finding.rule, finding.facts, knowledge)
        self.inputs: dict[str, Outcomes] = {}
        for name, fact in finding.facts.items():
            outcomes = outcomes_of(fact, knowledge) if fact.attribute.slot in listed else None
            if outcomes is not None:
                self.inputs[name] = outcomes
        self._ways: dict[str, Way] | None = None

    @property
    def ways(self) -> dict[str, Way]:
        """For each measurement that can decide the question the smallest way found."""
        if self._ways is None:
            self._ways = _Search(self).ways() if self.inputs else {}
        return self._ways


class _Search:
    """Looks for ways: alone, then near the limit along each route to the figures, then wider."""

    def __init__(self, question: Question) -> None:
        self.question = question
        self.asked = 0
        self.inputs = question.inputs
        self.random = Random(f"{question.finding.rule.id} {question.finding.positions[0]}")
        self.found: dict[str, Way] = {}
        # The options of each choice that do not settle everything by themselves.
        self.leaving_open: dict[str, list[float]] = {}
        finding = question.finding
        self.meeting = Meeting(finding.rule, finding.facts, finding.knowledge)
        self.routes = [
            tuple(name for name in route if name in self.inputs)
            for route in routes(finding.rule.roots, finding.facts)
        ]

    def ways(self) -> dict[str, Way]:
        self.alone()
        joint = [route for route in dict.fromkeys(self.routes) if len(route) > 1]
        for route in joint:
            if self.lacking(route):
                self.near_the_limit(route)
                self.far_from_it(route)
        for route in joint:
            for name in self.lacking(route):
                self.along(name, route)
        return {name: self.found[name] for name in self.inputs if name in self.found}

    def code(self, readings: Readings) -> int | None:
        self.asked += 1
        return self.question.trial.answer(readings)

    def lacking(self, route: tuple[str, ...]) -> list[str]:
        return [name for name in route if name not in self.found]

    def keep(self, readings: Readings) -> None:
        """Keep each input of a deciding set without which the rest does not decide."""
        for name in readings:
            known = self.found.get(name)
            if known is not None and len(known.readings) <= len(readings):
                continue
            if self.code(_without(readings, name)) is None:
                self.found[name] = Way(self.question.finding, name, readings)

    def alone(self) -> None:
        for name, one in self.inputs.items():
            for share in _shares(one, _USUAL):
                readings = {name: one.at(share)}
                if self.code(readings) is None:
                    if one.choices:
                        self.leaving_open.setdefault(name, []).append(share)
                elif name not in self.found:
                    self.keep(readings)

    def near_the_limit(self, route: tuple[str, ...]) -> None:
        """Where readings only just decide, every input that weighs anything is needed."""
        vain = 0
        for shares in self.draws(route, _DRAWS):
            readings = self.coarsest({}, shares, _ROUGH)
            if readings is not None:
                before = len(self.found)
                self.keep(readings)
                vain = 0 if len(self.found) > before else vain + 1
            if vain == _VAIN or not self.lacking(route) or self.asked > MOST_ASKED:
                return

    def far_from_it(self, route: tuple[str, ...]) -> None:
        """Readings far from a limit need few others: the smaller ways."""
        for _ in range(_SMALL):
            readings: Readings = {name: self.some(name) for name in route}
            if self.code(readings) is not None:
                names = list(route)
                self.random.shuffle(names)
                for name in names:
                    rest = _without(readings, name)
                    readings = rest if self.code(rest) is not None else readings
                self.keep(readings)

    def some(self, name: str) -> Fact:
        one = self.inputs[name]
        return one.at(self.option(name)) if one.choices else one.some(self.random)

    def option(self, name: str) -> float:
        return self.random.choice(self.leaving_open.get(name) or _shares(self.inputs[name], ()))

    def along(self, name: str, route: tuple[str, ...]) -> None:
        """An input of little weight: its own reading is fixed, the others made coarser."""
        one = self.inputs[name]
        readings = [one.at(share) for share in _shares(one, (0.0, 1.0))]
        others = tuple(other for other in route if other != name)
        for start in self.draws(others, _LINES):
            for reading in readings:
                found = self.coarsest({name: reading}, start, _FINE)
                if found is not None:
                    self.keep(found)
                if name in self.found or self.asked > MOST_ASKED:
                    return

    def draws(self, names: tuple[str, ...], count: int) -> Iterator[Shares]:
        """Places for all readings: the ends, the middle, then at random, near the middle or not.

        Figures for one thing from two sides contradict each other unless they are near.
        """
        some = self.random
        for number in range(count):
            draw: Shares = {}
            if number % 2 and self.meeting.needed:
                draw = self.meeting.draw({name: self.inputs[name] for name in names}, some)
            for name in names:
                usual = (
                    _USUAL[number]
                    if number < len(_USUAL)
                    else some.choice((0.0, 1.0, some.random()))
                    if number % 3
                    else some.uniform(0.4, 0.6)
                )
                if name not in draw:
                    draw[name] = self.option(name) if self.inputs[name].choices else usual
            yield draw

    def coarsest(self, fixed: Readings, shares: Shares, halvings: int) -> Readings | None:
        """Readings at these places, as coarse as they can be and still give their answer."""
        found = self.read(shares, fixed, 0.0)
        wanted = self.code(found)
        if wanted is None:
            return None
        fine, coarse = 0.0, 1.0
        for _ in range(halvings):
            middle = (fine + coarse) / 2
            readings = self.read(shares, fixed, middle)
            if self.code(readings) == wanted:
                fine, found = middle, readings
            else:
                coarse = middle
        return found

    def read(self, shares: Shares, fixed: Readings, coarseness: float) -> Readings:
        """Readings that leave a part of what is open of each quantity."""
        return {
            **fixed,
            **{name: self.inputs[name].at(share, coarseness) for name, share in shares.items()},
        }


def _without(readings: Readings, name: str) -> Readings:
    return {other: fact for other, fact in readings.items() if other != name}


def _shares(one: Outcomes, usual: tuple[float, ...]) -> tuple[float, ...]:
    """Where to try a reading: every option of a choice, some places of a quantity."""
    count = len(one.choices)
    return tuple((i + 0.5) / count for i in range(count)) or usual
