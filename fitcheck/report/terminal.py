"""A check as text for the terminal, read from top to bottom: the answer first."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from fitcheck.check import Check, ClaimJudged, Finding, Verdict, Works
from fitcheck.quantity import System
from fitcheck.report.given import evidence_line
from fitcheck.report.house import house_lines
from fitcheck.report.phrases import (
    alike,
    capital,
    counted,
    fact_title,
    group_places,
    lacking,
    margin_line,
    missing_words,
    places,
    practice_disagrees,
    subjects,
    summary,
    weakest_line,
)
from fitcheck.report.writer import Writer

if TYPE_CHECKING:
    from fitcheck.report.writer import Output

_MARKS = {"stop": "STOP", "serious": "SERIOUS", "advice": "REMARK"}
_STYLES = {"stop": "bold red", "serious": "bold yellow", "advice": "bold cyan"}
MOST_LACKING = 12


class TerminalReport(Writer):
    """Writes a check to a console."""

    def __init__(self, check: Check, console: Output, system: System) -> None:
        super().__init__(console)
        self.check = check
        self.system: System = system
        self.cautions: dict[str, None] = {}

    def write(self, *, everything: bool = False) -> None:
        """The whole report; with `everything`, nothing is shortened."""
        build = self.check.build
        self.line(build.title, "bold")
        if build.about:
            self.line(build.about, "dim")
        self.console.print()
        self.line(summary(self.check), "bold")
        self.line(evidence_line(self.check))
        self.readings()
        for problem in self.check.failures:
            self.line(str(problem), "bold red")
        self.conflicts()
        self.house()
        self.claims()
        self.undecided(everything)
        self.fits(everything)
        self.closing()

    def readings(self) -> None:
        """What was understood from figures as they are printed, so that it can be contradicted."""
        if self.check.build.readings:
            self.line("Read as, where more was typed than a plain name and figure:")
        for one in self.check.build.readings:
            self.line(f"{one.typed} -> {one.understood}", indent=3)

    # What clashes.

    def conflicts(self) -> None:
        """What clashes, one entry a rule, the gravest first."""
        if not self.check.conflicts:
            return
        self.heading("What clashes")
        by_rule: dict[str, list[Finding]] = {}
        for finding in self.check.conflicts:
            by_rule.setdefault(finding.rule.id, []).append(finding)
        for number, findings in enumerate(by_rule.values(), 1):
            self.conflict(number, findings)

    def conflict(self, number: int, findings: list[Finding]) -> None:
        """One rule's clashes at all their places."""
        rule = findings[0].rule
        worst = max(findings, key=_most_missing)
        self.wrapped(
            [
                f"{number}. ",
                (_MARKS[rule.severity], _STYLES[rule.severity]),
                "  ",
                (capital(str(rule.file.title)), "bold"),
                (f"  [{rule.id}]", "dim"),
            ],
            hang=3,
        )
        told = alike(
            findings,
            self.check.build.layout,
            lambda finding: (finding.message(self.system), missing_words(finding, self.system)),
        )
        for where, (message, short) in told:
            self.labelled(f"{capital(where)}:" if where else "", message)
            self.line(f"{capital(short)}." if short else "", "bold", indent=3)
        self.labelled("Why:", str(rule.file.why))
        if len(told) > 1:
            self.line(
                f"What mends it, by the figures of the worst place "
                f"({places(worst, self.check.build.layout)}):",
                indent=3,
            )
        self.mends(worst)
        self.labelled("Weakest figure:", weakest_line(self.check, worst))
        for caution in rule.file.cautions:
            self.cautions[str(caution)] = None

    def mends(self, finding: Finding) -> None:
        """What mends it; what can't give enough only where nothing else can."""
        found = finding.mends(self.system)
        enough = [mend for mend in found if mend.enough]
        for number, mend in enumerate(enough or found):
            note = f" ({mend.fix.note})" if mend.fix.note else ""
            self.labelled("Mend:" if number == 0 else "  or:", f"{mend.text}{note}", hang=6)
            if mend.operation is not None:
                for caution in mend.operation.file.cautions:
                    self.cautions[str(caution)] = None

    def house(self) -> None:
        """What the house decided for itself."""
        lines = house_lines(self.check, self.system)
        if lines:
            self.heading("House limits and waivers")
        for text in lines:
            self.line(text)

    # What is claimed.

    def claims(self) -> None:
        """What the seller says: inside it or not, and whether it holds good."""
        if not self.check.claims:
            return
        told: dict[str, list[ClaimJudged]] = {}
        for claim in self.check.claims:
            if not claim.finding.missing:
                told.setdefault(claim.finding.rule.id, []).append(claim)
        if told:
            self.heading("What the seller says")
        for claims in told.values():
            self.claim(claims)

    def claim(self, claims: list[ClaimJudged]) -> None:
        """One claim, at all its places: inside it or not, and whether it holds good."""
        worst = min(claims, key=lambda claim: _WORST_FIRST.index(claim.finding.verdict))
        finding = worst.finding
        inside = {
            Verdict.FITS: "inside the claim",
            Verdict.CONFLICT: "OUTSIDE THE CLAIM",
            Verdict.STRADDLES: "at the edge of the claim",
            Verdict.UNMEASURED: "cannot be told yet",
        }[finding.verdict]
        subject = str(finding.rule.file.subject)
        self.wrapped(
            ["- ", (subject, "bold"), f": this build is {inside}; ", *self.works(worst)],
            hang=2,
        )
        for claim in claims:
            if claim.finding.verdict is Verdict.CONFLICT:
                where = places(claim.finding, self.check.build.layout)
                self.labelled(
                    f"{capital(where)}:" if where else "", claim.finding.message(self.system), 2
                )

    def works(self, claim: ClaimJudged) -> Iterator[str]:
        """Whether what a claim covers works, in words."""
        against = subjects(claim.against)
        if claim.works is Works.NO:
            yield f"what it covers does not work here: {against}"
        elif claim.works is Works.OPEN:
            yield f"whether what it covers works cannot be told yet: {against}"
        elif claim.works is Works.REMARKS:
            yield f"what it covers works here, with a remark on: {against}"
        elif claim.works is Works.YES:
            yield "what it covers works here"
        else:
            yield "nothing was found that could decide whether it works"

    # What cannot be told.

    def undecided(self, everything: bool) -> None:
        """What cannot be told: known figures first, then those that are missing."""
        if not self.check.undecided:
            return
        self.heading("What cannot be told yet")
        straddling: dict[str, list[Finding]] = {}
        for finding in self.check.of(Verdict.STRADDLES):
            straddling.setdefault(finding.rule.id, []).append(finding)
        groups = [(max(found, key=_most_missing), found) for found in straddling.values()]
        finer = [group for group in groups if not practice_disagrees(group[0])]
        if finer:
            self.line("Known figures that leave both answers open. Measure finer, or decide:")
        for worst, found in finer:
            self.straddle(worst, found)
        disputed = [group for group in groups if practice_disagrees(group[0])]
        if disputed:
            self.line(
                "Figures in a range on which practice disagrees. No measurement settles "
                "these; the builder decides:"
            )
        for worst, found in disputed:
            self.straddle(worst, found)
        self.measure(everything)

    def straddle(self, worst: Finding, found: list[Finding]) -> None:
        """One question that known figures leave open, by the figures of its worst place."""
        layout = self.check.build.layout
        where = group_places(found, layout)
        at = f" at {places(worst, layout)}" if len(found) > 1 else ""
        self.line(
            f"- {worst.rule.file.subject}{f' ({where})' if where else ''}:{at} "
            f"{margin_line(worst, self.system)}  [{worst.rule.id}]",
            indent=2,
        )
        self.line(f"weakest figure: {weakest_line(self.check, worst)}", "dim", indent=4)

    def measure(self, everything: bool) -> None:
        """The figures that are missing, the most telling first."""
        found = lacking(self.check)
        known = [one for one in found if one.listed]
        if known:
            self.line("Not known, of parts that are listed. Measure or ask, most telling first:")
        shown = known if everything else known[:MOST_LACKING]
        for one in shown:
            attribute = one.attribute
            procedure = self.check.knowledge.procedures.get(attribute.measure)
            how = f" ({procedure.file.tool}, {procedure.minutes} min each)" if procedure else ""
            self.line(
                f"- {fact_title(self.check, attribute)}{how}: for {subjects(one.findings)}",
                indent=2,
            )
            for caution in procedure.file.cautions if procedure else ():
                self.cautions[str(caution)] = None
        if len(known) > len(shown):
            self.line(
                f"and {counted(len(known) - len(shown), 'more figure')}: --all lists them",
                "dim",
                indent=2,
            )
        unlisted = sorted(
            {
                self.check.knowledge.classes[one.attribute.slot].title
                for one in found
                if not one.listed and "." in one.attribute.name
            }
        )
        if unlisted:
            waiting = {id(f) for one in found if not one.listed for f in one.findings}
            self.line(
                f"{counted(len(waiting), 'question')} also wait for parts that are not "
                f"listed: {', '.join(unlisted)}."
            )

    # What fits.

    def fits(self, everything: bool) -> None:
        """What fits, by family."""
        if not self.check.fits:
            return
        self.heading("What fits")
        by_family: dict[str, list[Finding]] = {}
        for finding in self.check.fits:
            by_family.setdefault(finding.rule.family_words, []).append(finding)
        for family, findings in by_family.items():
            if everything:
                self.line(f"{family}:", "bold")
                for finding in findings:
                    where = places(finding, self.check.build.layout)
                    margin = margin_line(finding, self.system)
                    self.line(
                        f"- {finding.rule.file.subject}{f' ({where})' if where else ''}"
                        f"{f': {margin}' if margin else ''}",
                        indent=2,
                    )
            else:
                self.labelled(f"{family}:", subjects(tuple(findings), most=99), indent=0)

    def closing(self) -> None:
        """The cautions of all the work named above, and what rules over it."""
        if self.cautions:
            self.heading("Mind")
        for id_ in self.cautions:
            caution = self.check.knowledge.cautions[id_]
            self.labelled(f"{capital(str(caution.file.title))}:", str(caution.file.text), 0)
        self.console.print()
        self.line(
            "The maker's instructions rule over every figure here, and so do local codes. "
            f"Knowledge {self.check.knowledge.digest}.",
            "dim",
        )


_WORST_FIRST = (Verdict.CONFLICT, Verdict.STRADDLES, Verdict.UNMEASURED, Verdict.FITS)


def _most_missing(finding: Finding) -> Fraction:
    return finding.shortfall.upper if finding.shortfall else Fraction(0)
