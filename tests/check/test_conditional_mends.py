"""A mend that depends on a side, a choice or a figure is offered only where it can help."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fitcheck.check import RuleFinding, Verdict, check_build, mends, read_build

HEAD = "build: a try\ncylinders: '1'\nparts:\n"


def _clash(knowledge, rule: str, parts: str) -> RuleFinding:
    check = check_build(read_build("try.yaml", knowledge, HEAD + parts), knowledge)
    return next(
        finding
        for finding in check.findings
        if finding.rule.id == rule and finding.verdict is Verdict.CONFLICT
    )


def _work(finding: RuleFinding) -> dict[str, Fraction | None]:
    return {
        mend.fix.operation: mend.amount and mend.amount.upper
        for mend in mends(finding)
        if mend.fix.operation
    }


@pytest.mark.parametrize(
    ("side", "offered", "withheld"),
    [("intake", "retard_cam", "advance_cam"), ("exhaust", "advance_cam", "retard_cam")],
)
def test_the_camshaft_is_turned_away_from_the_valve_that_is_near(
    knowledge, side, offered, withheld
):
    # The later the camshaft, the later the intake chases the piston down; the exhaust the reverse.
    parts = (
        "  rod: {measured: {material: forged_steel}}\n"
        f"  piston: {{measured: {{axial_gap: {{{side}: 0.050 in}}}}}}\n"
    )
    work = _work(_clash(knowledge, "valve_near_piston", parts))
    assert offered in work
    assert withheld not in work


@pytest.mark.parametrize(
    ("stands", "offered", "withheld"),
    [
        ("1.740 in", "shim_spring", "cut_spring_seat"),
        ("1.660 in", "cut_spring_seat", "shim_spring"),
    ],
)
def test_a_spring_is_shimmed_where_it_stands_high_and_let_down_where_low(
    knowledge, stands, offered, withheld
):
    parts = (
        f"  spring: {{claimed: {{wanted_height: 1.700 +-0 in}}, "
        f"measured: {{installed_height: {stands}}}}}\n"
    )
    work = _work(_clash(knowledge, "installed_height_off", parts))
    assert withheld not in work
    # 0.040 in and half of the micrometer's 0.005: three shims of 0.015, or nine cuts of 0.005.
    assert work[offered] == Fraction(45, 1000) * Fraction(254, 10)


def test_a_face_that_is_rough_enough_is_not_cut(knowledge):
    parts = (
        "  head_gasket: {measured: {type: composition}}\n"
        "  head: {measured: {deck_finish: 40 +-0 uin}}\n"
        "  block: {measured: {deck_finish: 80 +-0 uin}}\n"
    )
    work = _work(_clash(knowledge, "face_too_smooth_for_soft_gasket", parts))
    assert list(work) == ["mill_deck"]
