"""Buyers who have ten figures from a seller's page and a cam card: three invented builds.

What such a buyer asks must be answered on the first twelve lines, and what he is to find out must
be few enough to be asked in one letter to the seller.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from fitcheck.check import BuildCheck, Likely, Verdict, check_build, read_build
from fitcheck.cli.demo import demo_folder
from fitcheck.cli.main import main
from fitcheck.knowledge import Knowledge
from fitcheck.report.story import MOST_ASKED, Story

UNDECIDED = 3
MOST_LINES, MOST_ASKS = 12, 12

HYDRAULIC_FLAT_EIGHT = """
build: Pickup, new heads on approval (invented)
cylinders: "8"
parts:
  engine: {claimed: {by: owner, use: road}}
  block: {claimed: {by: owner, bore: 4.030 in}}
  head: {claimed: {by: page, is_new: "yes", material: aluminium, rocker_mounting: stud}}
  valve: {claimed: {by: page, head_diameter: {intake: 2.020 in, exhaust: 1.600 in}}}
  spring: {claimed: {by: page, load_1: 115 lbf, load_1_height: 1.780 in, rated_lift: 0.500 in}}
  cam: {claimed: {by: cam card, rated_valve_lift: 0.488 in, rated_ratio: "1.5"}}
  lifter: {claimed: {by: box, type: hydraulic_flat}}
"""
USED_SIX = """
build: Farm six with a used head (invented)
cylinders: "6"
parts:
  engine: {claimed: {by: owner, layout: inline, use: work}}
  block: {claimed: {by: owner, bore: 3.875 in}}
  crankshaft: {claimed: {by: owner, stroke: 4.000 in}}
  head: {claimed: {by: advertisement, is_new: "no", material: iron, rocker_mounting: shaft}}
  spring: {claimed: {by: advertisement, load_1: 78 lbf, load_1_height: 1.660 in}}
  cam: {claimed: {by: cam card, rated_valve_lift: 0.405 in}}
"""
ROLLER_EIGHT = """
build: Street machine going to hydraulic rollers (invented)
cylinders: "8"
parts:
  engine: {claimed: {by: owner, use: road, wanted_power_speed: 6000 rpm}}
  block: {claimed: {by: owner, bore: 4.000 in}}
  head: {claimed: {by: page, is_new: "yes", material: aluminium, rocker_mounting: stud}}
  spring: {claimed: {by: page, load_1: 130 lbf, load_1_height: 1.800 in, rated_lift: 0.540 in}}
  cam: {claimed: {by: cam card, rated_valve_lift: 0.560 in, rated_ratio: "1.6"}}
  lifter: {claimed: {by: box, type: hydraulic_roller}}
"""
BUYERS = {"eight": HYDRAULIC_FLAT_EIGHT, "six": USED_SIX, "roller": ROLLER_EIGHT}
DEMOS = ("work_truck", "service_boat", "hill_climb_four")


def _check(name: str, knowledge: Knowledge) -> BuildCheck:
    if name in BUYERS:
        return check_build(read_build(f"{name}.yaml", knowledge, BUYERS[name]), knowledge)
    return check_build(read_build(demo_folder() / name / "build.yaml", knowledge), knowledge)


def _file(name: str, folder: Path) -> str:
    path = folder / f"{name}.yaml"
    path.write_text(BUYERS[name], "utf-8")
    return str(path)


@pytest.mark.parametrize("name", BUYERS)
def test_the_short_answer_stands_on_the_first_twelve_lines(name, tmp_path, capsys):
    assert main(["check", _file(name, tmp_path)]) == UNDECIDED
    first = capsys.readouterr().out.splitlines()[:MOST_LINES]
    assert "" in first  # the line after the last answer
    answers = first[1 : first.index("")]
    asked = [line for line in answers if not line.startswith(" ")]
    if asked[-1].startswith("It comes out at:"):
        asked.pop()  # what follows from the page's own figures
    assert len(asked) == 9
    assert all(re.match(r"[A-Z][a-z, ]+: +\S", line) for line in asked)


@pytest.mark.parametrize("name", [*BUYERS, *DEMOS])
def test_not_more_than_twelve_figures_are_asked_for(name, knowledge):
    story = Story(_check(name, knowledge), "inch")
    asked = {ask.title for ask in story.asks[:MOST_ASKED]}
    for answer in story.answers:
        asked |= set(re.findall(r"ask for (.+?)(?:,| \(|$)", answer.words))
    assert MOST_ASKED <= len(asked) <= MOST_ASKS


@pytest.mark.parametrize("name", BUYERS)
def test_what_a_makers_word_would_silence_is_no_figure_to_ask_for(name, knowledge):
    """That a spring's maker asks for 0.040 in says nothing of where this spring goes solid."""
    story = Story(_check(name, knowledge), "inch")
    assert not any("coil-bind clearance its maker asks for" in ask.title for ask in story.asks)


def test_a_spring_for_less_lift_than_the_card_states_likely_does_not_do(
    knowledge, tmp_path, capsys
):
    """0.555 in of lift at least at 1.6 is 0.548 at 1.58: more than the 0.540 it is made for."""
    check = _check("roller", knowledge)
    (finding,) = (one for one in check.findings if one.rule.id == "lift_beyond_spring")
    assert finding.verdict is Verdict.UNMEASURED
    assert check.likelihoods.standing(finding) is Likely.CLASHES
    main(["explain", _file("roller", tmp_path), "lift_beyond_spring"])
    told = capsys.readouterr().out
    assert "If the rest is as usual: likely clashes." in told
    assert "0.548..0.573 in, wanted at most 0.540 in" in told
    assert "rocker ratio 1.58..1.62, usual: the card's ratio" in " ".join(told.split())


@pytest.mark.parametrize(
    ("name", "rule", "usual"),
    [
        ("eight", "insert_loose_when_cold", ("counterbore for the seat insert", "press as fitted")),
        ("six", "cam_tight_in_bearing", ("smallest cam bearing bore", "new bearings")),
    ],
)
def test_a_likely_answer_names_the_usual_figures_it_rests_on(name, rule, usual, tmp_path, capsys):
    main(["explain", _file(name, tmp_path), rule])
    told = " ".join(capsys.readouterr().out.split())
    assert "If the rest is as usual: likely fits." in told
    assert all(words in told for words in usual)
