"""How one rule's findings come about, down to the figures given."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitcheck.check import (
    BuildCheck,
    Derivation,
    Likely,
    RuleFinding,
    Verdict,
    derivations,
    describe_fact,
)
from fitcheck.quantity import System
from fitcheck.report.phrases import fact_value, margin_line, places
from fitcheck.report.story import remedies
from fitcheck.report.terminal import CheckReport

if TYPE_CHECKING:
    from fitcheck.report.writer import Output


def write_explanation(
    check: BuildCheck, findings: list[RuleFinding], console: Output, system: System
) -> None:
    """How one rule's findings come about, down to the figures given."""
    report = CheckReport(check, console, system)
    waivers = {id(waived.finding): waived.waiver for waived in check.waived}
    title_of = check.knowledge.title_of
    at_work: list[str] = []
    for finding in findings:
        where = places(finding, check.build.layout) or "the engine"
        verdict = {
            Verdict.FITS: "fits",
            Verdict.CONFLICT: "clashes",
            Verdict.STRADDLES: "cannot be told: the figures known leave both open",
            Verdict.UNMEASURED: "cannot be told: not everything is known",
        }[finding.verdict]
        report.line(f"{finding.rule.file.subject}, {where}: {verdict}", "bold")
        waiver = waivers.get(id(finding))
        if waiver is not None:
            report.line(
                f"WAIVED until {waiver.answer.until} by {waiver.answer.name}: "
                f"{waiver.answer.reason}",
                "bold",
                indent=3,
            )
        if finding.verdict is Verdict.CONFLICT:
            report.line(finding.message(system), indent=3)
        margin = margin_line(finding, system)
        report.labelled("Figure:", f"{margin}." if margin else "")
        report.labelled("Why:", str(finding.rule.file.why))
        report.line("How it comes about:", "bold", indent=3)
        for derivation in derivations(finding, system):
            _write_derivation(report, derivation, 5)
        choices = [
            fact
            for fact in finding.cited.values()
            if fact.interval is None and fact.attribute.name != "side"
        ]
        if choices:
            report.line("It holds for:", "bold", indent=3)
        for fact in choices:
            report.line(f"- {title_of(fact.attribute)}: {describe_fact(fact)}", indent=5)
        if finding.missing:
            report.line("Not known:", "bold", indent=3)
            for fact in finding.missing:
                report.line(f"- {title_of(fact.attribute)}, {describe_fact(fact)}", indent=5)
        _write_as_usual(report, check, finding, system)
        if finding.verdict is Verdict.CONFLICT:
            found = remedies(finding, system)
            report.mends(found)
            at_work += [caution for one in found for caution in one.cautions]
        console.print()
    report.house()
    report.closing(report.story.minded(at_work))


def _write_as_usual(
    report: CheckReport, check: BuildCheck, finding: RuleFinding, system: System
) -> None:
    """What ordinary parts would do, and which usual figures that rests on."""
    likely = check.likely(finding)
    if likely is None:
        return
    report.line(f"If the rest is as usual: {likely.standing.value}.", "bold", indent=3)
    if likely.standing is not Likely.OPEN:
        for usual in check.likelihoods.as_usual(finding):
            margin = margin_line(usual, system)
            where = places(usual, check.build.layout)
            report.line(": ".join(piece for piece in (where, margin) if piece), indent=5)
    for fact in likely.rests_on:
        title, value = check.knowledge.title_of(fact.attribute), fact_value(fact, system)
        report.line(f"- {title} {value}, {describe_fact(fact)}", indent=5)


def _write_derivation(report: CheckReport, derivation: Derivation, indent: int) -> None:
    source = f"  [{derivation.source}]" if derivation.source else ""
    formula = f" = {derivation.formula}" if derivation.formula else ""
    report.line(f"{derivation.title} {derivation.value}{formula}{source}", indent=indent)
    for part in derivation.parts:
        _write_derivation(report, part, indent + 2)
