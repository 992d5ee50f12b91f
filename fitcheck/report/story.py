"""What a check has to say, grouped, counted and ranked once, as plain data in words.

Text, page, notebook and data are made from these sections, so that they cannot differ in more
than their looks. A section is put into words when somebody reads it.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

from fitcheck.check import BuildCheck, ClaimJudged, Mend, RuleFinding, Verdict, Works, mends
from fitcheck.check.measuring.asks import Ask, MissingFigures
from fitcheck.check.measuring.places import place_of
from fitcheck.check.records.audit import Audited, ClaimOutcome, audit
from fitcheck.check.repeated import said_twice
from fitcheck.knowledge import Rule
from fitcheck.model import Attribute, Evidence
from fitcheck.quantity import System, show
from fitcheck.report.answers import WORST_FIRST, ShortAnswer, answers, harm, worst_place
from fitcheck.report.comes_out import ComesOut, outcomes
from fitcheck.report.given import evidence_line
from fitcheck.report.house import house_lines
from fitcheck.report.phrases import (
    Counts,
    alike,
    capital,
    counts,
    disproved_words,
    group_places,
    likely_counts,
    margin_line,
    missing_words,
    places,
    subjects,
    summary,
    twice_words,
    verdict_and_rest,
    weakest_line,
)
from fitcheck.report.sections import (
    Claimed,
    Clash,
    Family,
    Fit,
    Minded,
    PlaceWords,
    Remedy,
    Undecided,
)
from fitcheck.report.sums import sum_of

# The figures worth having first that every report names.
MOST_ASKED = 5
# What the builder decides himself: the gravest that a short report names.
MOST_DISPUTED = 4
# Of what measuring disproves.
MOST_DISPROVED = 4


class Story:
    """The sections of one check, in the order in which they are told."""

    def __init__(self, check: BuildCheck, system: System) -> None:
        self.check = check
        self.system: System = system
        self.title = check.build.title
        self.about = check.build.about
        self.failures = tuple(map(str, check.failures))

    # The answer.

    @cached_property
    def summary(self) -> str:
        """The answer in one sentence."""
        return summary(self.check)

    @cached_property
    def verdict(self) -> str:
        """Its first half: what clashes; all of it if nothing does."""
        return verdict_and_rest(self.check)[0]

    @cached_property
    def rest(self) -> str:
        """What else is to be told of the whole: what is open and fits, now and as usual."""
        return " ".join(filter(None, (verdict_and_rest(self.check)[1], self.usual)))

    @cached_property
    def counts(self) -> Counts:
        """How the questions stand, each by its worst place."""
        return counts(self.check)

    @cached_property
    def usual(self) -> str:
        """What the open questions come to with ordinary parts."""
        return likely_counts(self.check)

    @cached_property
    def evidence(self) -> str:
        """What all rests on."""
        return evidence_line(self.check)

    @cached_property
    def answers(self) -> tuple[ShortAnswer, ...]:
        """The short answer: a line for each question of the job."""
        return answers(self.check, self.worst, self.asks, self.system)

    @cached_property
    def outcomes(self) -> tuple[ComesOut, ...]:
        """What the engine comes out at, where that can be reckoned."""
        return outcomes(self.check, self.system)

    # What clashes.

    @cached_property
    def _clashing(self) -> list[list[RuleFinding]]:
        return clashing(self.check)

    @cached_property
    def worst(self) -> tuple[RuleFinding, ...]:
        """The worst place of each of the clashes, in the order of harm."""
        return tuple(map(worst_place, self._clashing))

    @cached_property
    def clashes(self) -> tuple[Clash, ...]:
        """What clashes, in the order of harm."""
        return tuple(map(self._clash, self._clashing))

    def _clash(self, findings: list[RuleFinding]) -> Clash:
        worst, rule = worst_place(findings), findings[0].rule
        told, (at,) = self._places(findings), self._places([worst])
        return Clash(
            rule.id,
            rule.severity,
            capital(str(rule.file.title)),
            told,
            next(one for one in told if (one.message, one.short) == (at.message, at.short)),
            str(rule.file.why),
            remedies(worst, self.system),
            self.limits(findings),
            weakest_line(self.check, worst),
            tuple(map(str, rule.file.cautions)),
            sum_of(worst, self.system),
        )

    def _places(self, findings: list[RuleFinding]) -> tuple[PlaceWords, ...]:
        """What is said where, each saying once."""
        told = alike(
            findings,
            self.check.build.layout,
            lambda finding: (finding.message(self.system), missing_words(finding, self.system)),
        )
        return tuple(PlaceWords(capital(where), *map(capital, words)) for where, words in told)

    def limits(self, findings: list[RuleFinding]) -> tuple[str, ...]:
        """The limits of a rule, each with its source; of several options those met with.

        Of one that is a band it is said what practice disagrees on.
        """
        sources, rule = self.check.knowledge.sources, findings[0].rule
        told = []
        for limit in rule.limits.values():
            if sources[limit.source].defines:
                continue
            for option, quantity in limit.entries.items():
                if limit.by is None or any(_met(one, limit.by, option) for one in findings):
                    name = " ".join(filter(None, (limit.name, option))).replace("_", " ")
                    shown = show(quantity.interval, quantity.kind, self.system)
                    why = f"; {limit.why}" if limit.why and quantity.interval.width else ""
                    told.append(f"{name} {shown}: {sources[limit.source].words}{why}")
        if rule.file.source is not None:
            told.append(sources[str(rule.file.source)].words)
        return tuple(told)

    @cached_property
    def house(self) -> tuple[str, ...]:
        """What the house decided for itself."""
        return tuple(house_lines(self.check, self.system))

    # What is claimed.

    @cached_property
    def claims(self) -> tuple[Claimed, ...]:
        """What the seller says, those that are broken first."""
        told: dict[str, list[ClaimJudged]] = {}
        for claim in self.check.claims:
            if not claim.finding.missing:
                told.setdefault(claim.finding.rule.id, []).append(claim)
        return tuple(map(self._claim, told.values()))

    def _claim(self, claims: list[ClaimJudged]) -> Claimed:
        worst = min(claims, key=lambda claim: WORST_FIRST.index(claim.finding.verdict))
        against = subjects(worst.against)
        return Claimed(
            str(worst.finding.rule.file.subject),
            _INSIDE[worst.finding.verdict],
            self._places([c.finding for c in claims if c.finding.verdict is Verdict.CONFLICT]),
            _WORKS[worst.works] + (f": {against}" if against else ""),
            worst.finding.verdict is Verdict.FITS and worst.works in (Works.YES, Works.UNJUDGED),
            worst.finding.verdict is Verdict.CONFLICT or worst.works is Works.NO,
        )

    @cached_property
    def disproved(self) -> tuple[str, ...]:
        """The stated figures that measuring disproves, those of one kind together."""
        found: dict[str, list[Audited]] = {}
        for one in audit(self.check.build):
            if one.outcome is ClaimOutcome.OUTSIDE and one.said.evidence is Evidence.CLAIMED:
                found.setdefault(one.attribute.name, []).append(one)
        return tuple(disproved_words(self.check, told, self.system) for told in found.values())

    @cached_property
    def said_twice(self) -> tuple[str, ...]:
        """The figures of which two were stated that can't both be so."""
        return tuple(twice_words(self.check, *pair) for pair in said_twice(self.check.build))

    # What cannot be told.

    @cached_property
    def undecided(self) -> tuple[Undecided, ...]:
        """What known figures leave open; that on which practice disagrees comes last."""
        found = [self._undecided(group) for group in by_rule(self.check.of(Verdict.STRADDLES))]
        return tuple(sorted(found, key=lambda one: one.disputed))

    def _undecided(self, findings: list[RuleFinding]) -> Undecided:
        worst, layout = worst_place(findings), self.check.build.layout
        return Undecided(
            worst.rule.id,
            str(worst.rule.file.subject),
            group_places(findings, layout),
            places(worst, layout) if len(findings) > 1 else "",
            margin_line(worst, self.system),
            weakest_line(self.check, worst),
            worst.rule.id in self.check.disputed,
        )

    @cached_property
    def asks(self) -> list[Ask]:
        """The figures worth having, the first to ask for first."""
        return self._asks.ranked

    @cached_property
    def waiting(self) -> tuple[str, ...]:
        """The subjects of what waits for parts that are not listed."""
        return tuple(dict.fromkeys(str(one.rule.file.subject) for one in self._asks.waiting))

    @cached_property
    def _asks(self) -> MissingFigures:
        return MissingFigures(self.check)

    @cached_property
    def work(self) -> tuple[str, ...]:
        """What is open until work is done that is still to do."""
        return _subjects(one for one in self.check.of(Verdict.UNMEASURED) if one.rule.by_work)

    @cached_property
    def disputed(self) -> tuple[str, ...]:
        """What fits by one practice and not by another; the gravest first."""
        return tuple(one.subject for one in self.undecided if one.disputed)

    @cached_property
    def looks(self) -> tuple[str, ...]:
        """What is open until the bare parts are held against each other."""
        return _subjects(one for one in self.check.of(Verdict.UNMEASURED) if one.rule.by_look)

    # What fits, and what is to be minded.

    @cached_property
    def fits(self) -> tuple[Family, ...]:
        """What fits, by family."""
        found: dict[str, list[RuleFinding]] = {}
        for finding in self.check.fits:
            found.setdefault(finding.rule.family_words, []).append(finding)
        layout = self.check.build.layout
        return tuple(
            Family(
                title,
                tuple(
                    Fit(
                        str(one.rule.file.subject),
                        places(one, layout),
                        margin_line(one, self.system),
                    )
                    for one in findings
                ),
            )
            for title, findings in found.items()
        )

    @cached_property
    def cautions(self) -> tuple[Minded, ...]:
        """The cautions of all that mends a clash, and of the figures worth having first."""
        at_work = [caution for clash in self.clashes for caution in clash.at_work]
        for ask in self.asks[:MOST_ASKED]:
            at_work += map(str, ask.procedure.file.cautions if ask.procedure else ())
        return self.minded(at_work)

    def rule(self, id_: str) -> Rule:
        """A rule that a section names."""
        return self.check.knowledge.rules[id_]

    def minded(self, ids: Iterable[str]) -> tuple[Minded, ...]:
        """Some cautions in full, each once."""
        known = self.check.knowledge.cautions
        return tuple(
            Minded(id_, capital(str(known[id_].file.title)), str(known[id_].file.text))
            for id_ in dict.fromkeys(ids)
        )

    @property
    def closing(self) -> str:
        """What rules over all of it."""
        return (
            "The maker's instructions rule over every figure here, and so do local codes. "
            f"Knowledge {self.check.knowledge.digest}."
        )


