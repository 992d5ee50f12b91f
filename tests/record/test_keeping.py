"""Figures typed one by one: what the build file says after, and that the rest of it is left alone."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date

import pytest

from fitcheck.check import check_build, read_build, recheck
from fitcheck.check.records.filled import meaning
from fitcheck.check.records.keeping import Saying, ToKeep, drafted, held, keep, typed
from fitcheck.model import EVERYWHERE, Evidence, Origin, Selector
from fitcheck.source import BadInput
from fitcheck.source.rewrite import read_original, undo
from tests.record.builds import BUILD, written

PAGE, ME = Origin("seller's page"), Origin("me", date(2026, 3, 9), "caliper")
ON_PAPER, MEASURED = (Evidence.CLAIMED, PAGE), (Evidence.MEASURED, ME)


@pytest.fixture
def path(tmp_path):
    return written(tmp_path)


class Typing:
    """Types figures into a build file."""

    def __init__(self, path, knowledge):
        self.path, self.knowledge = path, knowledge

    def said(self, name, value, said=ON_PAPER, where="all"):
        layout = read_build(self.path, self.knowledge).layout
        return typed(self.knowledge.attributes[name], where, value, *said, layout, self.knowledge)

    def type(self, name, value, said=ON_PAPER, where="all"):
        return self.keep(Saying(name, self.said(name, value, said, where)))

    def keep(self, *changes, **wanted):
        asked = ToKeep(changes, **wanted)
        return keep(read_original(self.path), self.path, asked, self.knowledge)

    def held(self, name, where=EVERYWHERE):
        build = read_build(self.path, self.knowledge)
        found = held(build, self.knowledge.attributes[name], where)
        return found and (getattr(found.value, "text", found.value), str(found.origin))


@pytest.fixture
def typing(path, knowledge):
    return Typing(path, knowledge)


def _remarks(text):
    return [line[line.index("#") :] for line in text.splitlines() if "#" in line]


def test_a_figure_that_stands_there_is_changed_where_it_stands(typing, path):
    typing.type("spring.seat_load", "110 lbf", (Evidence.CLAIMED, Origin()))
    assert path.read_text() == BUILD.replace("seat_load: 105 lbf", "seat_load: 110 lbf")


def test_a_figure_of_somebody_else_is_added_beside_it(typing, path):
    typing.type("spring.seat_load", "110 lbf")
    text = path.read_text()
    assert "seat_load: 105 lbf" in text
    assert _remarks(text) == _remarks(BUILD)
    assert typing.held("spring.seat_load") == ("110 lbf", "by seller's page")


def test_figures_of_one_page_stand_together(typing, path):
    typing.type("spring.rate", "270 lbf/in")
    typing.type("spring.coil_bind_height", "1.100")
    typing.type("spring.outside_diameter", "1.250 in")
    text = path.read_text()
    assert text.count("seller's page") == BUILD.count("seller's page") + 1
    assert typing.held("spring.coil_bind_height")[0] == "1.100 in"


def test_readings_of_one_day_and_instrument_stand_together(typing, path):
    for number, reading in enumerate(("1.701", "1.702", "1.703"), 1):
        typing.type("spring.installed_height", f"{reading} in", MEASURED, f"{number} intake")
    text = path.read_text()
    assert text.count("caliper") == 1
    for number in (1, 2, 3):
        assert typing.held("spring.installed_height", Selector(None, number, "intake")) == (
            f"1.70{number} in",
            "by me, on 2026-03-09, with caliper",
        )
    # An older reading is never written over by a newer one.
    assert "installed_height: {3 exhaust: 1.690 in}" in text


def test_a_part_that_is_not_listed_gets_its_place(typing, path, knowledge):
    typing.type("rocker.ratio", "1.52")
    assert typing.held("rocker.ratio") == ("1.52", "by seller's page")
    typing.keep(absent=("shim",))
    assert "shim" in read_build(path, knowledge).absent
    typing.type("shim.thickness", "0.030 in", MEASURED)
    assert typing.held("shim.thickness")[0] == "0.030 in"
    assert _remarks(path.read_text()) == _remarks(BUILD)


def test_a_part_with_all_its_figures_can_be_left_out(typing, path, knowledge):
    typing.keep(absent=("seal",))
    typing.type("seal.height", "0.300 in")
    typing.keep(absent=("seal",))
    build = read_build(path, knowledge)
    assert "seal" in build.absent and "seal" not in build.parts


def test_a_printed_pair_is_kept_as_the_figures_it_says(typing):
    typing.type("spring.load_1", "125 lbs @ 1.800")
    assert typing.held("spring.load_1")[0].startswith("125")
    assert typing.held("spring.load_1_height")[0].startswith("1.800")


def test_one_of_a_printed_pair_can_change_without_the_other(typing, path):
    path.write_text(BUILD.replace("seat_load: 105 lbf", "load_1: 125 lbs @ 1.800"))
    typing.type("spring.load_1", "130 lbf", (Evidence.CLAIMED, Origin()))
    assert typing.held("spring.load_1")[0] == "130 lbf"
    assert typing.held("spring.load_1_height")[0].startswith("1.800")


def test_a_figure_can_be_taken_back(typing, path, knowledge):
    attribute = knowledge.attributes["spring.seat_load"]
    said = held(read_build(path, knowledge), attribute, EVERYWHERE)
    typing.keep(Saying("x", gone=(said,)))
    assert typing.held("spring.seat_load") is None
    assert path.read_text() == BUILD.replace("          seat_load: 105 lbf\n", "")
    undo(path)
    assert path.read_text() == BUILD


def test_what_the_file_does_not_take_is_told_and_the_rest_is_kept(typing, knowledge):
    good = Saying("good", typing.said("spring.rate", "270 lbf/in"))
    # A sign that contradicts the crown beside it is asked back, never turned.
    typing.type("piston.crown", "dished")
    bad = Saying("bad", typing.said("piston.crown_volume", "-12 cc"))
    done = typing.keep(good, bad)
    assert [change.name for change in done.done] == ["good"]
    assert [(change.name, bool(problem.mend)) for change, problem in done.refused] == [
        ("bad", True)
    ]
    assert typing.held("spring.rate")[0] == "270 lbf/in"


@pytest.mark.parametrize(
    ("name", "value", "what"),
    [
        ("spring.installed_height", "17 in", "plausible"),
        ("spring.installed_height", "1.7 lbf", "inches"),
        ("spring.installed_height", "about so", ""),
        ("head.material", "cheese", "cheese"),
        ("spring.rate", "9**9**9", ""),
    ],
)
def test_a_value_that_cannot_be_is_refused_with_what_to_write(typing, path, name, value, what):
    with pytest.raises(BadInput) as refused:
        typing.said(name, value)
    (problem, *_) = refused.value.problems
    assert problem.mend and problem.place is None
    assert path.read_text() == BUILD


@pytest.mark.parametrize("nasty", ['a" b', "x: y # z", "'; drop", "- a", "[1]", "{a: b}", "é ü"])
def test_who_says_so_may_be_called_anything(typing, path, nasty):
    typing.type("spring.rate", "270 lbf/in", (Evidence.CLAIMED, Origin(nasty)))
    assert typing.held("spring.rate") == ("270 lbf/in", f"by {nasty}")


def test_a_change_of_the_build_itself(typing, path, knowledge):
    typing.keep(top={"build": "another: name", "about": "two words", "cylinders": "6"})
    build = read_build(path, knowledge)
    assert (build.title, build.about, build.layout.cylinders) == ("another: name", "two words", 6)
    assert _remarks(path.read_text()) == _remarks(BUILD)


FIGURES = {
    "spring.rate": ["270 lbf/in", "48 N/mm"],
    "spring.installed_height": ["1.700 in", "43.2 mm"],
    "spring.load_1": ["120 lbf", "125 lbs @ 1.800"],
    "valve.stem_diameter": ["0.3410 in", "11/32 in"],
    "head.chamber_volume": ["64.5 cc"],
    "rocker.ratio": ["1.6", "1.52"],
    "lifter.type": ["solid_flat", "hydraulic roller"],
    "head.sold_for_followers": ["[hydraulic_flat]", "hydraulic flat, solid flat"],
}
PLACES = {"valve": ("all", "intake", "3 exhaust"), "cylinder": ("all", "cylinder 2")}


@pytest.mark.parametrize("seed", range(6))
def test_what_is_typed_at_random_is_what_the_file_says(typing, path, knowledge, seed):
    """The draft that answers while somebody types says the same as the file does once it is kept."""
    random.seed(seed)
    for _ in range(8):
        name = random.choice(list(FIGURES))
        attribute = knowledge.attributes[name]
        where = random.choice(PLACES.get(attribute.each, ("all",)))
        said = random.choice((ON_PAPER, MEASURED, (Evidence.ASSUMED, Origin("me"))))
        change = Saying(name, typing.said(name, random.choice(FIGURES[name]), said, where))
        build = read_build(path, knowledge)
        if random.random() < 0.3 and (old := random.choice(build.statements())).place:
            change = Saying("gone", gone=(old,))
        draft, _ = drafted(build, [change], knowledge)
        (done, *_) = typing.keep(change).done
        assert done is change
        after = Counter(map(meaning, read_build(path, knowledge).statements()))
        # Of a part with an entry for each side the file says for both what is said of all.
        assert set(_spread(draft.statements(), build)) == set(_spread_of(after, build))
    assert _remarks(path.read_text())[-1] == "# the end"


def _spread(statements, build):
    return _spread_of(map(meaning, statements), build)


def _spread_of(meanings, build):
    for name, selector, *rest in meanings:
        sides = ("intake", "exhaust") if name.startswith("valve.") and not selector.side else (0,)
        for side in sides:
            own = Selector(selector.bank, selector.cylinder, side) if side else selector
            yield (name, own, *rest)


def test_a_draft_is_checked_again_as_the_file_will_be(typing, path, knowledge):
    """Checking again what a draft touches gives what checking all of it gives."""
    before = check_build(read_build(path, knowledge), knowledge)
    change = Saying("x", typing.said("spring.coil_bind_height", "1.400 in"))
    build, touched = drafted(before.build, [change], knowledge)
    again, anew = recheck(before, build, touched), check_build(build, knowledge)
    assert [(one.rule.id, one.verdict) for one in again.findings] == [
        (one.rule.id, one.verdict) for one in anew.findings
    ]
