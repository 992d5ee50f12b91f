"""What is missing is told of the demand that decides, and only where a figure decides."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fitcheck.check import Verdict, check_build, read_build
from fitcheck.knowledge.load import load_anew
from fitcheck.report.phrases import missing_words
from tests.knowledge.small import changed, written

RULE = "fits/springs/coil_bind.yaml"
REQUIRES = "open_height - spring.solid_height >= least"
INCH = Fraction(254, 10)


def _finding(tmp_path, requires: str, build: str):
    knowledge = load_anew(written(tmp_path, changed(RULE, REQUIRES, requires)))
    text = f"build: a try\ncylinders: '1'\nparts:\n  cam: {{measured: {{lobe_lift: 0.400 +-0 in}}}}\n{build}"
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
    assert [mend.text for mend in finding.mends()] == [
        "cut the spring seat by 0.020 in",
        "replace the valve spring: one solid at 1.240 in, 0.020 in less",
    ]


def test_work_that_cannot_give_all_comes_last_and_says_so(tmp_path):
    finding = _finding(tmp_path, REQUIRES, _spring("1.400 +-0 in", "straight"))
    assert [mend.enough for mend in finding.mends()] == [True, False]
    assert (
        finding.mends()[-1].text
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
    assert [mend.text for mend in finding.mends()] == [
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
