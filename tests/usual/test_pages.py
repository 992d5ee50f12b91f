"""What an engine's page tells, held against its full measurements; faults that a page states.

The engines are those of `tests/engines`: sound ones and, for the faults, sound ones with one fault
planted by hand. Nothing here knows how an answer comes about.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from fitcheck.check import Check, Finding, Likely, Verdict, check_build
from fitcheck.knowledge import Knowledge
from tests.engines.judging import Bench, Fault, engines, faults
from tests.usual.sparse import Told, compare, page_of

# The engines whose answers were looked at while usual figures were written; the others count apart.
LOOKED_AT = {
    "hillclimb_four_solid_flat",
    "hot_street_v8",
    "mild_street_v8",
    "pump_four_natural_gas",
    "road_six_solid_flat",
    "street_strip_v8_solid_roller",
}
# All of them, engines and faults, where CI asks; else a share that takes seconds.
ALL = bool(os.environ.get("FITCHECK_EVERY_PAGE"))
SHARE = 1 if ALL else 4


@pytest.fixture(scope="module")
def bench(knowledge: Knowledge) -> Bench:
    return Bench(knowledge)


def _told(paths: list[Path], bench: Bench) -> Told:
    found = Told()
    for path in paths:
        full = bench.sound[path.stem]
        told = compare(full, check_build(page_of(full.build, bench.knowledge), bench.knowledge))
        print(
            f"{path.stem}: of {told.asked} questions {told.sure} are told for sure, {told.likely} "
            f"likely; {told.silent} hang on what nobody said; wrong: {told.wrong}"
        )
        found.add(told)
    print(f"{found.share_told:.1%} told, {found.share_right:.2%} of them rightly")
    return found


def test_fifteen_figures_answer_two_questions_in_three(bench: Bench) -> None:
    paths = [path for path in engines("healthy") if path.stem in LOOKED_AT]
    found = _told(paths, bench)
    assert found.share_told >= 0.65
    assert found.share_right >= 0.99


def test_engines_not_looked_at_are_told_nearly_as_well(bench: Bench) -> None:
    paths = [path for path in engines("healthy") if path.stem not in LOOKED_AT]
    found = _told(paths[:: SHARE - 1 or 1], bench)
    assert found.share_told >= 0.62
    assert found.share_right >= 0.99


def test_no_fault_that_a_page_states_is_called_likely_to_fit(bench: Bench) -> None:
    called = {}
    tried = 0
    for fault in faults()[:: 1 if ALL else 8]:
        clashes = bench.found_by(fault)
        if clashes:
            tried += 1
            called[fault.name] = _called_fitting(fault, clashes, bench)
    assert tried >= 30
    assert {name: rules for name, rules in called.items() if rules} == {}


def _called_fitting(fault: Fault, clashes: list[Finding], bench: Bench) -> set[str]:
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


def _fits(page: Check, finding: Finding) -> bool:
    if finding.verdict is Verdict.FITS:
        return True
    return page.likelihoods.standing(finding) is Likely.FITS
