"""Open questions asked with usual figures, on small builds with the sums beside them."""

from __future__ import annotations

from datetime import date

import pytest

from fitcheck.check import BuildCheck, Likely, RuleFinding, Verdict, check_build, read_build
from fitcheck.check.usual import Ordinary
from fitcheck.knowledge import Knowledge
from fitcheck.knowledge.house import with_house
from fitcheck.model import Evidence
from fitcheck.quantity import KINDS, Interval, read_quantity
from tests.builds import random_builds

# An eight of which little is said: the shape of the engine, one lobe, one spring.
FEW = {
    "engine": "use: road",
    "block": "bore: 4.030 in",
    "cam": 'lobe_type: flat, rated_valve_lift: 0.480 in, rated_ratio: "1.50"',
    "lifter": "type: hydraulic_flat",
    "spring": "load_1: 110 lbf, load_1_height: 1.800 in",
    "head": 'is_new: "yes", material: aluminium, rocker_mounting: stud',
}


def _check(knowledge: Knowledge, **more: str) -> BuildCheck:
    """The check of the eight with further claims, by slot."""
    said = {slot: ", ".join(filter(None, (FEW.get(slot), more.get(slot)))) for slot in FEW | more}
    parts = "\n".join(f"  {slot}: {{claimed: {{by: page, {text}}}}}" for slot, text in said.items())
    text = f'build: few figures\ncylinders: "8"\nparts:\n{parts}\n'
    return check_build(read_build("few.yaml", knowledge, text), knowledge)


def _of(check: BuildCheck, rule: str) -> RuleFinding:
    return next(finding for finding in check.findings if finding.rule.id == rule)


def _likely(check: BuildCheck, rule: str) -> Likely | None:
    return check.likelihoods.standing(_of(check, rule))


def _rests_on(check: BuildCheck, rule: str) -> list[str]:
    likely = check.likely(_of(check, rule))
    assert likely is not None
    return [fact.attribute.name for fact in likely.rests_on]


def test_what_a_spring_is_rated_for_it_likely_clears(knowledge):
    """Solid at 1.800 less 0.550 less 0.030 to 0.130; open at 1.784..1.821 less some 0.48."""
    check = _check(knowledge, spring="rated_lift: 0.550 in")
    assert _of(check, "coil_bind").verdict is Verdict.UNMEASURED
    assert _likely(check, "coil_bind") is Likely.FITS
    assert {"spring.coil_bind_height", "spring.installed_height"} <= set(
        _rests_on(check, "coil_bind")
    )


def test_a_spring_rated_for_less_lift_likely_binds(knowledge):
    """Solid at 1.800 - 0.300 - 0.030 = 1.470 at most, 1.370 at least; open at 1.341 at most."""
    check = _check(knowledge, spring="rated_lift: 0.300 in")
    assert _likely(check, "coil_bind") is Likely.CLASHES


def test_what_is_known_for_certain_is_not_asked_again(knowledge):
    check = _check(
        knowledge,
        spring="coil_bind_height: 1.500 in, installed_height: 1.800 in",
        cam="lobe_lift: 0.320 in",
        rocker='ratio: "1.50"',
    )
    assert _of(check, "coil_bind").verdict is Verdict.CONFLICT
    assert check.likely(_of(check, "coil_bind")) is None


def test_two_that_are_bought_for_each_other_fit_while_neither_is_stated(knowledge):
    """A bearing is 0.0015 to 0.0035 in larger than its journal, whatever the journal is."""
    check = _check(knowledge)
    assert _likely(check, "cam_tight_in_bearing") is Likely.FITS
    (finding,) = check.likelihoods.as_usual(_of(check, "cam_tight_in_bearing"))
    clearance = finding.demands[0].actual
    assert clearance == read_quantity("0.0015..0.0035 in", KINDS["length"]).interval


