"""What ordinary parts would do: open questions asked once more with usual figures.

Nothing here is sure. What is known for certain stays as it is; an answer that rests on usual
figures says which, and holds if the rest is as usual.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from enum import Enum
from fractions import Fraction
from functools import cached_property

from fitcheck.check.finding import RuleFinding
from fitcheck.check.usual import Ordinary
from fitcheck.check.verdict import Judged, Verdict, code_of, exact_code, judge, judge_rules
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.knowledge.figures import demands, figures_of
from fitcheck.knowledge.tied import Ties, follows, outermost, tied, tied_figures
from fitcheck.language import CONFLICT, FITS, SILENT, STRADDLES, Compiled
from fitcheck.model import EngineBuild, Evidence, Fact, Position
from fitcheck.source import Problem, frozen

_VERDICTS = {FITS: Verdict.FITS, CONFLICT: Verdict.CONFLICT, STRADDLES: Verdict.UNMEASURED}
# How much of all that is plausible is left where a usual figure follows closely from another.
_CLOSELY = Fraction(1, 25)


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


@frozen
class _UsualVerdict:
    """A rule asked at some places: the answer as the language codes it.

    `tied` is what gave it where figures had to be written out, as `ties` say, with the facts that
    it reads.
    """

    judged: Judged
    code: int
    tied: Compiled | None
    facts: dict[str, Fact]
    ties: Ties = ()


class Likelihoods:
    """The open questions of one build, asked with usual figures: all at once, when first asked.

    `only` names the rules that will be asked about, where not all of them may be.
    """

    def __init__(
        self, build: EngineBuild, knowledge: Knowledge, only: Iterable[Rule] | None = None
    ) -> None:
        self.build = build
        self.knowledge = knowledge
        self._only = None if only is None else list(only)
        self._told: dict[RuleFinding, Likelihood] = {}

    @cached_property
    def _ordinary(self) -> Ordinary:
        return Ordinary(self.build, self.knowledge)

    @cached_property
    def _asked(self) -> dict[tuple[str, Position], _UsualVerdict]:
        failures: list[Problem] = []  # told by the check itself, or by nobody: then it stays open
        judged_ = (
            judge(self._ordinary, failures)
            if self._only is None
            else judge_rules(self._ordinary, self._only, failures)
        )
        return {
            (judged.rule.id, position): asked
            for judged in judged_
            for asked in [self._once_more(judged)]
            for position in judged.positions
        }

    def _once_more(self, judged: Judged) -> _UsualVerdict:
        """Where it is still open: asked with the figures that follow others written out by them."""
        asked = _UsualVerdict(judged, code_of(judged.verdict), None, {})
        if self._agrees_with_itself(judged):
            return asked if asked.code == CONFLICT else _UsualVerdict(judged, STRADDLES, None, {})
        if asked.code != STRADDLES:
            return asked
        branches = map(self._ordinary.branch, judged.facts.values())
        ties = outermost(
            branch
            for branch in branches
            if branch is not None
            and follows(branch, judged.rule)
            and not any(map(self._ordinary.scattered, branch.figures))
        )
        compiled = tied(judged.rule, ties, self.knowledge) if ties else None
        if compiled is None:
            return asked
        facts = {
            name: self._ordinary.figure(name, judged.positions[0]) for name, _ in compiled.inputs
        }
        try:
            code = compiled.exactly(facts)[0]
        except ArithmeticError:
            return asked
        return _UsualVerdict(judged, code, compiled, facts, ties) if code != STRADDLES else asked

    def _agrees_with_itself(self, judged: Judged) -> bool:
        """Whether a figure is held against one of another part that it was presumed from.

        Such a figure would fit whatever that part is, even where what is stated of it is wrong.
        """
        stated = {
            name
            for name, fact in judged.facts.items()
            if fact.given and not fact.attribute.identity
        }
        return any(
            name.partition(".")[0] != fact.attribute.slot
            for fact in judged.facts.values()
            for name in stated & self._ordinary.rests_on(fact)
        )

    def standing(self, finding: RuleFinding) -> Likely | None:
        """How an open finding stands; None for one that is decided for certain."""
        return _standing(self._of(finding)) if finding.verdict.undecided else None

    def fact(self, name: str, position: Position) -> Fact:
        """The fact that holds: as given, else as is usual."""
        return self._ordinary.fact(name, position)

    def of(self, finding: RuleFinding) -> Likelihood | None:
        """The same, with what it rests on."""
        standing = self.standing(finding)
        if standing is None:
            return None
        found = self._told.get(finding)
        if found is None:
            rests_on: dict[Fact, None] = {}
            for asked in self._of(finding) if standing is not Likely.OPEN else ():
                if asked is not None and _standing([asked]) is standing:
                    rests_on |= dict.fromkeys(self._weighed(asked))
            found = self._told[finding] = Likelihood(standing, tuple(rests_on))
        return found

    def as_usual(self, finding: RuleFinding) -> list[RuleFinding]:
        """The finding as it would be with usual figures, once for places that come out alike."""
        found = [asked for asked in self._of(finding) if asked is not None]
        return [self._finding(asked) for asked in found if asked.code in _VERDICTS]

    def follows(self, fact: Fact) -> bool:
        """Whether a usual figure follows closely from what somebody stated, as a load's height."""
        plausible = fact.attribute.plausible
        return (
            fact.interval is not None
            and plausible is not None
            and bool(self._ordinary.rests_on(fact))
            and fact.interval.width <= _CLOSELY * plausible.width
        )

    def _finding(self, asked: _UsualVerdict) -> RuleFinding:
        judged, at = asked.judged, asked.judged.positions[0]
        found = RuleFinding.of(replace(judged, verdict=_VERDICTS[asked.code]), self._ordinary)
        if asked.ties:  # some of its figures are written out by others, as in no other finding
            figures = tied_figures(judged.rule, asked.ties, self.knowledge)
            known = {name: self._ordinary.figure(name, at) for name in figures.names}
            found.values, found.wordings = figures.of(known), {}
        return found

    def _of(self, finding: RuleFinding) -> list[_UsualVerdict | None]:
        if finding.rule.never_usual:
            return [None]
        found = [self._asked.get((finding.rule.id, place)) for place in finding.positions]
        return list({id(asked): asked for asked in found}.values())

    def _weighed(self, asked: _UsualVerdict) -> list[Fact]:
        """The usual facts that an answer rests on, the weightiest first."""
        rule, place = asked.judged.rule, asked.judged.positions[0]
        facts = {**asked.judged.facts, **asked.facts}
        facts |= {name: self._ordinary.fact(name, place) for name in rule.told}
        weights = []
        for name, fact in facts.items():
            if fact.evidence is not Evidence.USUAL or name in rule.told:
                continue
            without = {**facts, name: self._ordinary.untold(name, place)}
            opened = self._code(asked, name, without) != asked.code
            share = self._share(rule, facts, without)
            if opened or share:
                weights.append((not opened, -share, fact))
        return [fact for *_, fact in sorted(weights, key=lambda weight: weight[:2])]

    def _code(self, asked: _UsualVerdict, name: str, facts: dict[str, Fact]) -> int:
        """What it comes to with other facts; a figure written out is asked without what it is."""
        if asked.tied is None:
            return exact_code(asked.judged.rule, facts, self.knowledge)
        if name not in asked.facts:
            return STRADDLES
        code: int = asked.tied.exactly(facts)[0]
        return code

    def _share(self, rule: Rule, facts: dict[str, Fact], without: dict[str, Fact]) -> float:
        """How much of the margin's width without a fact is taken away by it, at most."""
        figures = figures_of(rule, self.knowledge)
        now, then = figures.of(facts), figures.of(without)
        margins = [id(self.knowledge.differences.of(compare)) for compare in demands(rule)]
        shares = [1 - now[m].width / then[m].width for m in margins if then[m].width]
        return float(max(shares, default=0))


def _standing(found: list[_UsualVerdict | None]) -> Likely:
    """The worst of what is said at several places; a rule that is silent there finds no fault."""
    codes = {asked.code if asked is not None else STRADDLES for asked in found}
    if CONFLICT in codes:
        return Likely.CLASHES
    return Likely.FITS if codes <= {FITS, SILENT} else Likely.OPEN
