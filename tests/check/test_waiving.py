"""Waived clashes: seen, counted, at their places only; expired and unused decisions reported."""

from datetime import date

import pytest
from rich.console import Console

from fitcheck.check import Verdict, check_build, read_build, recheck
from fitcheck.check.waiving import Use
from fitcheck.knowledge.house import with_house
from fitcheck.knowledge.load import load_anew
from fitcheck.report.data import check_data
from fitcheck.report.phrases import summary
from fitcheck.report.terminal import CheckReport
from tests.knowledge.small import written

BUILD = """\
build: four springs (invented)
cylinders: "2"
parts:
  shim: none
  cam: {measured: {lobe_type: flat, lobe_lift: 0.400 in}}
  spring:
    measured:
      rate: 300 lbf/in
      shape: straight
      installed_height: 1.700 in
      solid_height: {intake: 1.200 in, exhaust: 1.270 in}
"""
ANSWER = "reason: tried and good, name: A. Foreman"
TODAY = date(2026, 6, 1)


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    return load_anew(written(tmp_path_factory.mktemp("rules")))


def _check(small, house="", build=BUILD):
    knowledge = (
        with_house(small, "house.yaml", TODAY, f"house: a shop\n{house}") if house else small
    )
    return check_build(read_build("b.yaml", knowledge, build), knowledge)


def _waivers(*entries):
    return "waivers:\n" + "".join(
        f"  - {{{entry}, {ANSWER}, until: 2026-12-31}}\n" for entry in entries
    )


def _text(check, tmp_path):
    console = Console(width=300, record=True, file=(tmp_path / "out").open("w"))
    CheckReport(check, console, "inch").full()
    return console.export_text()


def test_without_a_waiver_it_clashes(small):
    check = _check(small)
    assert [finding.rule.id for finding in check.conflicts] == ["coil_bind"]
    assert check.waived == [] and check.house is None


def test_a_waived_clash_is_no_clash_and_stays_in_sight(small, tmp_path):
    check = _check(small, _waivers("rule: coil_bind"))
    assert check.conflicts == []
    (waived,) = check.waived
    assert waived.finding.verdict is Verdict.CONFLICT
    assert len(waived.finding.positions) == 2
    assert waived.finding in check.all_findings
    assert summary(check).endswith(" 1 clash waived by the house, 1 of them to stop for.")
    text = _text(check, tmp_path)
    assert "WAIVED stop: the spring goes solid (all exhausts)." in text
    assert "By A. Foreman, until 2026-12-31: tried and good" in text
    data = check_data(check, "inch")
    assert data["counts"]["waived"] == 1 and data["counts"]["conflict"] == 0
    assert data["waived"][0]["rule"] == "coil_bind"
    assert data["waived"][0]["waived_by"] == "A. Foreman"
    assert data["house"]["waivers"][0]["use"] == "in force"


def test_at_its_places_only(small):
    check = _check(small, _waivers("rule: coil_bind, at: 2 exhaust"))
    (left,), (waived,) = check.conflicts, check.waived
    assert [str(p) for p in left.positions] == ["cylinder 1 exhaust"]
    assert [str(p) for p in waived.finding.positions] == ["cylinder 2 exhaust"]
    assert left.message() == waived.finding.message()


def test_two_waivers_of_two_places(small):
    check = _check(
        small, _waivers("rule: coil_bind, at: 1 exhaust", "rule: coil_bind, at: 2 exhaust")
    )
    assert check.conflicts == [] and len(check.waived) == 2
    assert check.house.count(Use.USED) == 2


@pytest.mark.parametrize(
    ("entry", "use"),
    [
        ("rule: coil_bind, at: intake", Use.UNUSED),
        ("rule: weak_spring", Use.UNUSED),  # it fits
        ("rule: coil_bind, build: another", Use.ELSEWHERE),
        ("rule: coil_bind, build: four springs (invented)", Use.USED),
    ],
)
def test_what_became_of_a_waiver(small, entry, use, tmp_path):
    check = _check(small, _waivers(entry))
    assert [found for _, found in check.house.waivers] == [use]
    assert bool(check.conflicts) is (use is not Use.USED)
    text = _text(check, tmp_path)
    assert ("NOT USED" in text) is (use is Use.UNUSED)


