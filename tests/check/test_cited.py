"""What an answer rests on, over random builds.

An explanation that leaves out a fact it rests on, an answer that is surer than what is known, an
answer that some value inside the known ranges gives the lie: none of these may happen. Nothing
here knows a rule; each property holds for all of them.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random

import pytest

from fitcheck.check import RuleFinding, Verdict, check_build
from fitcheck.check.verdict import verdict_on
from fitcheck.knowledge import Knowledge
from fitcheck.language import BOTH, walk
from fitcheck.language.tree import Apply
from fitcheck.model import Evidence, Fact
from fitcheck.quantity import Interval
from tests.builds import random_builds

SEEDS = range(5)
A_SAMPLE = 60
DECIDED = (Verdict.FITS, Verdict.CONFLICT)


def _findings(knowledge: Knowledge, seed: int) -> list[RuleFinding]:
    """A sample of the findings of a few random builds, as many of each verdict as there are."""
    random, sample = Random(seed), []
    builds = [
        next(random_builds(knowledge, seed=seed, count=1, known=known)) for known in (0.4, 0.9)
    ]
    for build in builds:
        check = check_build(build, knowledge)
        assert not check.failures, check.failures[0]
        found = [*check.findings, *(claim.finding for claim in check.claims)]
        random.shuffle(found)
        sample += sorted(found, key=lambda finding: finding.verdict.undecided)[: A_SAMPLE // 2]
        sample += [finding for finding in found if finding.verdict.undecided][: A_SAMPLE // 4]
    return sample


def _unknown(fact: Fact, knowledge: Knowledge) -> Fact:
    return fact if fact.attribute.name == "side" else knowledge.unknown(fact.attribute.name)


def _with(finding: RuleFinding, facts: dict[str, Fact]) -> RuleFinding:
    """The same finding on other facts."""
    return RuleFinding(
        finding.knowledge,
        finding.rule,
        finding.verdict,
        finding.positions,
        facts,
        finding.beside,
    )


def _verdict(finding: RuleFinding, facts: dict[str, Fact], knowledge: Knowledge) -> Verdict | None:
    return verdict_on(finding.rule, facts, knowledge)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_not_cited_does_not_matter(knowledge, seed):
    checked = 0
    for finding in _findings(knowledge, seed):
        facts = {
            name: fact if name in finding.cited else _unknown(fact, knowledge)
            for name, fact in finding.facts.items()
        }
        verdict = _verdict(finding, facts, knowledge)
        if finding.verdict in DECIDED:
            assert verdict is finding.verdict, finding.rule.id
        else:
            assert verdict is not None and verdict.undecided, finding.rule.id
        assert _with(finding, facts).margin == finding.margin, finding.rule.id
        checked += facts != finding.facts
    assert checked


@pytest.mark.parametrize("seed", SEEDS)
def test_the_weakest_figure_is_the_weakest_cited(knowledge, seed):
    for finding in _findings(knowledge, seed):
        weakest = finding.weakest
        assert weakest in finding.cited.values(), finding.rule.id
        worst = max((fact.evidence for fact in finding.cited.values()), default=None)
        assert weakest.evidence is worst
        if any(not fact.given for fact in finding.cited.values()):
            assert not weakest.given
        if finding.missing:
            assert weakest.evidence is Evidence.ASSUMED


def _contradicted(finding: RuleFinding) -> bool:
    """Whether two ways to one figure, as well known, exclude each other: both are possible."""
    return any(
        finding.values.ways[id(node)] == BOTH
        for root in finding.rule.roots
        for node in walk(root)
        if isinstance(node, Apply) and node.op == "agree"
    )


def _operations(finding: RuleFinding) -> set[str]:
    """What a rule reckons with."""
    nodes = (node for root in finding.rule.roots for node in walk(root))
    return {node.op for node in nodes if isinstance(node, Apply)}


def _widened(fact: Fact, random: Random) -> Fact:
    """A fact of which less is known."""
    attribute = fact.attribute
    if attribute.name == "side":
        return fact
    if fact.interval is None:
        options = (1 << len(attribute.options)) - 1
        return replace(
            fact,
            mask=fact.mask | random.randrange(options + 1),
            sure=fact.sure & random.randrange(options + 1),
        )
    plausible = attribute.plausible
    share = Fraction(random.randrange(0, 101), 100)
    wider = Interval(
        fact.interval.lower - (fact.interval.lower - plausible.lower) * share,
        fact.interval.upper + (plausible.upper - fact.interval.upper) * share,
    )
    return replace(fact, interval=wider, low=float(wider.lower), high=float(wider.upper))


@pytest.mark.parametrize("seed", SEEDS)
def test_knowing_less_never_decides(knowledge, seed):
    """Whatever is widened: the undecided stays so, and the decided stays or becomes undecided.

    Left out are figures that contradict each other: to doubt one of them can settle the matter.
    """
    random, widened = Random(seed), 0
    for finding in _findings(knowledge, seed):
        if _contradicted(finding):
            continue
        names = [name for name in finding.facts if random.random() < 0.4] or list(finding.facts)
        facts = {
            name: _widened(fact, random) if name in names else fact
            for name, fact in finding.facts.items()
        }
        verdict = _verdict(finding, facts, knowledge)
        if finding.rule.ways is not None and verdict is None:
            continue  # figures that may meet contradict each other no more
        assert verdict is not None, finding.rule.id
        assert verdict is finding.verdict or verdict.undecided, finding.rule.id
        widened += verdict is not finding.verdict
    assert widened


def _point(fact: Fact, random: Random) -> Fact:
    """One of the values that a fact leaves open."""
    attribute = fact.attribute
    if fact.interval is not None:
        share = random.choice([Fraction(0), Fraction(1), Fraction(random.randrange(1001), 1000)])
        value = fact.interval.lower + fact.interval.width * share
        if attribute.kind.name == "count":
            value = Fraction(int(value))
        return replace(
            fact, interval=Interval.point(value), low=float(value), high=float(value), given=True
        )
    if attribute.several:
        chosen = fact.sure | fact.mask & random.getrandbits(len(attribute.options))
        return replace(fact, mask=chosen, sure=chosen, given=True)
    options = [1 << i for i in range(len(attribute.options)) if fact.mask >> i & 1]
    mask = random.choice(options)
    return replace(fact, mask=mask, sure=mask, given=True)


@pytest.mark.parametrize("seed", SEEDS)
def test_no_value_inside_the_ranges_gives_an_answer_the_lie(knowledge, seed):
    random = Random(seed)
    # Values that contradict each other describe no engine: nothing is said of them.
    against = {Verdict.FITS: Verdict.CONFLICT, Verdict.CONFLICT: Verdict.FITS}
    decided = 0
    for finding in _findings(knowledge, seed):
        for _ in range(4):
            # Given, such a figure would take the place of the rule, or of another way to a figure.
            own = {
                name
                for name, fact in finding.facts.items()
                if name in finding.rule.unless_given
                or (not fact.given and "agree" in _operations(finding))
            }
            share = random.choice([0.5, 1])
            facts = {
                name: _point(fact, random) if random.random() < share and name not in own else fact
                for name, fact in finding.facts.items()
            }
            if _contradicted(_with(finding, facts)):
                continue
            verdict = _verdict(finding, facts, knowledge)
            if finding.verdict in DECIDED:
                # A rounded bound may leave a point open, but never on the other side.
                assert verdict is not against[finding.verdict], finding.rule.id
                if finding.verdict is Verdict.CONFLICT:
                    assert verdict is not None, finding.rule.id
                decided += verdict is finding.verdict
    assert decided > A_SAMPLE


@pytest.mark.parametrize("seed", SEEDS)
def test_a_margin_tells_the_verdict(knowledge, seed):
    """Of a rule of one plain demand the margin alone says what the verdict says."""
    told = 0
    for finding in _findings(knowledge, seed):
        if (
            finding.verdict in DECIDED
            and len(finding.demands) == 1
            and finding.rule.requires is finding.demands[0].node
        ):
            margin = finding.margin
            strict = len(finding.demands[0].node.op) == 1
            if finding.verdict is Verdict.FITS:
                assert margin.lower > 0 if strict else margin.lower >= 0, finding.rule.id
            else:
                assert margin.upper <= 0 if strict else margin.upper < 0, finding.rule.id
            told += 1
    assert told
