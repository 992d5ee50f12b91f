"""Which figures can settle an open question, each alone or with the fewest others.

Asked of the rule itself: readings are laid out over what is usual of each figure, and over all
that is possible, and the rule's answers are counted. Every `SettlingReadings` is kept with readings
of which all are needed; whoever doubts it evaluates the rule twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from random import Random

from fitcheck.check.finding import RuleFinding
from fitcheck.check.measuring.outcomes import Outcomes, Reading
from fitcheck.check.measuring.trial import Trial
from fitcheck.check.needs import missing_in
from fitcheck.source import frozen

# Where a reading is tried: evenly over what is usual, then at the ends of what is possible.
USUAL = (0.1, 0.9, 0.5, 0.3, 0.7)
_TRIED = 3
_ENDS = (0.0, 1.0)
# A figure that so seldom settles a question alone is asked for with others as well.
_SELDOM = 0.5
_DRAWS, _FAR = 4, 6

Readings = Mapping[str, Reading]


@frozen(eq=False)
class SettlingReadings:
    """Readings of some figures that settle a finding; none of them can be left out.

    `inputs` is what each figure could be; `often` the share of usual readings that settle it.
    """

    finding: RuleFinding
    inputs: Mapping[str, Outcomes]
    readings: Readings
    often: float


class OpenFinding:
    """An open finding, the figures it could wait for, and the ways to settle it.

    `minutes` says what learning each takes: of two sets that settle it, the cheaper is kept.
    """

    def __init__(
        self, finding: RuleFinding, inputs: Mapping[str, Outcomes], minutes: Mapping[str, int]
    ) -> None:
        self.finding = finding
        self.inputs = inputs
        self.minutes = minutes

    @cached_property
    def trial(self) -> Trial:
        """The rule, to be asked."""
        return Trial(self.finding.rule, self.finding.facts, self.finding.knowledge)

    @cached_property
    def ways(self) -> tuple[SettlingReadings, ...]:
        """The ways found, those of one figure first."""
        alone = list(self._alone())
        if not self.inputs or max((way.often for way in alone), default=0.0) >= _SELDOM:
            return tuple(alone)
        return *alone, *self._joint({name for way in alone for name in way.readings})

    def settled(self, readings: Readings) -> bool:
        """Whether these readings give the answer."""
        return self.trial.answer(readings) is not None

    def _alone(self) -> Iterator[SettlingReadings]:
        for name, one in self.inputs.items():
            usual = [one.usually(share) for share in _even(one) or USUAL]
            # Where the outermost and the middle settle nothing, what lies between does not.
            first = len(usual) if one.choices else _TRIED
            good = [reading for reading in usual[:first] if self.settled({name: reading})]
            if good:
                good += [reading for reading in usual[first:] if self.settled({name: reading})]
            far = (one.at(share) for share in _even(one) or _ENDS)
            found = good or [reading for reading in far if self.settled({name: reading})]
            if found:
                yield SettlingReadings(
                    self.finding, {name: one}, {name: found[0]}, len(good) / len(usual)
                )

    def _joint(self, alone: set[str]) -> Iterator[SettlingReadings]:
        """Sets of figures: drawn together, then what is dearest left out as far as can be."""
        random = Random(f"{self.finding.rule.id} {self.finding.positions[0]}")
        wanted = set(missing_in(self.finding.rule, self.finding.facts))
        names = [n for n, one in self.inputs.items() if n in wanted or one.fact.given]
        kept = {frozenset((name,)) for name in alone}
        drawn = [self._usual(names, random, number) for number in range(_DRAWS)]
        for readings in drawn:
            yield from self._least(readings, drawn, kept)
        if kept:
            return
        for _ in range(_FAR):
            readings = {name: self._any(one, random) for name, one in self.inputs.items()}
            yield from self._least(readings, drawn, kept)
            if kept:
                return

    def _least(
        self, readings: Readings, drawn: list[Readings], kept: set[frozenset[str]]
    ) -> Iterator[SettlingReadings]:
        if not self.settled(readings):
            return
        for name in sorted(readings, key=self.minutes.__getitem__, reverse=True):
            without = {other: one for other, one in readings.items() if other != name}
            readings = without if self.settled(without) else readings
        names = frozenset(readings)
        if names in kept:
            return
        kept.add(names)
        often = sum(
            names <= set(draw) and self.settled({name: draw[name] for name in names})
            for draw in drawn
        )
        inputs = {name: self.inputs[name] for name in readings}
        yield SettlingReadings(self.finding, inputs, readings, often / len(drawn))

    def _usual(self, names: list[str], random: Random, number: int) -> Readings:
        """Readings of all figures, drawn from what is usual; the first in the middle of it."""
        return {
            name: self.inputs[name].usually(random.random() if number else 0.5) for name in names
        }

    def _any(self, one: Outcomes, random: Random) -> Reading:
        return one.at(random.choice((0.0, 1.0, random.random())))


def _even(one: Outcomes) -> tuple[float, ...]:
    """A place for each option of a choice; none for a quantity."""
    count = len(one.choices)
    return tuple((i + 0.5) / count for i in range(count))
