"""What is missing is told of the demand that decides, and only where a figure decides."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fitcheck.check import Verdict, check_build, mends, read_build
from fitcheck.knowledge.load import load_anew
from fitcheck.report.phrases import margin_line, missing_words
from tests.knowledge.small import FILES, changed, written

RULE = "fits/springs/coil_bind.yaml"
REQUIRES = "open_height - spring.solid_height >= least"
INCH = Fraction(254, 10)


def _finding(tmp_path, requires: str, build: str):
    knowledge = load_anew(written(tmp_path, changed(RULE, REQUIRES, requires)))
    text = f"build: a try\ncylinders: '1'\ncomplete: 'yes'\nparts:\n  cam: {{measured: {{lobe_lift: 0.400 +-0 in}}}}\n{build}"
    check = check_build(read_build("try.yaml", knowledge, text), knowledge)
    return next(finding for finding in check.findings if finding.rule.id == "coil_bind")


def _spring(solid: str, shape: str) -> str:
    return (
        f"  spring: {{measured: {{installed_height: 1.700 +-0 in, solid_height: {solid}, "
        f"shape: {shape}}}}}\n"
    )


def test_what_is_missing_is_told_with_the_work_that_gives_it(tmp_path):
    finding = _finding(tmp_path, REQUIRES, _spring("1.260 +-0 in", "straight"))
    assert finding.verdict is Verdict.CONFLICT
    assert finding.shortfall.lower == finding.shortfall.upper == INCH * Fraction(20, 1000)
    assert missing_words(finding, "inch") == "short by 0.020 in"
    assert [mend.text for mend in mends(finding)] == [
        "cut the spring seat by 0.020 in",
        "replace the valve spring: one solid at 1.240 in, 0.020 in less",
    ]


def test_work_that_cannot_give_all_comes_last_and_says_so(tmp_path):
    finding = _finding(tmp_path, REQUIRES, _spring("1.400 +-0 in", "straight"))
    assert [mend.enough for mend in mends(finding)] == [True, False]
    assert (
        mends(finding)[-1].text
        == "cut the spring seat by 0.160 in, more than the 0.100 in that this can give"
    )


@pytest.mark.parametrize(
    ("requires", "solid", "shape"),
    [
        (f"{REQUIRES} and spring.shape == 'straight'", "1.000 +-0 in", "conical"),
        (f"{REQUIRES} or spring.shape == 'straight'", "1.500 +-0 in", "conical"),
    ],
    ids=["a choice decides", "no figure is demanded alone"],
)
def test_where_no_figure_decides_none_is_missing(tmp_path, requires, solid, shape):
    finding = _finding(tmp_path, requires, _spring(solid, shape))
    assert finding.verdict is Verdict.CONFLICT
    assert finding.demands == []
    assert finding.margin is finding.shortfall is None
    assert missing_words(finding, "inch") == ""
    assert [mend.text for mend in mends(finding)] == [
        "cut the spring seat",
        "replace the valve spring",
    ]


def test_of_two_demands_the_worse_is_told(tmp_path):
    finding = _finding(
        tmp_path,
        f"{REQUIRES} and spring.solid_height >= least",
        _spring("1.260 +-0 in", "straight"),
    )
    assert [demand.margin.lower / INCH for demand in finding.demands] == [
        Fraction(-20, 1000),
        Fraction(1200, 1000),
    ]


def _told(tmp_path, given: str, solid: str) -> tuple[str, str]:
    finding = _finding(
        tmp_path, REQUIRES, f"  spring: {{measured: {{{given}, solid_height: {solid}}}}}\n"
    )
    return missing_words(finding, "inch"), mends(finding)[-1].text


@pytest.mark.parametrize(
    ("height", "solid", "told"),
    [
        # 1.700 less 0.400 of lift less 0.060 wanted: the coils may stand at 1.240 when solid.
        ("1.700 +-0 in", "1.24004 +-0 in", "short by 0.00004 in"),
        ("1.700 +-0 in", "1.24001..1.260 in", "short by up to 0.020 in"),
        ("1.700 +-0 in", "1.230..1.250 in", "anything from 0.010 in short to 0.010 in to spare"),
        ("1.700 +-0 in", "1.240..1.250 in", "anything from 0.010 in short to nothing to spare"),
        ("1.700 +-0 in", "1.240 +-0 in", "0.000 in to spare"),
    ],
)
def test_what_is_missing_is_never_told_as_nought(tmp_path, height, solid, told):
    assert _told(tmp_path, f"installed_height: {height}", solid)[0] == told


def test_a_remedy_is_one_figure_on_the_safe_side(tmp_path):
    """Of 1.6985..1.7015 less lift and 0.060, a spring solid at 1.238 in suits the worst."""
    rule = FILES[RULE].replace("at {open_height - least}", "at {open_height - least} or less")
    knowledge = load_anew(written(tmp_path, {RULE: rule}))
    text = (
        "build: a try\ncylinders: '1'\ncomplete: 'yes'\nparts:\n  cam: {measured: {lobe_lift: 0.400 +-0 in}}\n"
        "  spring: {measured: {installed_height: 1.6985..1.7015 in, solid_height: 1.300 +-0 in}}\n"
    )
    check = check_build(read_build("try.yaml", knowledge, text), knowledge)
    (finding,) = (one for one in check.findings if one.rule.id == "coil_bind")
    texts = [mend.text for mend in mends(finding)]
    # Short by 0.0585 to 0.0615: the seat goes deeper by whole steps of 0.005, the most counts.
    assert texts[0] == "cut the spring seat by 0.065 in"
    assert texts[1] == "replace the valve spring: one solid at 1.238 in or less, 0.062 in less"


def test_a_figure_beside_its_limit_is_seen_to_miss_it(tmp_path):
    finding = _finding(tmp_path, REQUIRES, _spring("1.24004 +-0 in", "straight"))
    assert finding.verdict is Verdict.CONFLICT
    assert margin_line(finding, "inch").startswith("0.05996 in, wanted at least 0.06000 in")
