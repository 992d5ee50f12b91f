"""One fault is told once: where a rule's graver or more telling neighbour clashes, it is silent."""

from __future__ import annotations

from fitcheck.check.finding import RuleFinding
from fitcheck.check.verdict import Verdict
from fitcheck.model import Position


def told_once(findings: list[RuleFinding]) -> tuple[list[RuleFinding], list[RuleFinding]]:
    """The findings left, and those whose fault another one tells at the same places.

    A rule names in `told_by` those that say the same of a fault more tellingly.
    """
    clashing: dict[str, set[Position]] = {}
    for finding in findings:
        if finding.verdict is Verdict.CONFLICT:
            clashing.setdefault(finding.rule.id, set()).update(finding.positions)
    left: list[RuleFinding] = []
    beneath: list[RuleFinding] = []
    for finding in findings:
        told = {at for other in finding.rule.file.told_by for at in clashing.get(str(other), ())}
        if finding.verdict is not Verdict.CONFLICT or not told:
            left.append(finding)
            continue
        spread = _on_a_spread(finding)
        here = tuple(
            at for at in finding.positions if any(_one_place(at, by, spread) for by in told)
        )
        rest = tuple(at for at in finding.positions if at not in here)
        for positions, into in ((here, beneath), (rest, left)):
            if positions:
                into.append(finding if positions == finding.positions else finding.at(positions))
    return left, beneath


def _on_a_spread(finding: RuleFinding) -> bool:
    """Whether it compares places with each other, so that one of them concerns them all."""
    attributes = finding.knowledge.attributes
    return any(attributes[name].spread_of for name in finding.rule.inputs if name in attributes)


def _one_place(one: Position, other: Position, spread: bool) -> bool:
    """Whether one of two positions lies in the other: a valve in the engine, say."""
    pairs: list[tuple[object, object]] = [(one.side, other.side)]
    if not spread:
        pairs += [(one.bank, other.bank), (one.cylinder, other.cylinder)]
    return all(a is None or b is None or a == b for a, b in pairs)
