"""Checks a build: binds it, judges every rule, and gathers the findings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import field
from functools import cached_property

from fitcheck.check.bind import Binding
from fitcheck.check.claims import ClaimJudged, judge_claims
from fitcheck.check.finding import RuleFinding
from fitcheck.check.likely import Likelihood, Likelihoods
from fitcheck.check.once import told_once
from fitcheck.check.verdict import Verdict, judge, judge_rules
from fitcheck.check.waiving import HouseUse, Waived, waive
from fitcheck.knowledge import SEVERITIES, Knowledge, Rule, as_makers_ask
from fitcheck.model import EngineBuild
from fitcheck.source import Problem, frozen

CLAIMS = "claims"


@frozen
class BuildCheck:
    """The outcome for one build.

    `binding` gives its facts. `findings` are in the order a reader wants them: conflicts first,
    the gravest before the rest; then what cannot be told; then what fits. `silent` names the rules
    that had nothing to say. `failures` are rules that could not be computed: they are never passes.
    `waived` are clashes that the house accepts: they stand apart, and `house` tells what became of
    each of its limits and waivers. `beneath` are clashes whose fault another finding tells at the
    same places.
    """

    binding: Binding = field(repr=False)
    findings: list[RuleFinding]
    claims: list[ClaimJudged]
    silent: set[str]
    failures: list[Problem]
    waived: list[Waived] = field(default_factory=list)
    house: HouseUse | None = None
    beneath: list[RuleFinding] = field(default_factory=list)

    @property
    def build(self) -> EngineBuild:
        """The build."""
        return self.binding.build

    @property
    def knowledge(self) -> Knowledge:
        """The knowledge, with what the makers of its parts ask for."""
        return self.binding.knowledge

    @property
    def all_findings(self) -> list[RuleFinding]:
        """The findings, those waived, beneath others and about claims included."""
        return [
            *self.findings,
            *self.beneath,
            *(waived.finding for waived in self.waived),
            *(claim.finding for claim in self.claims),
        ]

    @cached_property
    def likelihoods(self) -> Likelihoods:
        """What its open questions come to if the rest is as usual."""
        return Likelihoods(self.build, self.knowledge)

    def likely(self, finding: RuleFinding) -> Likelihood | None:
        """How an open finding stands if the rest is as usual; None for one that is decided."""
        return self.likelihoods.of(finding)

    def of(self, *verdicts: Verdict) -> list[RuleFinding]:
        """The findings with one of these verdicts."""
        return [finding for finding in self.findings if finding.verdict in verdicts]

    @property
    def worst_by_rule(self) -> list[RuleFinding]:
        """The worst finding of each rule: one question, whatever the number of places."""
        worst: dict[str, RuleFinding] = {}
        for finding in self.findings:
            worst.setdefault(finding.rule.id, finding)
        return list(worst.values())

    @cached_property
    def disputed(self) -> frozenset[str]:
        """The rules of which all that is open lies where practice disagrees on the limit."""
        otherwise = {one.rule.id for one in self.undecided if not one.disputed}
        return frozenset(one.rule.id for one in self.undecided) - otherwise

    @property
    def conflicts(self) -> list[RuleFinding]:
        """What clashes."""
        return self.of(Verdict.CONFLICT)

    @property
    def undecided(self) -> list[RuleFinding]:
        """What cannot be told."""
        return self.of(Verdict.STRADDLES, Verdict.UNMEASURED)

    @property
    def fits(self) -> list[RuleFinding]:
        """What fits."""
        return self.of(Verdict.FITS)


def check_build(
    build: EngineBuild, knowledge: Knowledge, only: Iterable[Rule] | None = None
) -> BuildCheck:
    """Check a build against all rules, or `only` some, with the limits that its makers ask for."""
    by_makers = as_makers_ask(knowledge, build)
    if only is not None and by_makers is not knowledge:
        only = [by_makers.rules[rule.id] for rule in only if rule.id in by_makers.rules]
    knowledge = by_makers
    binding = Binding(build, knowledge)
    failures: list[Problem] = []
    judged = judge(binding, failures) if only is None else judge_rules(binding, only, failures)
    findings = [RuleFinding.of(one, binding) for one in judged if one.verdict is not None]
    silent = {one.rule.id for one in judged} - {finding.rule.id for finding in findings}
    return _gathered(binding, findings, silent, failures)


def recheck(check: BuildCheck, build: EngineBuild, changed: Iterable[str]) -> BuildCheck:
    """The check of a build that differs from one already checked in some attributes only.

    `changed` names those attributes; only the rules that read one of them are judged again.
    """
    if as_makers_ask(check.knowledge, build) is not check.knowledge:  # of another part's maker
        return check_build(build, check.knowledge)
    knowledge, names = check.knowledge, set(changed)
    again = {rule.id: rule for name in names for rule in knowledge.readers.get(name, ())}
    binding = Binding(build, knowledge)
    failures = [
        problem
        for problem in check.failures
        if problem.place not in {rule.place for rule in again.values()}
    ]
    judged = judge_rules(binding, again.values(), failures)
    kept = [
        finding if names.isdisjoint(finding.rule.told) else finding.on(binding)
        for finding in check.all_findings
        if finding.rule.id not in again
    ]
    findings = kept + [RuleFinding.of(one, binding) for one in judged if one.verdict]
    spoken = {finding.rule.id for finding in findings}
    silent = (check.silent - set(again)) | {one.rule.id for one in judged} - spoken
    return _gathered(binding, findings, silent, failures)


def _gathered(
    binding: Binding,
    findings: list[RuleFinding],
    silent: set[str],
    failures: list[Problem],
) -> BuildCheck:
    # A claim is judged among the claims, not among the findings: that a build is outside what
    # the seller says is one thing, whether it works another.
    findings.sort(key=_order)
    about_parts = [one for one in findings if one.rule.family != CLAIMS]
    claims = judge_claims([one for one in findings if one.rule.family == CLAIMS], about_parts)
    left, waived, house = waive(about_parts, binding.build, binding.knowledge)
    left, beneath = told_once(left)
    return BuildCheck(binding, left, claims, silent, failures, waived, house, beneath)


_VERDICTS = (Verdict.CONFLICT, Verdict.STRADDLES, Verdict.UNMEASURED, Verdict.FITS)


def _order(finding: RuleFinding) -> tuple[int, int, str, str]:
    rule = finding.rule
    return _VERDICTS.index(finding.verdict), SEVERITIES.index(rule.severity), rule.family, rule.id
