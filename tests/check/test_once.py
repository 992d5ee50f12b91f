"""One fault is told once: a rule is silent where the one that tells its fault better clashes."""

from dataclasses import replace

import pytest

from fitcheck.check import Verdict, check_build, read_build, recheck
from fitcheck.check.once import told_once
from fitcheck.model import Position

ENGINE = """
build: four with its figures on paper
cylinders: "4"
parts:
"""


def _check(knowledge, parts: str):
    return check_build(read_build("four.yaml", knowledge, ENGINE + parts), knowledge)


def _clashing(findings) -> set[str]:
    return {found.rule.id for found in findings if found.verdict is Verdict.CONFLICT}


@pytest.mark.parametrize(
    "spread, told, beneath",
    [
        ("2.0 cc", {"chambers_differ"}, set()),  # the scatter of castings
        ("7.0 cc", {"chamber_of_another_size"}, {"chambers_differ"}),
    ],
)
def test_the_graver_of_two_is_told(knowledge, spread, told, beneath):
    check = _check(knowledge, f"  head: {{measured: {{by: me, chamber_spread: {spread}}}}}\n")
    assert _clashing(check.findings) == told
    assert _clashing(check.beneath) == beneath
    # Explained it is still found, and a check made anew of parts of it says the same.
    assert _clashing(check.all_findings) == told | beneath
    again = recheck(check, check.build, ["head.chamber_spread"])
    assert (_clashing(again.findings), _clashing(again.beneath)) == (told, beneath)


def test_only_a_clash_is_told_by_another_and_by_one_of_the_whole_engine_too(knowledge):
    check = _check(knowledge, "  head: {measured: {by: me, chamber_spread: 7.0 cc}}\n")
    (graver,), (mild,) = check.conflicts, check.beneath
    still_open = replace(mild, verdict=Verdict.STRADDLES)
    assert told_once([graver, still_open]) == ([graver, still_open], [])
    at_a_valve = mild.at((Position(None, 2, "exhaust"),))
    assert graver.positions == (Position(),)
    assert told_once([graver, at_a_valve]) == ([graver], [at_a_valve])


def test_it_is_told_where_the_other_is_not(knowledge):
    # Of two thin margins one has less than half of its first height left, and more than is needed.
    check = _check(
        knowledge,
        "  valve:\n"
        "    claimed: {by: sheet, margin_new: 0.080 in +-0.002, head_diameter: 1.600 in}\n"
        "    measured: {by: me, margin: {1 exhaust: 0.033 in, 2 exhaust: 0.010 in}}\n",
    )
    half = [one for one in check.conflicts if one.rule.id == "margin_half_gone"]
    assert [str(at) for one in half for at in one.positions] == ["cylinder 1 exhaust"]
    thin = [one for one in check.conflicts if one.rule.id == "thin_margin"]
    assert [str(at) for one in thin for at in one.positions] == ["cylinder 2 exhaust"]


def test_what_compares_places_is_told_by_the_place_that_is_off(knowledge):
    # One spring has lost load, which is why the loads differ from valve to valve.
    check = _check(
        knowledge,
        "  spring:\n"
        "    claimed: {by: sheet, load_1: 120 lbf, load_1_height: 1.800 in, rate: 300 lbf/in}\n"
        "    measured: {by: me, installed_height: 1.800 in,\n"
        "               seat_load: {exhaust: 120 lbf, 3 exhaust: 90 lbf}}\n",
    )
    assert "load_lost" in _clashing(check.findings)
    assert "seat_loads_differ" in _clashing(check.beneath) - _clashing(check.findings)


def test_no_rule_is_told_by_itself_in_a_circle(knowledge):
    by = {rule.id: set(map(str, rule.file.told_by)) for rule in knowledge.rules.values()}
    for rule, neighbours in by.items():
        reached, last = set(neighbours), set()
        while reached != last:
            last = set(reached)
            reached |= {further for one in last for further in by[one]}
        assert rule not in reached