def clashing(check: BuildCheck) -> list[list[RuleFinding]]:
    """The clashes of each rule together, in the order of harm."""
    return sorted(by_rule(check.conflicts), key=lambda findings: harm(worst_place(findings)))


def by_rule(findings: Iterable[RuleFinding]) -> list[list[RuleFinding]]:
    """The findings of each rule together, in order of appearance."""
    found: dict[str, list[RuleFinding]] = {}
    for finding in findings:
        found.setdefault(finding.rule.id, []).append(finding)
    return list(found.values())


def remedies(finding: RuleFinding, system: System) -> tuple[Remedy, ...]:
    """What mends a finding; what can't give enough only where nothing else can.

    What gives a figure comes before what does not, in the order of the rule; of work that gives
    one, what takes the fewest hours comes first.
    """
    found = mends(finding, system)
    enough = [mend for mend in found if mend.enough] or found
    return tuple(map(_remedy, sorted(enough, key=lambda mend: _effort(mend, finding))))


def _effort(mend: Mend, finding: RuleFinding) -> tuple[int, float]:
    if mend.operation is not None and mend.amount is not None:
        places = {place_of(mend.operation.each, position) for position in finding.positions}
        hours = float(mend.operation.hours.interval.middle) * len(places)
        return (1 if mend.perhaps else 0), hours
    figure = mend.fix.look_for is not None and bool(mend.fix.look_for.nodes)
    return 2 if figure else 3, 0.0


def _remedy(mend: Mend) -> Remedy:
    cautions = mend.operation.file.cautions if mend.operation else ()
    note = ", ".join(filter(None, (mend.perhaps, mend.fix.note)))
    return Remedy(mend.text, note, mend.enough, tuple(map(str, cautions)))


def _subjects(findings: Iterable[RuleFinding]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(str(finding.rule.file.subject) for finding in findings))


_INSIDE = {
    Verdict.FITS: "inside the claim",
    Verdict.CONFLICT: "OUTSIDE THE CLAIM",
    Verdict.STRADDLES: "at the edge of the claim",
    Verdict.UNMEASURED: "cannot be told yet",
}
_WORKS = {
    Works.YES: "what it covers works here",
    Works.REMARKS: "what it covers works here, with a remark on",
    Works.NO: "what it covers does not work here",
    Works.OPEN: "whether what it covers works cannot be told yet",
    Works.UNJUDGED: "nothing was found that could decide whether it works",
}


def _met(finding: RuleFinding, choice: Attribute, option: str) -> bool:
    """Whether a choice may be this option where the finding is."""
    fact = finding.facts.get(choice.name)
    return fact is None or bool(fact.mask & 1 << choice.options.index(option))
