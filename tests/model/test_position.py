"""Positions in an engine, selectors that point at them, and groups in a few words."""

import pytest

from fitcheck.model import EVERYWHERE, LEVELS, Layout, Position, Selector, group_name

V8 = Layout(8, (("left", (1, 3, 5, 7)), ("right", (2, 4, 6, 8))))
FOUR = Layout(4)
LEFT_3_EXHAUST = Position("left", 3, "exhaust")


def test_how_many_places_an_engine_has():
    assert [len(V8.positions(each)) for each in LEVELS] == [1, 2, 8, 16]
    assert [len(FOUR.positions(each)) for each in LEVELS] == [1, 1, 4, 8]


def test_each_cylinder_knows_its_bank():
    assert V8.bank_of(3) == "left"
    assert V8.bank_of(8) == "right"
    assert V8.bank_of(9) is None
    assert FOUR.bank_of(3) is None


def test_valves_come_in_the_order_of_cylinders():
    assert list(map(str, FOUR.positions("valve")))[:3] == [
        "cylinder 1 intake",
        "cylinder 1 exhaust",
        "cylinder 2 intake",
    ]


@pytest.mark.parametrize(
    ("position", "words"),
    [
        (Position(), "the engine"),
        (Position("left"), "bank left"),
        (Position("left", 3), "cylinder 3"),
        (LEFT_3_EXHAUST, "cylinder 3 exhaust"),
    ],
)
def test_a_position_in_words(position, words):
    assert str(position) == words


@pytest.mark.parametrize(
    ("text", "selector"),
    [
        ("all", EVERYWHERE),
        ("exhaust", Selector(side="exhaust")),
        ("exhausts", Selector(side="exhaust")),
        ("intakes", Selector(side="intake")),
        ("3", Selector(cylinder=3)),
        ("cylinder 3", Selector(cylinder=3)),
        ("cylinder 12 intake", Selector(cylinder=12, side="intake")),
        ("3 exhaust", Selector(cylinder=3, side="exhaust")),
        ("  3   exhaust ", Selector(cylinder=3, side="exhaust")),
        ("bank left", Selector(bank="left")),
        ("bank 1", Selector(bank="1")),
        ("bank left-hand intake", Selector("left-hand", None, "intake")),
        ("bank left 3 exhaust", Selector("left", 3, "exhaust")),
        ("bank left cylinder 3", Selector("left", 3)),
    ],
)
def test_a_selector_as_written(text, selector):
    assert Selector.read(text) == selector


@pytest.mark.parametrize(
    "text",
    [
        "",
        "  ",
        "every",
        "exhaust 3",
        "cylinder",
        "cylinder exhaust",
        "cylinder three",
        "bank",
        "left",
        "3 4",
        "3,4",
        "-3",
        "123",
        "intake exhaust",
        "all exhaust",
        "3exhaust",
        "٣",
    ],
)
def test_what_is_no_selector(text):
    assert Selector.read(text) is None


@pytest.mark.parametrize(
    ("text", "covered"),
    [
        ("all", True),
        ("exhaust", True),
        ("intake", False),
        ("3", True),
        ("4", False),
        ("3 exhaust", True),
        ("3 intake", False),
        ("bank left", True),
        ("bank right", False),
        ("bank left exhaust", True),
        ("bank left intake", False),
        ("0", False),
    ],
)
def test_which_selectors_cover_the_exhaust_valve_of_cylinder_3(text, covered):
    assert Selector.read(text).covers(LEFT_3_EXHAUST) is covered


def test_a_selector_of_a_valve_covers_no_whole_cylinder():
    assert not Selector.read("3 exhaust").covers(Position("left", 3))
    assert not Selector.read("3").covers(Position("left"))


def test_of_two_selectors_the_one_that_covers_fewer_valves_weighs_more():
    texts = ["all", "exhaust", "bank left", "bank left exhaust", "3", "3 exhaust"]
    selectors = list(map(Selector.read, texts))
    assert [s.weight for s in selectors] == sorted(s.weight for s in selectors)
    covered = [sum(map(s.covers, V8.positions("valve"))) for s in selectors]
    assert covered == sorted(covered, reverse=True) == [16, 8, 8, 4, 2, 1]


def valves(text, layout=V8):
    return [p for p in layout.positions("valve") if Selector.read(text).covers(p)]


@pytest.mark.parametrize(
    ("positions", "words"),
    [
        (V8.positions("engine"), "the engine"),
        (V8.positions("bank"), "both banks"),
        (V8.positions("bank")[:1], "bank left"),
        (V8.positions("cylinder"), "all cylinders"),
        (V8.positions("cylinder")[1:3], "cylinders 2, 3"),
        (V8.positions("cylinder")[4:5], "cylinder 5"),
        (V8.positions("valve"), "all valves"),
        (valves("exhaust"), "all exhausts"),
        (valves("3 exhaust"), "cylinder 3 exhaust"),
        (valves("3"), "both valves of cylinder 3"),
        (valves("3") + valves("5"), "both valves of cylinders 3, 5"),
        (valves("3 exhaust") + valves("5 exhaust"), "exhausts of 3, 5"),
        (valves("bank left intake"), "intakes of 1, 3, 5, 7"),
        (valves("intake") + valves("2 exhaust"), "all intakes and exhaust of 2"),
    ],
)
def test_a_group_in_a_few_words(positions, words):
    assert group_name(positions, V8) == words


def test_banks_of_an_engine_with_more_than_two():
    three = Layout(6, (("left", (1, 2)), ("middle", (3, 4)), ("right", (5, 6))))
    assert group_name(three.positions("bank"), three) == "all banks"
    assert group_name(three.positions("bank")[1:], three) == "banks middle, right"
