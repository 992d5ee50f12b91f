"""Judges what a seller claims of a whole: is this use inside the claim, and does it work?"""

from __future__ import annotations

from enum import Enum

from fitcheck.check.finding import RuleFinding
from fitcheck.check.verdict import Verdict
from fitcheck.source import frozen


class Works(Enum):
    """Whether what a claim covers works, by the rules that decide it."""

    YES = "works"
    REMARKS = "works, with remarks"
    NO = "does not work"
    OPEN = "cannot be told yet"
    UNJUDGED = "not judged"


@frozen
class ClaimJudged:
    """A claim: `finding` says whether the use is inside it, `works` whether it holds good.

    The two are independent: a part may work outside its claim, or fail inside it.
    """

    finding: RuleFinding
    works: Works
    against: tuple[RuleFinding, ...]


def judge_claims(claims: list[RuleFinding], findings: list[RuleFinding]) -> list[ClaimJudged]:
    """Each claim with the findings of the rules that it covers."""
    return [_judge(claim, findings) for claim in claims]


def _judge(claim: RuleFinding, findings: list[RuleFinding]) -> ClaimJudged:
    covered = set(map(str, claim.rule.file.covers))
    found = [finding for finding in findings if finding.rule.id in covered]
    clashing = [finding for finding in found if finding.verdict is Verdict.CONFLICT]
    grave = [finding for finding in clashing if finding.rule.severity != "advice"]
    open_ = [finding for finding in found if finding.verdict.undecided]
    if grave:
        return ClaimJudged(claim, Works.NO, tuple(grave))
    if open_:
        return ClaimJudged(claim, Works.OPEN, tuple(open_))
    if clashing:
        return ClaimJudged(claim, Works.REMARKS, tuple(clashing))
    return ClaimJudged(claim, Works.YES if found else Works.UNJUDGED, ())
