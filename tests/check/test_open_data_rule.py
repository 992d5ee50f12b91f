"""The rule on contradicting displacement, over every car of an open list that has the figures.

UCI Automobile (1985), as it ships with statsmodels. Of its 201 cars with bore and stroke, 20
contradict themselves by more than 5 %; they are errors of the list, and the rule must find them.
"""

from __future__ import annotations

from fitcheck.check import Verdict, check_build, read_build
from fitcheck.knowledge import load_knowledge
from tests.calculations.test_open_data import CYLINDERS, cars_1985  # noqa: F401  a fixture

RULE = "total_displacement_contradicts"


def _flagged(row, knowledge) -> bool:
    """Whether the rule finds the row's figures, taken as printed, in contradiction."""
    text = f"""
build: a car of 1985
cylinders: "{CYLINDERS[row["cylinders"]]}"
parts:
  engine: {{claimed: {{displacement: {row["eng_cc"]} in3 +-0}}}}
  block: {{claimed: {{bore: {row["bore"]} in +-0}}}}
  crankshaft: {{claimed: {{stroke: {row["stroke"]} in +-0}}}}
"""
    build = read_build("car.yaml", knowledge, text)
    findings = check_build(build, knowledge, [knowledge.rules[RULE]]).findings
    assert all(finding.verdict is Verdict.CONFLICT for finding in findings)
    return bool(findings)


def _contradicts(row) -> bool:
    """The list's own error, reckoned here: more than 5 % of the stated size."""
    swept = 3.141592653589793 / 4 * float(row["bore"]) ** 2 * float(row["stroke"])
    stated = float(row["eng_cc"])
    return abs(CYLINDERS[row["cylinders"]] * swept / stated - 1) >= 0.05


def test_every_row_that_contradicts_itself_is_flagged(cars_1985):  # noqa: F811
    knowledge = load_knowledge()
    wrong = [row for row in cars_1985 if _contradicts(row)]
    right = [row for row in cars_1985 if not _contradicts(row)]
    assert (len(wrong), len(right)) == (20, 181)
    flagged = [_flagged(row, knowledge) for row in wrong]
    assert all(flagged), f"{flagged.count(False)} of 20 missed"
    assert sum(_flagged(row, knowledge) for row in right) <= 2
