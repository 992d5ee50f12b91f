"""Chance: drawn shares against closed forms and independent libraries.

Closed forms: the sum of n figures spread evenly follows the Irwin-Hall distribution (J. O. Irwin
and P. Hall, Biometrika 19, 1927, pp. 225-245); of figures spread normally, a normal one whose
variance is the sum of theirs. The libraries are scipy and statsmodels.
"""

from __future__ import annotations

from math import comb, factorial, floor, sqrt

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from fitcheck.check import check_build, read_build
from fitcheck.check.tolerances.chance import Share, chances
from fitcheck.check.tolerances.stackup import stackup
from fitcheck.check.verdict import verdict_on
from fitcheck.knowledge.load import load_anew
from fitcheck.language.spans import SpanWalk
from fitcheck.model import Evidence, Fact
from fitcheck.quantity import Interval
from tests.builds import random_builds
from tests.knowledge.small import written

INCH = 25.4
DRAWN = 40000


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    return load_anew(written(tmp_path_factory.mktemp("small")))


def coil_bind(small, height, solid, lift, cylinders=1):
    """A check of coil bind alone: what is left is height - solid - lift, and 0.060 in is wanted."""
    text = f"""build: b
cylinders: '{cylinders}'
complete: 'yes'
parts:
  spring: {{measured: {{installed_height: {height}, solid_height: {solid}}}}}
  cam: {{measured: {{lobe_lift: {lift}}}}}
"""
    return check_build(read_build("b.yaml", small, text), small, [small.rules["coil_bind"]])


def agrees(share: Share, expected: float) -> bool:
    """Whether a drawn share is within four of its own standard deviations of what it should be."""
    return abs(share.value - expected) <= 4 * sqrt(expected * (1 - expected) / share.drawn) + 1e-9


# margin = height - solid - lift - 0.060, in thousandths: middles 1700 - 1240 - 400 - 60 = 0, so
# the tolerances alone decide; the middles are then moved off by a part of their spread.
STACKS = [
    ((1700, 10), (1240, 10), (400, 10)),
    ((1705, 10), (1240, 10), (400, 10)),
    ((1690, 10), (1240, 10), (400, 10)),
    ((1703, 4), (1240, 4), (400, 4)),
]


@pytest.mark.parametrize("height, solid, lift", STACKS)
def test_even_spreads_follow_the_sum_of_uniform_figures(small, height, solid, lift):
    found = chances(coil_bind(small, *map(written_as, (height, solid, lift))), drawn=DRAWN)
    (chance,) = found.each
    tolerance = height[1]
    margin = height[0] - solid[0] - lift[0] - 60
    # height, and the other two turned round: margin = middle + tolerance * (2 U - 3), U of three.
    expected = 1 - irwin_hall(3, (3 - margin / tolerance) / 2)
    assert agrees(chance.at_worst, expected)


@pytest.mark.parametrize("height, solid, lift", [*STACKS, ((1701, 6), (1240, 2), (400, 3))])
def test_normal_spreads_follow_the_sum_of_variances(small, height, solid, lift):
    check = coil_bind(small, *map(written_as, (height, solid, lift)))
    (chance,) = chances(check, spread="normal", drawn=DRAWN).each
    spread = sqrt(sum((tolerance / 3) ** 2 for _, tolerance in (height, solid, lift)))
    margin = height[0] - solid[0] - lift[0] - 60
    expected = stats.norm.cdf(margin / spread)
    # Drawn figures stay within their ranges, which cuts off 0.27 % of each.
    assert abs(chance.at_worst.value - expected) < 4 * sqrt(0.25 / DRAWN) + 0.003


def irwin_hall(count: int, below: float) -> float:
    """The chance that as many figures, each even from 0 to 1, add up to no more than `below`."""
    terms = ((-1) ** k * comb(count, k) * (below - k) ** count for k in range(floor(below) + 1))
    return sum(terms) / factorial(count)


def written_as(figure) -> str:
    middle, tolerance = figure
    return f"{middle / 1000:.3f} in +-{tolerance / 1000:.3f}"


def test_both_places_of_an_engine_clear_when_each_does(small):
    check = coil_bind(small, "1.705 in +-0.010", "1.240 in +-0.010", "0.400 in", cylinders=1)
    (chance,) = chances(check, drawn=DRAWN).each
    one = 1 - irwin_hall(2, (2 - 5 / 10) / 2)
    assert len(chance.positions) == 2
    # Every valve has its own spring at its own height, and both must clear.
    assert agrees(chance.at_worst, one)
    assert agrees(chance.all_places, one**2)


def test_one_figure_of_the_engine_is_the_same_at_all_its_places(small):
    text = """build: b
cylinders: '4'
complete: 'yes'
parts:
  spring: {measured: {installed_height: 1.700 in +-0.000, solid_height: 1.240 in +-0.000}}
  cam: {measured: {lobe_lift: 0.390..0.410 in, lobe_type: flat}}
"""
    only = [small.rules["coil_bind"]]
    check = check_build(read_build("b.yaml", small, text), small, only)
    (chance,) = chances(check, drawn=DRAWN).each
    assert agrees(chance.at_worst, 0.5)
    assert agrees(chance.all_places, 0.5**8)  # each lobe has its own lift: eight of them


@pytest.mark.parametrize("cleared, drawn", [(0, 10), (1, 10), (10, 10), (137, 400), (19999, 20000)])
def test_the_sampling_error_is_wilsons(cleared, drawn):
    low, high = Share(cleared, drawn).error
    by_scipy = stats.binomtest(cleared, drawn).proportion_ci(0.95, method="wilson")
    by_statsmodels = proportion_confint(cleared, drawn, alpha=0.05, method="wilson")
    assert (low, high) == pytest.approx(tuple(by_scipy), abs=1e-12)
    assert (low, high) == pytest.approx(by_statsmodels, abs=1e-12)


