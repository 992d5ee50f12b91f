"""Places in files, and problems told there."""

import pickle

import pytest

from fitcheck.source import BadInput, Place, Problem, Source, Text, nearest

SOURCE = Source("truck.yaml", "spring:\n  rate: 345 lbf\n")


def test_a_place_names_file_line_and_column():
    assert str(Place(SOURCE, 2, 9, 7)) == "truck.yaml:2:9"


def test_the_caret_stands_under_the_piece():
    assert Place(SOURCE, 2, 9, 7).caret().splitlines() == ["  rate: 345 lbf", "        ^^^^^^^"]


def test_a_shifted_place_points_into_the_piece():
    assert Place(SOURCE, 2, 9, 7).shifted(4, 3).caret().splitlines()[1] == "            ^^^"


def test_a_long_line_is_cut_around_the_piece():
    line = "x" * 500 + "HERE" + "y" * 500
    shown, carets = Place(Source("long.yaml", line), 1, 501, 4).caret().splitlines()
    assert len(shown) == 100
    assert shown[carets.index("^") : carets.rindex("^") + 1] == "HERE"


def test_the_caret_never_runs_past_the_line():
    shown, carets = Place(Source("a.yaml", "bore: 4"), 1, 7, 99).caret().splitlines()
    assert (shown, carets) == ("bore: 4", "      ^")


def test_a_tab_takes_one_column():
    assert Place(Source("a.yaml", "\trate: 5"), 1, 2, 4).caret() == " rate: 5\n ^^^^"


@pytest.mark.parametrize("line", [0, 3, 99])
def test_a_line_that_is_not_there_is_empty(line):
    assert SOURCE.line(line) == ""
    assert Place(SOURCE, line, 1).caret() == "\n^"


def test_a_problem_says_where_what_and_how_to_mend_it():
    problem = Problem("rate is a force over a length", Place(SOURCE, 2, 13, 3), "write lbf/in")
    assert str(problem).splitlines() == [
        "truck.yaml:2:13: rate is a force over a length",
        "      rate: 345 lbf",
        "                ^^^",
        "  write lbf/in",
    ]


def test_a_problem_with_a_file_that_was_not_read_shows_no_line():
    assert (
        str(Problem("the file is empty", Place(Source("a.yaml", ""))))
        == "a.yaml:1:1: the file is empty"
    )


def test_bad_input_tells_all_problems_and_ends_a_command_with_2():
    error = BadInput([Problem("one"), Problem("other")])
    assert str(error) == "one\nother"
    assert error.exit_code == 2


@pytest.mark.parametrize(
    ("word", "known", "said"),
    [
        ("sprnig", ["spring", "valve"], "did you mean 'spring'?"),
        ("Spring", ["spring", "valve"], "did you mean 'spring'?"),
        ("zzz", ["spring", "valve"], "one of: spring, valve"),
        ("zzz", [], "no name is known here"),
    ],
)
def test_the_nearest_name_is_offered(word, known, said):
    assert nearest(word, known) == said


def test_what_is_kept_between_runs_are_the_words_alone():
    text = Text("0.550 in", Place(SOURCE, 2, 9, 7))
    assert type(pickle.loads(pickle.dumps(text))) is str
    assert pickle.loads(pickle.dumps(SOURCE)) == Source("truck.yaml", "")
