"""Figures measured at some places and not at others: what can be said, and what is still open.

Two lines of reasoning. Worst case: an unmeasured figure may be anywhere in its range, so a spread
is at least what those measured differ by, and is confirmed only when no unmeasured one can widen
it past its limit. Chance: where the measured places were picked blindly, any of all the places is
as likely as another to hold the largest or the smallest.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import sqrt
from statistics import fmean, stdev

from fitcheck.check.bind import Binding, spread_between
from fitcheck.check.finding import Demand, RuleFinding
from fitcheck.check.needs import missing
from fitcheck.check.verdict import Verdict, judge_rules
from fitcheck.knowledge import Derived, Knowledge
from fitcheck.knowledge.figures import Figures
from fitcheck.language import Compare, Step, variables, walk
from fitcheck.model import SIDES, Attribute, EngineBuild, Evidence, Position
from fitcheck.quantity import Interval
from fitcheck.source import frozen

SHARE, CONFIDENCE = 0.90, 0.95
FEWEST_FOR_TOLERANCE = 3


@frozen
class Result:
    """A figure that follows from the sampled one, at each of its places."""

    derived: Derived
    at: dict[Position, Interval]


@frozen
class Sample:
    """One attribute, on one side where sides differ, measured at some of its places.

    `spread` is what largest less smallest of all places is at least and at most; `seen` that of
    the measured ones. `finding` judges the spread where a rule does; `breaking` names the places
    whose range still allows a spread past that limit. `tolerance` holds nine in ten of such
    figures, told with confidence 95 %, if they scatter as a normal distribution does.
    """

    attribute: Attribute
    measured: dict[Position, Interval]
    open: dict[Position, Interval]
    seen: Interval
    spread: Interval
    finding: RuleFinding | None
    breaking: tuple[Position, ...]
    tolerance: Interval | None
    results: tuple[Result, ...]

    @property
    def places(self) -> int:
        """How many places there are."""
        return len(self.measured) + len(self.open)

    def chance(self, more: int = 0) -> Fraction:
        """The chance that nothing unmeasured lies outside what is measured, with `more` of them."""
        return chance_all_within(len(self.measured) + more, self.places)

    @property
    def demand(self) -> Demand | None:
        """What is wanted of the spread."""
        return self.finding.demands[0] if self.finding and self.finding.demands else None


def chance_all_within(measured: int, places: int) -> Fraction:
    """That both the largest and the smallest of `places` are among those `measured`.

    Any pair of places is as likely as another to hold them: of n(n - 1) ordered pairs the measured
    ones have m(m - 1).

    >>> chance_all_within(7, 8)
    Fraction(3, 4)
    """
    return (
        Fraction(measured * (measured - 1), places * (places - 1))
        if places > 1
        else Fraction(measured)
    )


def tolerance_factor(count: int, share: float = SHARE, confidence: float = CONFIDENCE) -> float:
    """How many standard deviations either side of the mean hold a share, with confidence.

    Howe's approximation for normal scatter, as in NIST/SEMATECH e-Handbook of Statistical Methods,
    7.2.6.3. It is within one in a hundred or so of the exact factor from three figures on.
    """
    from scipy.stats import chi2, norm  # noqa: PLC0415  slow to import

    free = count - 1
    z = norm.ppf((1 + share) / 2)
    return sqrt(free * (1 + 1 / count) * z**2 / chi2.ppf(1 - confidence, free))


def samples(build: EngineBuild, knowledge: Knowledge, slots: tuple[str, ...] = ()) -> list[Sample]:
    """Every figure that is measured at some of its places and not at all of them."""
    binding = Binding(build, knowledge)
    names = dict.fromkeys(
        statement.attribute.name
        for statement in build.statements()
        if statement.evidence is Evidence.MEASURED
        and (not slots or statement.attribute.slot in slots)
    )
    attributes = [knowledge.attributes[name] for name in names]
    return [
        sample
        for attribute in attributes
        if attribute.kind is not None and attribute.each in ("cylinder", "valve")
        for sample in _of(attribute, binding)
    ]


def _of(attribute: Attribute, binding: Binding) -> Iterator[Sample]:
    positions = binding.build.layout.positions(attribute.each)
    for side in SIDES if attribute.each == "valve" else (None,):
        own = [position for position in positions if position.side == side]
        facts = {position: binding.fact(attribute.name, position) for position in own}
        intervals = {at: fact.interval for at, fact in facts.items() if fact.interval is not None}
        measured = {
            at: one
            for at, one in intervals.items()
            if facts[at].given and facts[at].evidence is Evidence.MEASURED
        }
        left = {at: one for at, one in intervals.items() if at not in measured}
        if measured and left:
            yield _sample(attribute, measured, left, binding)


def _sample(
    attribute: Attribute,
    measured: dict[Position, Interval],
    left: dict[Position, Interval],
    binding: Binding,
) -> Sample:
    finding = _spread_finding(attribute, binding)
    everything = {**measured, **left}
    middles = [float(one.middle) for one in measured.values()]
    tolerance = None
    if len(middles) >= FEWEST_FOR_TOLERANCE:
        half = Fraction(tolerance_factor(len(middles)) * stdev(middles))
        mean = Fraction(fmean(middles))
        tolerance = Interval(mean - half, mean + half)
    results = tuple(_results(attribute, tuple(everything), binding))
    return Sample(
        attribute,
        measured,
        left,
        spread_between([*measured.values()]),
        spread_between([*everything.values()]),
        finding,
        tuple(_breaking(everything, left, finding)),
        tolerance,
        results,
    )


def _spread_finding(attribute: Attribute, binding: Binding) -> RuleFinding | None:
    """What the strictest rule says that judges the spread of this attribute."""
    knowledge = binding.knowledge
    spreads = [one.name for one in knowledge.attributes.values() if one.spread_of == attribute.name]
    rules = [rule for name in spreads for rule in knowledge.rules.values() if name in rule.inputs]
    rules.sort(key=lambda rule: not rule.file.told_by)  # what a graver rule tells in its place
    for judged in judge_rules(binding, rules, []):
        if judged.verdict is not None:
            return RuleFinding.of(judged, binding)
    return None


def _breaking(
    everything: dict[Position, Interval],
    left: dict[Position, Interval],
    finding: RuleFinding | None,
) -> Iterator[Position]:
    """The open places whose range still allows a spread past the limit; all without a limit."""
    if finding is not None and finding.verdict is Verdict.CONFLICT:
        return
    wanted = finding.demands[0].wanted if finding is not None and finding.demands else None
    for at, own in left.items():
        others = [other for place, other in everything.items() if place != at]
        widest = max(max(own.upper - other.lower, other.upper - own.lower) for other in others)
        if wanted is None or widest > wanted.lower:
            yield at


def _results(
    attribute: Attribute, positions: tuple[Position, ...], binding: Binding
) -> Iterator[Result]:
    """The figures that rules hold against something and that come from this one."""
    knowledge = binding.knowledge
    compared = {
        side.name
        for rule in knowledge.readers.get(attribute.name, ())
        for node in walk(rule.requires)
        if isinstance(node, Compare)
        for side in (node.left, node.right)
        if isinstance(side, Step)
    }
    for derived in knowledge.derived.values():
        needs = variables(derived.node)
        if derived.id not in compared or attribute.name not in needs:
            continue
        if "side" in needs and attribute.each != "valve":
            continue  # a figure of each valve is none of each cylinder
        figures = Figures(knowledge, [derived.node], ("sample", derived.id))
        at = {}
        for position in positions:
            facts = {name: binding.fact(name, position) for name in needs}
            if any(name != attribute.name for name in missing(derived.node, facts)):
                break  # other figures are lacking as well
            at[position] = figures.of(facts)[id(derived.node)]
        if len(at) == len(positions):
            yield Result(derived, at)
