"""What an engine's page tells, held against its full measurements; faults that a page states.

The engines are those of `tests/engines`: sound ones and, for the faults, sound ones with one fault
planted by hand. Nothing here knows how an answer comes about.
"""

from __future__ import annotations

import os
from random import Random

import pytest

from fitcheck.check import BuildCheck, Likely, RuleFinding, Verdict, check_build
from fitcheck.cli.demo import demo_folder
from fitcheck.knowledge import Knowledge
from tests.engines.judging import Bench, Fault, checked, engines, faults
from tests.usual.sparse import Told, compare, page_of

# Written after the usual figures and without looking at them; at first sight 66.8 % was told, 99.4 %
# of it rightly. Two answers were wrong: milling was presumed never to be finer than a soft gasket
# wants, and seals of working engines never to be of nitrile. The others were there before, and
# count apart.
FRESH = {
    "compressor_four_industrial",
    "van_six_solid_flat_metric",
    "workboat_v8_hydraulic_roller",
}
# The invented builds, with faults that no page states; whether their head is new.
DEMOS = {"work_truck": True, "service_boat": False, "hill_climb_four": False}
pytestmark = pytest.mark.in_ci
# All of them, engines and faults, where CI asks; else a share that takes seconds.
ALL = bool(os.environ.get("FITCHECK_EVERY_PAGE"))


@pytest.fixture(scope="module")
def bench(knowledge: Knowledge) -> Bench:
    return Bench(knowledge)


def _told(checks: dict[str, BuildCheck], knowledge: Knowledge) -> Told:
    found = Told()
    for name, full in checks.items():
        page = page_of(full.build, knowledge, new=DEMOS.get(name, True))
        told = compare(full, check_build(page, knowledge))
        print(
            f"{name}: of {told.asked} questions {told.sure} are told for sure, {told.likely} "
            f"likely; {told.silent} hang on what nobody said; wrong: {told.wrong}"
        )
        found.add(told)
    print(f"{found.share_told:.1%} told, {found.share_right:.2%} of them rightly")
    return found


def test_fifteen_figures_answer_two_questions_in_three(bench: Bench) -> None:
    names = [path.stem for path in engines("healthy") if path.stem not in FRESH]
    checks = {name: bench.sound[name] for name in names[:: 1 if ALL else 6]}
    found = _told(checks, bench.knowledge)
    assert found.share_told >= 0.65
    assert found.share_right >= 0.99


def test_engines_written_afterwards_are_told_as_well(bench: Bench) -> None:
    found = _told({name: bench.sound[name] for name in sorted(FRESH)}, bench.knowledge)
    assert found.share_told >= 0.65
    assert found.share_right >= 0.99


def test_of_a_used_head_less_is_told_and_still_rightly(knowledge: Knowledge) -> None:
    """Guides, seats and valves that may be worn are to be measured: nothing is usual of them."""
    checks = {name: checked(demo_folder() / name / "build.yaml", knowledge) for name in DEMOS}
    found = _told(checks, knowledge)
    assert found.share_told >= 0.40
    assert found.share_right >= 0.99


def test_whatever_else_is_known_an_ordinary_mate_is_not_held_against_it(bench: Bench) -> None:
    checks = [bench.sound[name] for name in sorted(bench.sound)[:: 1 if ALL else 5]]
    found = _told_with_more(checks, (0.1, 0.3, 0.6) if ALL else (0.3,), bench.knowledge)
    assert len(found.wrong) <= 0.002 * found.likely


def test_engines_as_manuals_print_them_bear_likely_answers_out(knowledge: Knowledge) -> None:
    """The manuals are named in the engines' files; what they print was not asked for there."""
    checks = [checked(path, knowledge) for path in engines("factory")]
    found = _told_with_more(checks, (0.2, 0.6), knowledge)
    assert found.likely >= 20
    assert not found.wrong


def _told_with_more(
    checks: list[BuildCheck], shares: tuple[float, ...], knowledge: Knowledge
) -> Told:
    """What pages tell on which a share of all other figures stands as well, whichever it is."""
    found = Told()
    for full in checks:
        names = sorted({one.attribute.name for one in full.build.statements()})
        for share in shares:
            random = Random(f"{full.build.title} {share}")
            also = [name for name in names if random.random() < share]
            page = check_build(page_of(full.build, knowledge, also), knowledge)
            found.add(compare(full, page))
    print(f"{found.likely} likely answers beside {found.sure} sure ones, wrong: {found.wrong}")
    return found


def test_no_fault_that_a_page_states_is_called_likely_to_fit(bench: Bench) -> None:
    called = {}
    tried = 0
    for fault in faults()[:: 1 if ALL else 32]:
        clashes = bench.found_by(fault)
        if clashes:
            tried += 1
            called[fault.name] = _called_fitting(fault, clashes, bench)
    print(f"{tried} pages state a fault; {sum(map(bool, called.values()))} of them say it fits")
    assert tried >= 10
    assert {name: rules for name, rules in called.items() if rules} == {}


def _called_fitting(fault: Fault, clashes: list[RuleFinding], bench: Bench) -> set[str]:
    """The rules that clash by a fault and, by a page that states its figures, do not."""
    build, _ = fault.planted_in(bench.sound[fault.engine].build, bench.knowledge)
    stated = {one.attribute.name for one in build.statements() if one.origin.by == "judge"}
    page = check_build(page_of(build, bench.knowledge, stated, fault.without), bench.knowledge)
    places = {(found.rule.id, place) for found in clashes for place in found.positions}
    return {
        found.rule.id
        for found in page.findings
        if any((found.rule.id, place) in places for place in found.positions) and _fits(page, found)
    }


def _fits(page: BuildCheck, finding: RuleFinding) -> bool:
    if finding.verdict is Verdict.FITS:
        return True
    return page.likelihoods.standing(finding) is Likely.FITS
