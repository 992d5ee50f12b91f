"""What ordinary parts would do: open questions asked once more with usual figures.

Nothing here is sure. What is known for certain stays as it is; an answer that rests on usual
figures says which, and holds if the rest is as usual.
"""

from __future__ import annotations

from enum import Enum
from functools import cached_property

from fitcheck.check.finding import Finding
from fitcheck.check.usual import Ordinary
from fitcheck.check.verdict import Judged, Verdict, exact_code, judge
from fitcheck.knowledge import Knowledge
from fitcheck.knowledge.figures import demands, figures_of
from fitcheck.language import CONFLICT, FITS, SILENT
from fitcheck.model import Build, Evidence, Fact, Position
from fitcheck.source import Problem, frozen

# Usual figures would agree with themselves, whatever somebody stated.
CONTRADICTIONS = "contradictions"
_CODES = {Verdict.FITS: FITS, Verdict.CONFLICT: CONFLICT, None: SILENT}


class Likely(Enum):
    """What an open question comes to if the rest is as usual."""

    FITS = "likely fits"
    CLASHES = "likely clashes"
    OPEN = "open even so"


@frozen
class Likelihood:
    """How an open question stands if the rest is as usual, and the usual facts it rests on.

    The weightiest fact comes first: without it the answer would be open again, and of those the
    one that makes the most of the margin's width.
    """

    standing: Likely
    rests_on: tuple[Fact, ...]


class Likelihoods:
    """The open questions of one build, asked with usual figures: all at once, when first asked."""

    def __init__(self, build: Build, knowledge: Knowledge) -> None:
        self.build = build
        self.knowledge = knowledge
        self._told: dict[Finding, Likelihood] = {}

    @cached_property
    def _ordinary(self) -> Ordinary:
        return Ordinary(self.build, self.knowledge)

    @cached_property
    def _judged(self) -> dict[tuple[str, Position], Judged]:
        failures: list[Problem] = []  # told by the check itself, or by nobody: then it stays open
        return {
            (judged.rule.id, position): judged
            for judged in judge(self._ordinary, failures)
            for position in judged.positions
        }

    def standing(self, finding: Finding) -> Likely | None:
        """How an open finding stands; None for one that is decided for certain."""
        return _standing(self._of(finding)) if finding.verdict.undecided else None

    def of(self, finding: Finding) -> Likelihood | None:
        """The same, with what it rests on."""
        standing = self.standing(finding)
        if standing is None:
            return None
        found = self._told.get(finding)
        if found is None:
            rests_on: dict[Fact, None] = {}
            if standing is not Likely.OPEN:
                for judged in self._of(finding):
                    if judged is not None and _standing([judged]) is standing:
                        rests_on |= dict.fromkeys(self._weighed(judged))
            found = self._told[finding] = Likelihood(standing, tuple(rests_on))
        return found

    def _of(self, finding: Finding) -> list[Judged | None]:
        if finding.rule.family == CONTRADICTIONS:
            return [None]
        found = [self._judged.get((finding.rule.id, place)) for place in finding.positions]
        return list({id(judged): judged for judged in found}.values())

    def _weighed(self, judged: Judged) -> list[Fact]:
        """The usual facts that an answer rests on, the weightiest first."""
        rule, place = judged.rule, judged.positions[0]
        facts = dict(zip(rule.inputs, judged.facts, strict=True))
        facts |= {name: self._ordinary.fact(name, place) for name in rule.told}
        weights = []
        for name in rule.inputs:
            fact = facts[name]
            if fact.evidence is not Evidence.USUAL:
                continue
            without = {**facts, name: self._ordinary.untold(name, place)}
            opened = exact_code(rule, without, self.knowledge) != _CODES[judged.verdict]
            share = self._share(judged, facts, without)
            if opened or share:
                weights.append((not opened, -share, fact))
        return [fact for *_, fact in sorted(weights, key=lambda weight: weight[:2])]

    def _share(self, judged: Judged, facts: dict[str, Fact], without: dict[str, Fact]) -> float:
        """How much of the margin's width without a fact is taken away by it, at most."""
        asked = demands(judged.rule)
        if not asked:
            return 0.0
        figures = figures_of(judged.rule, self.knowledge)
        now, then = figures.of(facts), figures.of(without)
        margins = [id(self.knowledge.differences.of(compare)) for compare in asked]
        return max(
            float(1 - now[margin].width / then[margin].width) if then[margin].width else 0.0
            for margin in margins
        )


def _standing(found: list[Judged | None]) -> Likely:
    """The worst of what is said at several places; a rule that is silent there finds no fault."""
    if any(judged is not None and judged.verdict is Verdict.CONFLICT for judged in found):
        return Likely.CLASHES
    if all(judged is not None and judged.verdict in (Verdict.FITS, None) for judged in found):
        return Likely.FITS
    return Likely.OPEN
