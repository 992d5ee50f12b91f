"""Measure first: what a reading decides, held against full checks with that reading supposed.

The checks share nothing with the way in which the bounds are found.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from random import Random

import pytest

from fitcheck.check import check_build, read_build
from fitcheck.knowledge.load import load_anew
from fitcheck.plan.apply import apply
from fitcheck.plan.decide import DecideFirst, decide_first
from fitcheck.plan.howfar import suppose
from fitcheck.plan.planner import make_plan
from fitcheck.plan.prices import NO_PRICES
from fitcheck.report.measure_first import first_data, first_words
from tests.plan.library import Demand, Work, build_text, random_demands, random_works, written

ROAD_SIX = Path(__file__).parents[1] / "engines/healthy/road_six_solid_flat.yaml"
INCH = Fraction(254, 10)


def clashing(first: DecideFirst, knowledge, works, readings) -> set[str]:
    """What clashes after some works where the figures were read so before them."""
    said = [suppose(figure.attribute, value) for figure, value in readings]
    build = first.less.before.build.supposing(said)
    after = check_build(apply(build, knowledge, works).build, knowledge)
    return {finding.rule.id for finding in after.conflicts}


def test_a_chamber_is_measured_before_a_gasket_is_bought(knowledge, tmp_path):
    """The seller says 68 cc, which they come within two of; less than some would knock."""
    text = ROAD_SIX.read_text(encoding="utf-8")
    for old, new in (
        ("chamber_volume: {all: 76.0 cc, cylinder 1: 76.2 cc, cylinder 6: 75.9 cc},", ""),
        ("chamber_spread: 0.3 cc,", ""),
        (
            "deck_thickness_least: 0.440 in,",
            "deck_thickness_least: 0.440 in, chamber_volume: 68 cc,",
        ),
    ):
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "six.yaml"
    path.write_text(text, encoding="utf-8")
    outcome = make_plan(check_build(read_build(path, knowledge), knowledge), objective="hours")
    first = decide_first(outcome, NO_PRICES, None)
    assert first is not None and not first.less.works and first.more is not None
    (figure,) = first.figures
    assert figure.attribute.name == "head.chamber_volume" and figure.most is None
    assert [work.title for work in first.more.applied.works] == ["fit a thicker head gasket"]
    # What would clash for want of volume does, a little below; nothing does at the bound.
    assert not clashing(first, knowledge, (), [(figure, figure.least)])
    assert "compression_high_for_fuel" in clashing(first, knowledge, (), [(figure, first.reading)])
    (words,) = first_words(first, NO_PRICES, "inch")
    assert words.startswith("MEASURE FIRST (48 min). With cylinder head: chamber volume, all cyl")
    assert "or more: no work is needed; else, at 67.4 cc for one: 1 step for 0.10 h" in words
    data = first_data(first, "inch")
    assert data["enough"]["works"] == [] and data["else"]["hours"] == pytest.approx(0.1)


def test_a_light_cut_may_be_enough(tmp_path):
    """0.950..0.999 in is there, 1.000 in is wanted: 0.010 in may do, 0.060 in surely does."""
    light = Work("light", "valve", 10, 1, {"valve.a": (1, False)}, [], 10)
    heavy = Work("heavy", "valve", 10, 10, {"valve.a": (1, False)}, [], 90)
    wanted = Demand(
        "wanted", "sum", [(1, "valve.a")], ">=", (1000, 1000), "serious", {"light": False, "heavy": False}, "valve"
    )  # fmt: skip
    knowledge = load_anew(written(tmp_path / "rules", [light, heavy], [wanted]))
    path = tmp_path / "build.yaml"
    path.write_text(build_text(1, {("valve.a", "all"): (950, 999)}, {}), encoding="utf-8")
    outcome = make_plan(check_build(read_build(path, knowledge), knowledge), objective="hours")
    assert {work.operation.id for work in outcome.plan.works} == {"heavy"}
    first = decide_first(outcome, NO_PRICES, None)
    assert {work.operation.id for work in first.less.works} == {"light"}
    assert first.more is outcome.plan
    (figure,) = first.figures
    # 1.000 less the cut, the cut's own tolerance, and half of the scale's 0.002 in.
    (light_cut, _) = first.less.works
    held = light_cut.operation.amount.tolerance  # and the scale tells 0.002 in apart
    assert figure.least == INCH - light_cut.amount + held + INCH / 1000
    (words,) = first_words(first, NO_PRICES, "inch")
    assert "1 step for 0.20 h (light" in words and words.endswith("; else the plan below.")


def test_bounds_hold_on_small_random_libraries(tmp_path):
    """Within its bounds the lesser work leaves no clash; some figure of the rest would."""
    told = 0
    for seed in range(3):
        random = Random(seed)
        works = random_works(random, 4, linear=True)
        demands = random_demands(random, 6, works, linear=True)
        if not demands:
            continue
        knowledge = load_anew(written(tmp_path / f"rules{seed}", works, demands))
        remarks = {one.id for one in knowledge.rules.values() if one.severity == "advice"}
        for number in range(4):
            facts = {
                (name, "all"): (low := 1000 + random.randint(-60, 30), low + random.choice([2, 30, 60]))
                for name in ("valve.a", "valve.b", "valve.c", "head.d", "head.f")
            }  # fmt: skip
            path = tmp_path / f"build{seed}_{number}.yaml"
            path.write_text(build_text(1, facts, {}), encoding="utf-8")
            outcome = make_plan(
                check_build(read_build(path, knowledge), knowledge), objective="hours"
            )
            first = decide_first(outcome, NO_PRICES, None)
            if first is None:
                continue
            told += 1
            for figure in first.figures:
                assert figure.least is None or figure.most is None or figure.least <= figure.most
            ends = [
                [(figure, end) for figure in first.figures if (end := side(figure)) is not None]
                for side in (lambda one: one.least, lambda one: one.most)
            ]
            unsure = {one.rule.id for one in (first.more or first.less).after.undecided}
            for readings in filter(None, ends):
                if len(readings) < len(first.figures):
                    continue
                clash = clashing(first, knowledge, first.less.works, readings)
                if first.reading is None:
                    assert clash <= unsure | remarks, (seed, number)
                else:
                    there = [(first.figures[0], first.reading)]
                    assert clashing(first, knowledge, first.less.works, there) - clash
    assert told >= 2
