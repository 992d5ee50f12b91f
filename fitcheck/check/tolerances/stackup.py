"""Tolerances stacked up: worst case beside root-sum-square, where the margin is a plain sum.

Root-sum-square takes the tolerances as independent and each as three standard deviations: the
variances of a sum of independent figures add (common to every textbook of statistics).
"""

from __future__ import annotations

from fractions import Fraction
from math import sqrt
from random import Random

from fitcheck.check.finding import RuleFinding
from fitcheck.language import Compiled, compile_intervals
from fitcheck.quantity import Interval, Kind
from fitcheck.source import frozen

_TRIES = 6
_CLOSE = 1e-9


@frozen
class Stackup:
    """A margin and how far tolerances move it; `parts` gives each figure's own share."""

    kind: Kind
    worst_case: Interval
    root_sum_square: Interval
    parts: dict[str, float]


def stackup(finding: RuleFinding) -> Stackup | None:
    """The stack-up of a finding's worst demand; None where the margin is no plain sum."""
    if not finding.demands:
        return None
    demand = finding.demands[0]
    knowledge = finding.knowledge
    difference = knowledge.differences.of(demand.node)
    compiled = compile_intervals([knowledge.lowering.interval(difference)], "fast")
    facts = finding.facts
    open_ = [
        name
        for name, fact in facts.items()
        if fact.interval is not None and fact.given and fact.open
    ]
    fixed = {name: fact for name, fact in facts.items() if name not in open_}
    if not open_ or any(
        fact.open and name in {n for n, _ in compiled.inputs} for name, fact in fixed.items()
    ):
        return None
    middles = {name: (facts[name].low + facts[name].high) / 2 for name in open_}

    def margin(values: dict[str, float]) -> tuple[float, float]:
        ends = [
            values[name] if name in values else facts[name].end(end)
            for name, end in compiled.inputs
        ]
        low, high = compiled.function(ends)
        return low, high

    low, high = margin(middles)
    slopes = {name: margin({**middles, name: facts[name].high})[0] - low for name in open_}
    if not _adds_up(compiled, finding, margin, slopes, middles):
        return None
    worst = sum(map(abs, slopes.values()))
    square = sqrt(sum(slope**2 for slope in slopes.values()))
    return Stackup(demand.kind, _around(low, high, worst), _around(low, high, square), slopes)


def _adds_up(
    compiled: Compiled,
    finding: RuleFinding,
    margin: object,
    slopes: dict[str, float],
    middles: dict[str, float],
) -> bool:
    """Whether the margin is the sum of what each figure does to it, asked at random places."""
    assert callable(margin)
    random, facts = Random(finding.rule.id), finding.facts
    at_middle = margin(middles)[0]
    size = max([abs(at_middle), *map(abs, slopes.values())])
    for _ in range(_TRIES):
        shares = {name: random.uniform(-1, 1) for name in slopes}
        values = {
            name: middles[name] + share * (facts[name].high - facts[name].low) / 2
            for name, share in shares.items()
        }
        expected = at_middle + sum(shares[name] * slopes[name] for name in slopes)
        if abs(margin(values)[0] - expected) > _CLOSE * size:
            return False
    return True


def _around(low: float, high: float, half: float) -> Interval:
    return Interval(Fraction(low - half), Fraction(high + half))
