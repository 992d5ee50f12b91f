"""One fault is told once: where a rule's graver or more telling neighbour clashes, it is silent."""

from __future__ import annotations

from fitcheck.check.finding import Finding
from fitcheck.check.verdict import Verdict
from fitcheck.model import Position


def told_once(findings: list[Finding]) -> tuple[list[Finding], list[Finding]]:
    """The findings left, and those whose fault another one tells at the same places.

    A rule names in `told_by` those that say the same of a fault more tellingly.
    """
    clashing: dict[str, set[Position]] = {}
    for finding in findings:
        if finding.verdict is Verdict.CONFLICT:
            clashing.setdefault(finding.rule.id, set()).update(finding.positions)
    left: list[Finding] = []
    beneath: list[Finding] = []
    for finding in findings:
        others = map(str, finding.rule.file.told_by)
        told = {at for other in others for at in clashing.get(other, ())}
        if finding.verdict is not Verdict.CONFLICT or told.isdisjoint(finding.positions):
            left.append(finding)
        elif told.issuperset(finding.positions):
            beneath.append(finding)
        else:
            beneath.append(finding.at(tuple(p for p in finding.positions if p in told)))
            left.append(finding.at(tuple(p for p in finding.positions if p not in told)))
    return left, beneath
