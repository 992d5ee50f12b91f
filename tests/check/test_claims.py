"""Inside what the seller claims, and works: two questions, answered apart."""

from __future__ import annotations

import pytest

from fitcheck.check import Verdict, Works, check_build, read_build
from fitcheck.knowledge.load import load_anew
from tests.knowledge.small import FILES, written

CLAIM = """\
title: the lobe is none that the cam is sold for
subject: lobes that the cam is sold for
severity: advice
requires: cam.lobe_type in cam.for_lobes
source: practice
message: The lobe is {cam.lobe_type}; sold for {cam.for_lobes}.
why: The seller answers for no other.
fixes: []
covers: [coil_bind, weak_spring]
examples: {}
"""
INSIDE, OUTSIDE, EDGE = "[flat, roller]", "[roller]", None
LIGHT = "solid_height: 1.000 in, rate: 400 lbf/in"
SOLID = "solid_height: 1.500 in, rate: 400 lbf/in"
WEAK = "solid_height: 1.000 in, rate: 100 lbf/in"
UNKNOWN = "solid_height: 1.000 in"


@pytest.fixture(scope="module")
def claims(tmp_path_factory):
    asked = FILES["questions.yaml"].replace("[springs]", "[springs, claims]")
    changes = {"fits/claims/other_lobe.yaml": CLAIM, "questions.yaml": asked}
    return load_anew(written(tmp_path_factory.mktemp("rules"), changes))


def _check(knowledge, sold: str | None, spring: str):
    for_lobes = f", for_lobes: {sold}" if sold else ""
    return check_build(
        read_build(
            "try.yaml",
            knowledge,
            f"""\
build: a try
cylinders: "2"
complete: "yes"
parts:
  cam: {{measured: {{lobe_lift: 0.400 in, lobe_type: flat{for_lobes}}}}}
  spring: {{measured: {{installed_height: 1.700 in, shape: straight, {spring}}}}}
""",
        ),
        knowledge,
    )


@pytest.mark.parametrize(
    ("sold", "verdict"),
    [
        (INSIDE, Verdict.FITS),
        (OUTSIDE, Verdict.CONFLICT),
        (EDGE, Verdict.UNMEASURED),
    ],
    ids=["inside", "outside", "nothing said"],
)
@pytest.mark.parametrize(
    ("spring", "works", "against"),
    [
        (LIGHT, Works.YES, []),
        (SOLID, Works.NO, ["coil_bind"]),
        (WEAK, Works.NO, ["weak_spring"]),
        (UNKNOWN, Works.OPEN, ["weak_spring"]),
    ],
    ids=["works", "does not work", "does not work by another rule", "open"],
)
def test_inside_and_works_are_independent(claims, sold, verdict, spring, works, against):
    check = _check(claims, sold, spring)
    (claim,) = check.claims
    assert claim.finding.verdict is verdict
    assert claim.works is works
    assert [finding.rule.id for finding in claim.against] == against
    # What is claimed is no clash of parts.
    assert "other_lobe" not in {finding.rule.id for finding in check.findings}


def test_a_clash_outweighs_what_is_open(claims):
    (claim,) = _check(claims, INSIDE, "solid_height: 1.500 in").claims
    assert claim.works is Works.NO
    assert [finding.rule.id for finding in claim.against] == ["coil_bind"]


def test_what_no_rule_covered_speaks_of_is_not_judged(claims):
    only = [claims.rules["other_lobe"]]
    check = _check(claims, INSIDE, LIGHT)
    alone = check_build(check.build, claims, only)
    (claim,) = alone.claims
    assert claim.finding.verdict is Verdict.FITS
    assert claim.works is Works.UNJUDGED


def test_the_projects_claims_cover_rules_about_parts(knowledge):
    claims = [rule for rule in knowledge.rules.values() if rule.family == "claims"]
    assert claims
    for rule in claims:
        covered = [knowledge.rules[str(name)] for name in rule.file.covers]
        assert not {other.family for other in covered} & {"claims"}, rule.id
    others = [
        rule.id for rule in knowledge.rules.values() if rule.family != "claims" and rule.file.covers
    ]
    assert others == []
