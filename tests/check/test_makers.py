"""What the maker of a part asks rules over a limit, and the answer says whose figure it is."""

from __future__ import annotations

import pytest

from fitcheck.check import Verdict, check_build, read_build
from fitcheck.check.proofs.mutants import _walk_limit
from fitcheck.check.waiving import Use
from fitcheck.knowledge import as_makers_ask
from fitcheck.knowledge.house import with_house
from fitcheck.language import Known
from fitcheck.source import BadInput

# 1.700 in of height less 0.450 in of lift is 1.250 in: 0.025 in from solid.
RACER = """
build: a racer (invented)
cylinders: "1"
parts:
  lifter: {measured: {type: hydraulic_roller}}
  cam: {measured: {lobe_lift: 0.300 in}}
  rocker: {measured: {ratio: "1.500"}}
  spring:
    measured: {installed_height: 1.700 in, coil_bind_height: 1.225 in}
    ASKS
  guide: {measured: {material: cast_iron, clearance: 0.0008 in}}
"""


def _read(knowledge, asks="", **also):
    text = RACER.replace("ASKS", asks)
    for part, said in also.items():
        text += f"  {part}: {said}\n"
    return read_build("racer.yaml", knowledge, text)


def _finding(check, rule):
    return next(found for found in check.all_findings if found.rule.id == rule)


def test_the_makers_figure_replaces_the_limit_and_the_answer_says_so(knowledge):
    plain = _finding(check_build(_read(knowledge), knowledge), "coil_bind")
    asks = "maker_asks: {by: 'catalogue, p 7', coil_bind.least: 0.010 in}"
    asked = _finding(check_build(_read(knowledge, asks), knowledge), "coil_bind")
    assert (plain.verdict, asked.verdict) == (Verdict.CONFLICT, Verdict.FITS)
    assert "maker" not in plain.message()
    assert asked.message().endswith(
        "at least 0.010 in is wanted. That least is what the maker of the valve spring asks, by "
        "catalogue, p 7."
    )


def test_a_stricter_maker_rules_as_well(knowledge):
    asks = "maker_asks: {by: paper, coil_bind.least: 0.100 in}"
    found = _finding(check_build(_read(knowledge, asks), knowledge), "coil_bind")
    assert found.verdict is Verdict.CONFLICT
    assert "0.100 in is wanted" in found.message()


def test_the_engines_maker_may_say_it_of_any_rule_and_of_one_side(knowledge):
    said = "{maker_asks: {by: TM 0, stem_tight_in_guide.least: {exhaust: 0.0020 in}}}"
    build = _read(knowledge, engine=said)
    own = as_makers_ask(knowledge, build)
    limit = own.rules["stem_tight_in_guide"].limits["least"]
    before = knowledge.rules["stem_tight_in_guide"].limits["least"]
    assert limit.entries["intake"] == before.entries["intake"]
    ends = [node.interval.upper for node in _walk_limit(limit.node) if isinstance(node, Known)]
    assert limit.entries["exhaust"].upper in ends


def test_what_one_build_asks_another_does_not(knowledge):
    one = _read(knowledge, "maker_asks: {by: paper, coil_bind.least: 0.010 in}")
    own = as_makers_ask(knowledge, one)
    assert as_makers_ask(own, one) is own
    assert as_makers_ask(own, _read(knowledge)) is knowledge
    assert check_build(_read(knowledge), own).knowledge is knowledge


def test_a_maker_overrules_the_house(knowledge, tmp_path):
    house = tmp_path / "house.yaml"
    house.write_text(
        "house: a shop (invented)\n"
        "limits: {coil_bind.least: {value: 0.080 in, reason: our own, name: A. Foreman}}\n"
    )
    build = _read(knowledge, "maker_asks: {by: paper, coil_bind.least: 0.010 in}")
    check = check_build(build, with_house(knowledge, house))
    assert _finding(check, "coil_bind").verdict is Verdict.FITS
    assert [use for _, use in check.house.limits] == [Use.OVERRULED]


@pytest.mark.parametrize(
    ("asks", "what"),
    [
        ("maker_asks: 0.025 in", "'maker_asks' holds limits and their values"),
        ("maker_asks: {coil_bind.least: 0.010 in}", "it is not said where the maker asks for this"),
        ("maker_asks: {by: x, coil_bnd.least: 0.025 in}", "'coil_bnd.least' names no limit of a"),
        ("maker_asks: {by: x, coil_bind.most: 0.025 in}", "'coil_bind' has no limit 'most'"),
        ("maker_asks: {by: x, coil_bind.least: 3 lbf}", "'lbf' is a unit of force"),
        ("maker_asks: {by: x, retainer_meets_seal.least: {intake: 1 in}}", "'least' is one figure"),
        ("maker_asks: {by: x, coil_bind.least: [1 in]}", "'least' is one value"),
        (
            "maker_asks: {by: x, top_ring_gap_small.least: 0.3 %}",
            "'top_ring_gap_small' asks nothing of a valve spring",
        ),
        (
            "maker_asks: [{by: x, coil_bind.least: 1 in}, {by: y, coil_bind.least: 2 in}]",
            "coil_bind.least is asked for twice",
        ),
    ],
)
def test_what_cannot_be_meant_is_told_with_its_place(knowledge, asks, what):
    with pytest.raises(BadInput) as caught:
        _read(knowledge, asks)
    (problem,) = caught.value.problems
    assert problem.what.startswith(what)
    assert problem.place.line == 10
    assert problem.mend


def test_a_figure_for_one_side_needs_a_limit_that_has_sides(knowledge):
    said = "{intake: {maker_asks: {by: x, coil_bind.least: 0.05 in}}}"
    with pytest.raises(BadInput, match="one limit for intake and exhaust"):
        read_build("x.yaml", knowledge, f"build: x\ncylinders: '1'\nparts: {{spring: {said}}}\n")