def test_the_figure_told_beside_a_likely_answer_bears_it_out(knowledge):
    """What is said to fit has room to spare at both ends of its figure, what clashes at neither."""
    check, told = _check(knowledge, spring="rated_lift: 0.350 in"), 0
    for finding in check.undecided:
        for usual in check.likelihoods.as_usual(finding):
            if usual.verdict is Verdict.FITS and usual.margin is not None:
                assert usual.margin.lower >= 0, usual.rule.id
                told += 1
            if usual.verdict is Verdict.CONFLICT and usual.margin is not None:
                assert usual.margin.upper < 0, usual.rule.id
                told += 1
    assert told > 50


@pytest.mark.parametrize(
    "stated", [{"cam": "journal: 1.868 in"}, {"block": "cam_bearing: 1.870 in"}]
)
def test_nothing_is_presumed_of_a_stated_mate(knowledge, stated):
    """It would fit whatever was stated, wrong figures too."""
    assert _likely(_check(knowledge, **stated), "cam_tight_in_bearing") is Likely.OPEN


def test_a_figure_does_not_agree_with_the_one_it_was_presumed_from(knowledge):
    """A lifter is bought for the lobe, but whether it belongs there is the very question."""
    text = (
        'build: a card alone\ncylinders: "8"\nparts:\n'
        "  cam: {claimed: {by: card, lobe_type: flat, lash_type: hydraulic}}\n"
    )
    check = check_build(read_build("card.yaml", knowledge, text), knowledge)
    assert _likely(check, "roller_on_flat_lobe") is Likely.OPEN


def test_usual_figures_never_speak_in_a_contradiction(knowledge):
    for build in random_builds(knowledge, seed=21, count=6, known=0.3):
        check = check_build(build, knowledge)
        for finding in check.undecided:
            if finding.rule.never_usual:
                assert check.likelihoods.standing(finding) is Likely.OPEN


def test_usual_facts_are_no_statements_and_within_what_is_plausible(knowledge):
    for build in random_builds(knowledge, seed=22, count=4, known=0.15):
        ordinary = Ordinary(build, knowledge)
        for name, attribute in knowledge.attributes.items():
            for place in build.layout.positions(attribute.each):
                fact, told = ordinary.fact(name, place), ordinary.untold(name, place)
                if told.given:
                    assert fact is told
                elif fact.evidence is Evidence.USUAL:
                    assert not fact.given
                    assert fact.text.endswith("]") or "not fitted" in fact.text
                    _within(fact.interval, told.interval)
                    assert not fact.mask & ~told.mask


def _within(usual: Interval | None, possible: Interval | None) -> None:
    if usual is not None:
        assert possible is not None
        assert usual.within(possible)


def test_each_weighty_figure_is_needed(knowledge):
    """The first that an answer rests on, left open, leaves the answer open: coil bind again."""
    check = _check(knowledge, spring="rated_lift: 0.550 in")
    first = _rests_on(check, "coil_bind")[0]
    assert first in ("spring.coil_bind_height", "spring.installed_height")
    ordinary = Ordinary(check.build, knowledge)
    place = check.build.layout.positions("valve")[0]
    opened = ordinary.untold(first, place)
    assert opened.interval is not None
    assert opened.interval.width > ordinary.fact(first, place).interval.width


def test_a_limit_of_the_house_holds_for_usual_figures_too(knowledge):
    """A journal has 0.0015 to 0.0035 in of clearance; a house that asks for 0.005 in says no."""
    rule = knowledge.rules["cam_tight_in_bearing"]
    (name,) = rule.limits
    answer = "value: 0.005 in, reason: tried and good, name: A. Foreman"
    text = f"house: a shop (invented)\nlimits:\n  {rule.id}.{name}: {{{answer}}}\n"
    check = _check(knowledge)
    assert _likely(check, rule.id) is Likely.FITS
    house = with_house(knowledge, "house.yaml", date(2026, 6, 1), text)
    assert _likely(check_build(check.build, house), rule.id) is Likely.CLASHES
