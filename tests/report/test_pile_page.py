"""The page of a pile: what goes together stands first, soundly built, whatever names parts bear."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from fitcheck.check import read_build
from fitcheck.check.measuring.asks import MissingFigures
from fitcheck.cli.main import main
from fitcheck.plan.order import order
from fitcheck.report.html.pile import pile_page
from fitcheck.screen.identify import Identified
from fitcheck.screen.pile import read_pile, sort_pile
from tests.report.measuring import NEEDS_BROWSER, barriers, faults
from tests.report.test_pages import PAYLOADS, Tree, keeps_to_itself, shape, soundly_built
from tests.report.test_plan_pages import quoted

DAY = date(2026, 3, 9)
BUILD = """build: {words}
cylinders: "1"
parts:
  valve: {{measured: {{stem_diameter: 0.3415 in}}}}
  retainer: {{}}
  locks: {{}}
"""
# Locks of 10 degrees go with no retainer here, and locks for another stem with no valve.
PILE = """pile: {words}
about: {words}
parts:
  - retainer: {{name: {words}, measured: {{lock_angle: 7 deg}}}}
  - locks: {{name: {words}, unidentified: "yes", measured: {{angle: 7 deg}}}}
  - locks: {{name: {words}, measured: {{angle: 10 deg}}}}
  - locks: {{name: {words}, measured: {{angle: 7 deg, stem_diameter: 0.3710..0.3720 in}}}}
"""


@pytest.fixture(scope="module")
def few(knowledge):
    """The knowledge with the rules that tell these parts apart."""
    names = ("lock_angle_mismatch", "locks_wrong_stem")
    return knowledge.with_rules({name: knowledge.rules[name] for name in names})


def page_of(folder: Path, words: str, few) -> str:
    for name, text in (("build.yaml", BUILD), ("pile.yaml", PILE)):
        (folder / name).write_text(text.format(words=quoted(words)), encoding="utf-8")
    build = read_build(folder / "build.yaml", few)
    pile = read_pile(folder / "pile.yaml", build, few)
    found = sort_pile(pile, build, few)
    assert found.sets and found.useless
    best = found.sets[0]
    orders = {"spring": order(best.check.build, few, "spring")}
    unknown = [(entry, Identified(0, [], [])) for entry in pile.entries if entry.unidentified]
    assert len(unknown) == 1
    return pile_page(found, orders, unknown, MissingFigures(best.check), "inch", DAY)


@pytest.fixture(scope="module")
def plain(tmp_path_factory, few):
    return page_of(tmp_path_factory.mktemp("pile"), "plain", few)


def test_structure(plain):
    soundly_built(plain)
    keeps_to_itself(plain)
    text = Tree(plain).text
    order_of_it = ("What goes together", "To be bought", "Goes with nothing here", "Measure before")
    places = [text.index(words) for words in order_of_it]
    assert places == sorted(places)
    assert "different lock angles" in text and "made for another stem" in text


@pytest.mark.parametrize("payload", PAYLOADS)
def test_hostile_words_stay_words(payload, tmp_path, few, plain):
    tree = Tree(page_of(tmp_path, payload, few))
    assert shape(tree) == shape(Tree(plain))
    assert tree.text.count(" ".join(payload.split())) >= 5


def test_command(tmp_path, capsys):
    """One gear that suits any core: nothing to buy and little to ask."""
    build, pile, page = (tmp_path / name for name in ("build.yaml", "pile.yaml", "pile.html"))
    build.write_text("build: b\ncylinders: '1'\nparts: {drive_gear: {}}\n", encoding="utf-8")
    gear = "  - drive_gear: {name: a bronze gear, measured: {material: bronze}}\n"
    pile.write_text(f"pile: a gear\nparts:\n{gear}", encoding="utf-8")
    assert main(["pile", str(build), str(pile), "--page", str(page)]) in (0, 3)
    assert "is written" in capsys.readouterr().out
    assert "a bronze gear" in page.read_text(encoding="utf-8")


@NEEDS_BROWSER
def test_it_lies_well_and_bars_no_one(plain, tmp_path):
    assert faults({"pile": plain}, tmp_path) == []
    assert barriers({"pile": plain}, tmp_path) == []
