"""What a verdict owes to figures that move: over random builds, for all rules, knowing none of them.

A fault that grows stays told. A claim that is added leaves every verdict that measurements decided.
Both are properties of how evidence is joined; no rule is named here.
"""

from __future__ import annotations

import os
from dataclasses import replace
from fractions import Fraction
from random import Random

from fitcheck.check import RuleFinding, Verdict, check_build
from fitcheck.check.verdict import verdict_on
from fitcheck.knowledge import Knowledge
from fitcheck.language import BOTH, variables, walk
from fitcheck.language.tree import Apply
from fitcheck.model import EVERYWHERE, EngineBuild, Evidence, Fact, Origin, Part, Statement
from fitcheck.quantity import Interval, Quantity
from tests.builds import random_builds

# By hand with FITCHECK_BUILDS=2000; the suite takes a share of the same.
BUILDS = int(os.environ.get("FITCHECK_BUILDS", "4"))
CONFLICT = Verdict.CONFLICT


def _moved(fact: Fact, by: Fraction) -> Fact | None:
    """The figure moved as a whole by a share of what is plausible; None where it would leave it."""
    plausible = fact.attribute.plausible
    if fact.interval is None or plausible is None or not fact.given:
        return None
    shift = by * plausible.width
    interval = Interval(fact.interval.lower + shift, fact.interval.upper + shift)
    if not interval.within(plausible):
        return None
    return replace(fact, interval=interval, low=float(interval.lower), high=float(interval.upper))


def _with(finding: RuleFinding, facts: dict[str, Fact]) -> RuleFinding:
    """The finding as it stands on other facts."""
    return RuleFinding(
        finding.knowledge,
        finding.rule,
        finding.verdict,
        finding.positions,
        facts,
        {**finding.beside, **facts},
    )


def _margin(finding: RuleFinding, facts: dict[str, Fact]) -> Fraction | None:
    other = _with(finding, facts)
    return other.margin.upper if other.margin is not None else None


def _tied(finding: RuleFinding, facts: dict[str, Fact]) -> bool:
    """Whether two ways to a figure, as well known as each other, do not meet: told as such."""
    other = _with(finding, facts)
    return any(
        other.values.ways.get(id(node)) == BOTH
        for root in finding.rule.roots
        for node in walk(root)
        if isinstance(node, Apply) and node.op == "agree"
    )


def test_a_fault_that_grows_stays_told(knowledge: Knowledge) -> None:
    """A figure moved on in the direction in which a clash falls short keeps the clash."""
    random, moved = Random(1), 0
    for build in random_builds(knowledge, seed=31, count=BUILDS):
        check = check_build(build, knowledge)
        for finding in check.conflicts:
            # What decides whether a rule applies at all leads over to the rule of another class.
            classing = variables(finding.rule.applies) if finding.rule.applies else ()
            names = [
                name
                for name, fact in finding.facts.items()
                if fact.interval and fact.given and name not in classing
            ]
            if finding.margin is None or not names or finding.rule.ways is not None:
                continue
            name = random.choice(names)
            step = Fraction(random.choice([-1, 1]), 50)
            fact = _moved(finding.facts[name], step)
            if fact is None:
                continue
            facts = {**finding.facts, name: fact}
            margin = _margin(finding, facts)
            if margin is None or margin >= finding.margin.upper:
                continue  # that is the way out of the fault
            # It has grown: on it goes, far.
            for times in (1, 5, 20):
                further = _moved(finding.facts[name], step * times)
                if further is None:
                    break
                facts = {**finding.facts, name: further}
                worse = _margin(finding, facts)
                if worse is None or worse > margin:
                    break  # the figure's other side is reached: it is no longer the same fault
                verdict = verdict_on(finding.rule, facts, knowledge)
                told = verdict is CONFLICT or verdict is None or _tied(finding, facts)
                assert told, f"{finding.rule.id}: {name} by {float(step * times)}"
                moved += 1
    assert moved > 5 * BUILDS


def _narrowed(fact: Fact, random: Random) -> Fact:
    """The same figure known more closely: somewhere within what was said of it."""
    if fact.interval is None or not fact.given:
        return fact
    low, high = sorted(Fraction(random.randrange(101), 100) for _ in range(2))
    width = fact.interval.width
    interval = Interval(fact.interval.lower + low * width, fact.interval.lower + high * width)
    return replace(fact, interval=interval, low=float(interval.lower), high=float(interval.upper))