@pytest.mark.parametrize("until", ["2026-05-31", "next year", "2026-02-30"])
def test_an_expired_waiver_waives_nothing_and_is_reported(small, until, tmp_path):
    check = _check(small, f"waivers:\n  - {{rule: coil_bind, {ANSWER}, until: {until}}}\n")
    assert len(check.conflicts) == 1 and check.waived == []
    assert check.house.count(Use.EXPIRED) == 1
    assert "EXPIRED, does not count" in _text(check, tmp_path)
    assert check_data(check, "inch")["house"]["waivers"][0]["use"] == "expired"


def test_what_cannot_be_told_is_not_waived(small):
    build = BUILD.replace("exhaust: 1.270 in", "exhaust: 1.230..1.250 in")
    check = _check(small, _waivers("rule: coil_bind"), build)
    assert [finding.verdict for finding in check.undecided] == [Verdict.STRADDLES]
    assert check.house.count(Use.UNUSED) == 1


def test_a_rule_that_could_not_be_computed_is_not_waived(small, monkeypatch):
    from fitcheck.check import verdict

    def crashes(*_):
        raise verdict.RuleFailed(small.rules["coil_bind"], ValueError("no figure"))

    knowledge = with_house(small, "house.yaml", TODAY, "house: x\n" + _waivers("rule: coil_bind"))
    name = "exact_code" if hasattr(verdict, "exact_code") else "_exact_code"
    monkeypatch.setattr(verdict, name, crashes)
    monkeypatch.setattr(verdict, "_fast_codes", lambda *_: None)
    check = check_build(read_build("b.yaml", knowledge, BUILD), knowledge)
    assert check.waived == []
    assert any("could not be computed" in problem.what for problem in check.failures)


def test_limits_of_the_house_are_told_with_what_became_of_them(small, tmp_path):
    check = _check(
        small,
        f"""\
limits:
  coil_bind.least: {{value: 0.020 in, {ANSWER}}}
  weak_spring.least: {{values: {{flat: 200 lbf/in}}, {ANSWER}}}
""",
    )
    assert check.conflicts == []
    assert [use for _, use in check.house.limits] == [
        Use.USED,
        Use.UNUSED,
    ]  # the second changes nothing
    text = _text(check, tmp_path)
    assert (
        "limit coil_bind.least: 0.020 in instead of 0.060 in: in force. By A. Foreman: tried and good"
        in text
    )
    assert (
        "a shop (house.yaml) has 2 limits of its own and 0 waivers; 0 clashes waived; "
        "of its decisions 1 not used." in text
    )


def test_a_limit_of_a_rule_that_does_not_apply_is_not_used(small):
    build = BUILD.replace("shape: straight", "shape: conical")
    check = _check(small, f"limits:\n  weak_spring.least: {{value: 900 lbf/in, {ANSWER}}}\n", build)
    assert [use for _, use in check.house.limits] == [Use.UNUSED]


def test_waivers_hold_in_a_recheck(small):
    knowledge = with_house(
        small, "house.yaml", TODAY, "house: x\n" + _waivers("rule: coil_bind, at: 1 exhaust")
    )
    check = check_build(read_build("b.yaml", knowledge, BUILD), knowledge)
    changed = read_build("b.yaml", knowledge, BUILD.replace("rate: 300", "rate: 310"))
    again = recheck(check, changed, ["spring.rate"])
    assert len(again.waived) == len(check.waived) == 1
    assert [str(p) for f in again.conflicts for p in f.positions] == ["cylinder 2 exhaust"]
    mended = read_build("b.yaml", knowledge, BUILD.replace("exhaust: 1.270", "exhaust: 1.210"))
    after = recheck(check, mended, ["spring.solid_height"])
    assert after.conflicts == [] and after.waived == []
    assert after.house.count(Use.UNUSED) == 1
