"""How much room a finding has to its limit, as a share of the limit: inches and pounds compare."""

from __future__ import annotations

from fractions import Fraction

from fitcheck.check.finding import Demand, RuleFinding


def room_of(demand: Demand) -> float:
    """The least room of one demand, as a share of its limit; below zero where it may be missed.

    Where the limit is nothing, as in `gap > 0`, the margin itself is what there is.
    """
    size = max(abs(demand.wanted.lower), abs(demand.wanted.upper))
    size = size or max(abs(demand.margin.lower), abs(demand.margin.upper)) or Fraction(1)
    return float(demand.margin.lower / size)


def past(finding: RuleFinding) -> float:
    """How far a finding may be past its limit, as a share of it; below zero with room to spare."""
    return -room_of(finding.demands[0]) if finding.demands else 0.0


def well_past(finding: RuleFinding, stated: RuleFinding) -> bool:
    """Whether three quarters of what is possible lie past the limit, as the laxest have it."""
    if finding.margin is None or stated.margin is None:
        return True
    return -4 * stated.margin.upper >= finding.margin.width - stated.margin.width


def well_within(finding: RuleFinding, stated: RuleFinding, *, laxest: bool = False) -> bool:
    """Whether three quarters of what is possible lie within the limit, as the strictest have it.

    With `laxest`, as the laxest practice has it.
    """
    if finding.margin is None or stated.margin is None:
        return True
    least = stated.margin.upper if laxest else stated.margin.lower
    return 4 * least >= finding.margin.width - stated.margin.width