def test_to_know_figures_more_closely_never_opens_an_answer(knowledge: Knowledge) -> None:
    """Of what is decided every figure is drawn together at random, thrice; it stays as decided."""
    random, compared = Random(3), 0
    for build in random_builds(knowledge, seed=33, count=BUILDS, known=0.6):
        for finding in check_build(build, knowledge).findings:
            if finding.verdict.undecided or finding.rule.ways is not None:
                continue
            for _ in range(3):
                facts = {name: _narrowed(fact, random) for name, fact in finding.facts.items()}
                verdict = verdict_on(finding.rule, facts, knowledge)
                same = verdict is finding.verdict or _tied(finding, facts)
                # What fits whether a rule applies or not may turn out not to be asked at all.
                same |= verdict is None and finding.verdict is Verdict.FITS
                assert same, f"{finding.rule.id}: {verdict}"
                compared += 1
    assert compared > 20 * BUILDS


def _claim(build: EngineBuild, knowledge: Knowledge, random: Random) -> EngineBuild | None:
    """The build with one more figure that a seller states, of which nothing was said."""
    said = {statement.attribute.name for statement in build.statements()}
    free = [
        attribute
        for attribute in knowledge.attributes.values()
        if attribute.name not in said
        and attribute.slot in build.parts
        and attribute.kind is not None
        and attribute.kind.name != "count"
        and not attribute.spread_of
        and attribute.plausible is not None
    ]
    if not free:
        return None
    attribute = random.choice(free)
    plausible = attribute.plausible
    value = plausible.lower + plausible.width * Fraction(random.randrange(1001), 1000)
    quantity = Quantity(attribute.kind, Interval.point(value), "as drawn", stated=True)
    claim = Statement(attribute, EVERYWHERE, Evidence.CLAIMED, quantity, Origin(by="seller"))
    first, *others = build.parts[attribute.slot]
    part: Part = replace(first, statements=(*first.statements, claim))
    return replace(build, parts={**build.parts, attribute.slot: (part, *others)})


def _by_measurement(build: EngineBuild, knowledge: Knowledge) -> dict[tuple[str, object], Verdict]:
    """The verdicts that rest on nothing weaker than what was measured."""
    return {
        (finding.rule.id, place): finding.verdict
        for finding in check_build(build, knowledge).findings
        if not finding.verdict.undecided
        and all(fact.rank <= Evidence.MEASURED for fact in finding.cited.values())
        for place in finding.positions
    }


def _measured(build: EngineBuild) -> EngineBuild:
    """The same build with all that was said of it measured."""
    parts = {
        slot: tuple(
            replace(
                part,
                statements=tuple(
                    replace(said, evidence=Evidence.MEASURED) for said in part.statements
                ),
            )
            for part in parts
        )
        for slot, parts in build.parts.items()
    }
    return replace(build, parts=parts)


def test_a_claim_leaves_what_measurements_decide(knowledge: Knowledge) -> None:
    random, compared = Random(2), 0
    for drawn in random_builds(knowledge, seed=32, count=BUILDS, known=0.6):
        build = _measured(drawn)
        before = _by_measurement(build, knowledge)
        said_before = {said.attribute.name for said in build.statements()}
        for _ in range(2):
            more = _claim(build, knowledge, random)
            if more is None:
                continue
            checked = check_build(more, knowledge)
            after = {  # a fault that another finding tells now is told all the same
                (finding.rule.id, place): finding.verdict
                for finding in (*checked.beneath, *checked.findings)
                for place in finding.positions
            }
            added = {said.attribute.name for said in more.statements()} - said_before
            for key, verdict in before.items():
                rule = knowledge.rules[key[0]]
                if added & set(rule.unless_given):
                    continue  # a maker asks for a figure of his own: it takes the trade's place
                if any(
                    f"stated({name})" in f"{rule.file.applies} {rule.file.requires}"
                    for name in added
                ):
                    continue  # the rule holds to what the paper asks for, and now it asks for more
                assert after.get(key) is verdict, key
                compared += 1
    assert compared > 20 * BUILDS


def test_every_figure_known_in_two_ways_says_when_they_contradict(knowledge: Knowledge) -> None:
    """No joining is hidden in an expression, but for estimates beside a measured gap."""
    estimates = {"valve_near_piston", "valve_near_pocket_wall", "pressure_angle_too_great"}
    hidden = {
        rule.id
        for rule in knowledge.rules.values()
        if rule.ways is None and "agree(" in str(rule.file.requires)
    }
    assert hidden <= estimates
    for derived in knowledge.derived.values():
        assert derived.file.is_ is None or "agree(" not in derived.file.is_, derived.id
        assert not derived.file.ways or f"{derived.id}_contradicts" in "".join(knowledge.rules)
