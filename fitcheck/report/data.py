"""A check as plain data, for programs: the same findings, nothing rounded away.

Every quantity is given in base units (mm, t, s, K, deg: so N, N/mm, MPa) as two exact decimal
or fractional texts, and as the text a reader sees.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from fitcheck.check import BuildCheck, ClaimJudged, RuleFinding, mends
from fitcheck.model import Fact
from fitcheck.quantity import Interval, Kind, System, show
from fitcheck.report.house import house_data
from fitcheck.report.phrases import places
from fitcheck.report.story import MOST_ASKED, Story

FORMAT = 2


def check_data(check: BuildCheck, system: System) -> dict[str, Any]:
    """The whole check. `counts` are of questions, each by its worst place."""
    story = Story(check, system)
    return {
        "format": FORMAT,
        "build": story.title,
        "knowledge": check.knowledge.digest,
        "answer": story.summary,
        "read_as": {one.typed: one.understood for one in check.build.readings},
        "if_usual": story.usual or None,
        "answers": [
            {
                "question": one.id,
                "title": one.title,
                "standing": one.standing,
                "words": one.words,
                "usual": list(one.usual),
            }
            for one in story.answers
        ],
        "comes_out": {one.name: one.words for one in story.outcomes},
        "clashes": [one.rule for one in story.clashes],
        "ask_first": [ask.attribute.name for ask in story.asks[:MOST_ASKED]],
        "disproved": list(story.disproved),
        "said_twice": list(story.said_twice),
        "work_to_do": list(story.work),
        "one_look": list(story.looks),
        "cautions": [one.id for one in story.cautions],
        "counts": {
            "conflict": story.counts.clashes,
            "undecided": story.counts.open,
            "disputed": story.counts.disputed,
            "fits": story.counts.fits,
            "not_applicable": len(check.silent),
            "failed": len(check.failures),
            "waived": len(check.waived),
        },
        "findings": [finding_data(check, finding, system) for finding in check.findings],
        "claims": [claim_data(check, claim, system) for claim in check.claims],
        "waived": [
            finding_data(check, one.finding, system)
            | {
                "waived_by": one.waiver.answer.name,
                "reason": one.waiver.answer.reason,
                "until": one.waiver.answer.until,
            }
            for one in check.waived
        ],
        "house": house_data(check, system),
        "failures": [str(problem) for problem in check.failures],
    }


def finding_data(check: BuildCheck, finding: RuleFinding, system: System) -> dict[str, Any]:
    """One finding."""
    rule = finding.rule
    data: dict[str, Any] = {
        "rule": rule.id,
        "family": rule.family,
        "title": str(rule.file.title),
        "subject": str(rule.file.subject),
        "severity": rule.severity,
        "verdict": finding.verdict.value,
        "disputed": finding.disputed,
        "where": places(finding, check.build.layout),
        "positions": [
            {"cylinder": p.cylinder, "side": p.side, "bank": p.bank} for p in finding.positions
        ],
        "message": finding.message(system),
        "margin": _quantity(finding.margin, finding.demands[0].kind, system)
        if finding.demands and finding.margin
        else None,
        "facts": {name: _fact(fact, system) for name, fact in finding.facts.items()},
        "missing": [fact.attribute.name for fact in finding.missing],
        **_likely(check, finding),
        "cautions": [str(caution) for caution in rule.file.cautions],
    }
    if finding.verdict.value == "conflict":
        data["fixes"] = [
            {
                "text": mend.text,
                "operation": mend.fix.operation or None,
                "replace": mend.fix.replace or None,
                "enough": mend.enough,
            }
            for mend in mends(finding, system)
        ]
    return data


def _likely(check: BuildCheck, finding: RuleFinding) -> dict[str, Any]:
    """How an open finding stands if the rest is as usual, and the usual figures it rests on."""
    likely = check.likely(finding)
    if likely is None:
        return {}
    return {
        "likely": likely.standing.value,
        "likely_rests_on": [fact.attribute.name for fact in likely.rests_on],
    }


def claim_data(check: BuildCheck, claim: ClaimJudged, system: System) -> dict[str, Any]:
    """One claim: inside it or not, and whether what it covers works."""
    data = finding_data(check, claim.finding, system)
    data["works"] = claim.works.value
    data["against"] = sorted({finding.rule.id for finding in claim.against})
    return data


def _fact(fact: Fact, system: System) -> dict[str, Any]:
    data: dict[str, Any] = {
        "evidence": fact.word if fact.given else "unmeasured",
        "text": fact.text,
    }
    if fact.interval is not None and fact.attribute.kind is not None:
        data |= _quantity(fact.interval, fact.attribute.kind, system)
    else:
        data["options"] = [
            option for i, option in enumerate(fact.attribute.options) if fact.mask >> i & 1
        ]
    if fact.statement is not None:
        origin = fact.statement.origin
        data |= {
            "place": str(fact.statement.place),
            "by": origin.by or None,
            "when": origin.when.isoformat() if origin.when else None,
            "with": origin.with_ or None,
        }
    return data


def _quantity(interval: Interval, kind: Kind, system: System) -> dict[str, Any]:
    return {
        "kind": kind.name,
        "lower": _exact(interval.lower),
        "upper": _exact(interval.upper),
        "shown": show(interval, kind, system),
    }


def _exact(value: Fraction) -> str:
    """A decimal where one is exact, else a fraction."""
    denominator = value.denominator
    for prime in (2, 5):
        while denominator % prime == 0:
            denominator //= prime
    if denominator > 1:
        return str(value)
    digits = 0
    while (value * 10**digits).denominator > 1:
        digits += 1
    # Fractions can't be formatted with decimals before Python 3.12.
    whole, part = divmod(abs(value) * 10**digits, 10**digits)
    sign = "-" if value < 0 else ""
    return f"{sign}{whole}.{int(part):0{digits}d}" if digits else f"{sign}{whole}"
