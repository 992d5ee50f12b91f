"""Where practice disagrees on a limit: what fits by one practice is told apart from what is open.

Some want 0.060 in to coil bind on the road and some are content with 0.050 (common practice, no
source; the rule says so). Of 1.700 in of height 0.450 in of lift leave 1.250 in.
"""

from __future__ import annotations

import pytest

from fitcheck.check import Verdict, check_build, read_build
from fitcheck.check.measuring.asks import MissingFigures
from fitcheck.report.phrases import counts

SPRING = """
build: a spring (invented)
cylinders: "1"
parts:
  engine: {measured: {use: road}}
  lifter: {measured: {type: hydraulic_roller}}
  cam: {measured: {lobe_lift: 0.3000 in +-0.0000}}
  rocker: {measured: {ratio: "1.500..1.500"}}
  spring:
    measured: {installed_height: 1.700 in +-0.000, coil_bind_height: SOLID}
    ASKS
"""


def _judged(knowledge, solid, asks=""):
    text = SPRING.replace("SOLID", solid).replace("ASKS", asks)
    check = check_build(read_build("spring.yaml", knowledge, text), knowledge)
    return check, next(found for found in check.findings if found.rule.id == "coil_bind")


@pytest.mark.parametrize(
    ("solid", "verdict", "disputed"),
    [
        ("1.180 in +-0.005", Verdict.FITS, False),  # 0.065..0.075 in is left: enough for everybody
        ("1.195 in +-0.003", Verdict.STRADDLES, True),  # 0.052..0.058: for some
        ("1.190 in +-0.010", Verdict.STRADDLES, True),  # 0.050..0.070: for some, if not for all
        ("1.195 in +-0.010", Verdict.STRADDLES, False),  # 0.045..0.065: maybe for nobody
        ("1.210 in +-0.005", Verdict.CONFLICT, False),  # 0.035..0.045: for nobody
    ],
)
def test_what_fits_by_one_practice(knowledge, solid, verdict, disputed):
    check, found = _judged(knowledge, solid)
    assert (found.verdict, found.disputed) == (verdict, disputed)
    assert ("coil_bind" in check.disputed) is disputed


def test_a_makers_figure_is_no_practice(knowledge):
    """He asks for 0.060 in, so 0.052..0.058 in clashes; he asks for 0.055, so that can't be told."""
    for least, verdict in (("0.060 in", Verdict.CONFLICT), ("0.055 in", Verdict.STRADDLES)):
        asks = f"maker_asks: {{by: catalogue, coil_bind.least: {least}}}"
        _, found = _judged(knowledge, "1.195 in +-0.003", asks)
        assert (found.verdict, found.disputed) == (verdict, False)


def test_it_counts_apart_and_no_figure_is_asked_for_it(knowledge):
    disputed, _ = _judged(knowledge, "1.195 in +-0.003")
    open_, _ = _judged(knowledge, "1.195 in +-0.010")
    assert counts(disputed).disputed == counts(open_).disputed + 1
    assert counts(disputed).open == counts(open_).open - 1
    assert counts(disputed).fits == counts(open_).fits
    for check, asked in ((disputed, False), (open_, True)):
        asks = MissingFigures(check)
        rules = {rule.id for ask in asks.ranked for rule in ask.rules}
        left = (*asks.beyond, *asks.waiting)
        rules |= {finding.rule.id for finding in left if not finding.disputed}
        assert ("coil_bind" in rules) is asked