def test_worst_case_and_root_sum_square_of_a_plain_sum(small):
    check = coil_bind(small, "1.710 in +-0.006", "1.240 in +-0.002", "0.400 in +-0.003")
    (finding,) = check.all_findings
    found = stackup(finding)
    inches = [
        [float(end) / INCH for end in (one.lower, one.upper)]
        for one in (found.worst_case, found.root_sum_square)
    ]
    assert inches[0] == pytest.approx([0.010 - 0.011, 0.010 + 0.011])
    assert inches[1] == pytest.approx([0.010 - 0.007, 0.010 + 0.007])  # 6, 2, 3: root of 49
    # The worst case is the very margin that the check itself gives.
    margin = finding.margin
    assert [float(margin.lower), float(margin.upper)] == pytest.approx(
        [float(found.worst_case.lower), float(found.worst_case.upper)]
    )


def test_the_root_sum_square_is_three_standard_deviations_of_what_is_drawn(small):
    check = coil_bind(small, "1.710 in +-0.006", "1.240 in +-0.002", "0.400 in +-0.003")
    (finding,) = check.all_findings
    half = float(stackup(finding).root_sum_square.width) / 2
    random = np.random.default_rng(5)
    drawn = [random.normal(0, tolerance * INCH / 3, DRAWN) for tolerance in (0.006, 0.002, 0.003)]
    assert half == pytest.approx(3 * sum(drawn).std(), rel=0.02)


def test_what_is_no_plain_sum_has_no_stack(knowledge):
    build = read_build(
        "b.yaml",
        knowledge,
        """build: b
cylinders: '1'
complete: 'yes'
parts:
  cam: {measured: {lobe_lift: 0.340..0.360 in, lash_type: hydraulic}}
  lifter: {measured: {type: hydraulic_flat}}
  rocker: {measured: {ratio: '1.45..1.55'}}
  spring: {measured: {rated_lift: 0.500 in}}
""",
    )  # a lift times a ratio
    check = check_build(build, knowledge, [knowledge.rules["lift_beyond_spring"]])
    (finding,) = check.all_findings
    assert stackup(finding) is None


def test_a_seed_gives_the_same_draw_and_another_another(small):
    check = coil_bind(small, "1.702 in +-0.010", "1.240 in +-0.010", "0.400 in +-0.010")
    counts = [chances(check, seed=seed, drawn=2000).each[0].at_worst.cleared for seed in (1, 1, 2)]
    assert counts[0] == counts[1] != counts[2]


def test_a_rule_that_waits_for_a_figure_is_left_out(small):
    build = read_build(
        "b.yaml", small, "build: b\ncylinders: '1'\ncomplete: 'yes'\nparts: {spring: {}, cam: {}}"
    )
    found = chances(check_build(build, small), drawn=100)
    assert {rule.id for rule in found.left_out} == {"coil_bind", "weak_spring"}
    assert found.each == [] and found.together is None


# The drawn answers are the rules' own: each drawn point asked again, exactly.


@pytest.mark.parametrize("seed", range(4))
def test_arrays_answer_as_the_rules_do(knowledge, seed):
    random = np.random.default_rng(seed)
    asked = 0
    for build in random_builds(knowledge, seed=seed, count=1, known=0.8):
        findings = check_build(build, knowledge).all_findings
        for finding in random.choice(np.array(findings, object), 60, replace=False):
            points = [
                {n: _drawn(fact, random) for n, fact in finding.facts.items()} for _ in range(3)
            ]
            codes = _by_arrays(finding, points, knowledge)
            for point, code in zip(points, codes, strict=True):
                verdict = verdict_on(finding.rule, point, knowledge)
                told = (
                    "silent" if verdict is None else "open" if verdict.undecided else verdict.value
                )
                if told == "silent" and (finding.rule.only_given or finding.rule.ways):
                    continue  # nobody gave what it compares, whatever it would say
                assert told == code, finding.rule.id
                asked += 1
    assert asked > 100


def _drawn(fact: Fact, random) -> Fact:
    if fact.interval is None:
        return fact
    value = Interval.point(type(fact.interval.lower)(float(random.uniform(fact.low, fact.high))))
    value = Interval.point(min(max(value.lower, fact.interval.lower), fact.interval.upper))
    return Fact.quantity(fact.attribute, Evidence.MEASURED, value, text="drawn")


def _by_arrays(finding, points, knowledge) -> list[str]:
    condition = knowledge.condition(finding.rule)
    roots = [
        *condition.applies,
        *(clause.certain for clause in condition.clauses),
        *(clause.possible for clause in condition.clauses),
    ]
    inputs = {
        (name, end): (np.array([point[name].end(end) for point in points]),) * 2
        for name in finding.facts
        for end in ("lower", "upper", "mask", "rank")
    }
    walk = SpanWalk(roots, generous=True)
    found = [np.broadcast_to(one, len(points)) for one, _ in walk.over(inputs)]
    applies, may_apply, *demands = found
    half = len(demands) // 2
    codes = []
    for i in range(len(points)):
        certain = all(one[i] for one in demands[:half])
        possible = all(one[i] for one in demands[half:])
        codes.append(
            "silent"
            if not may_apply[i]
            else "fits"
            if certain
            else "conflict"
            if applies[i] and not possible
            else "open"
        )
    return codes
