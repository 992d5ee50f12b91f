"""How finely to measure: the coarsest reading that still settles nearly all that a fine one would.

Found by asking the rule itself: readings are drawn over what is possible, the same ones for each
fineness, and the answers are counted.
"""

from __future__ import annotations

from bisect import bisect_left
from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING

from fitcheck.check.measuring.outcomes import Outcomes, outcomes_of, resolution_of
from fitcheck.check.measuring.settling import Way
from fitcheck.check.measuring.trial import Trial
from fitcheck.quantity.units import find_unit

if TYPE_CHECKING:
    from fitcheck.quantity import Kind

DRAWS = 40
NEARLY_ALL = 0.9
_LADDER = tuple(Fraction(n, 10**power) for power in range(1, 7) for n in (5, 2, 1))


def finely(way: Way, name: str) -> Fraction | None:
    """The width that readings of one of a way's figures may leave; None if no scale is read."""
    finding = way.finding
    kind = finding.facts[name].attribute.kind
    asked = {n: outcomes_of(finding.facts[n], finding.knowledge) for n in way.readings}
    inputs = {n: outcomes for n, outcomes in asked.items() if outcomes is not None}
    whole = finding.facts[name].interval
    read = resolution_of(finding.facts[name].attribute, finding.knowledge)
    if kind is None or kind.name == "count" or whole is None or read is None:
        return None
    trial = Trial(finding.rule, finding.facts, finding.knowledge)
    random = Random(f"{finding.rule.id} {name}")
    drawn = [{n: random.random() for n in inputs} for _ in range(DRAWS)]
    finest = Fraction(inputs[name].narrowest())
    settled = _settled(trial, inputs, drawn, 0.0)
    steps = [share for share in _LADDER if share * whole.width > finest]
    enough = bisect_left(
        steps,
        True,
        key=lambda share: (
            NEARLY_ALL * len(settled) <= len(_settled(trial, inputs, settled, float(share)))
        ),
    )
    if enough == len(steps) or not settled:
        return finest or None
    return max(finest, round_down(steps[enough] * whole.width, kind))


def _settled(
    trial: Trial, inputs: dict[str, Outcomes], drawn: list[dict[str, float]], coarseness: float
) -> list[dict[str, float]]:
    """Those of the readings that settle it: read more coarsely, none of the others would."""
    return [
        draw
        for draw in drawn
        if trial.answer({n: inputs[n].at(share, coarseness) for n, share in draw.items()})
        is not None
    ]


def round_down(width: Fraction, kind: Kind) -> Fraction:
    """The width as 1, 2 or 5 of a decimal place of the kind's inch unit."""
    unit = find_unit(kind.inch[0], kind)
    assert unit is not None
    number = width / unit.factor
    place = Fraction(1)
    while place > number:
        place /= 10
    while place * 10 <= number:
        place *= 10
    return max(place * n for n in (1, 2, 5) if place * n <= number) * unit.factor
