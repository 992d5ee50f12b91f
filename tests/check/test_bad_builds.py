"""Hostile and mistyped build files: every problem in one run, with its place, at once."""

from __future__ import annotations

from time import process_time
from typing import NamedTuple

import pytest

from fitcheck.check import read_build
from fitcheck.check.one_figure import ONE
from fitcheck.check.printed import _PAIR
from fitcheck.check.printed_one import _SPAN
from fitcheck.source import BadInput, Problem
from fitcheck.source.place import MOST_PROBLEMS

MOST_SECONDS = 0.1
HEAD = 'build: a try\ncylinders: "4"\n'


class Bad(NamedTuple):
    """A build file and what is told of it: (line, what stands under the carets, what is wrong)."""

    text: str
    told: list[tuple[int, str, str]]


def _parts(text: str) -> str:
    return f"{HEAD}parts:\n{text}"


BOMB = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{new}: &{new} [{', '.join([f'*{old}'] * 9)}]\n"
    for old, new in zip("abcdefgh", "bcdefghi", strict=True)
)

BAD = {
    "unknown part class": Bad(
        _parts("  sprnig: {}\n  camm: {}\n"),
        [
            (4, "sprnig", "there is no part class 'sprnig'"),
            (5, "camm", "there is no part class 'camm'"),
        ],
    ),
    "unknown attribute and option": Bad(
        _parts("  spring:\n    claimed: {installed_hight: 1.7 in, shape: behive}\n"),
        [
            (5, "installed_hight", "a valve spring has no attribute 'installed_hight'"),
            (5, "behive", "'behive' is no option of shape"),
        ],
    ),
    "unknown keys": Bad(
        "build: a try\ncylinder: 4\nparts:\n  spring:\n    measurd: {}\n    claimed: {rate: 3 in}\n",
        [
            (1, "b", "the key 'cylinders' is missing"),
            (2, "cylinder", "the key 'cylinder' is not known here"),
            (5, "measurd", "the key 'measurd' is not known here"),
            (6, "in", "spring rate: 'in' is a unit of length, and rate is wanted here"),
        ],
    ),
    "missing and unknown unit": Bad(
        _parts("  spring:\n    measured: {open_load: 300, seat_load: 90 lbz}\n"),
        [
            (5, "300", "open load: '300' has no unit"),
            (5, "lbz", "seat load: the unit 'lbz' is not known"),
        ],
    ),
    "numbers that are none": Bad(
        _parts(
            "  spring:\n    measured: {installed_height: about 1.7 in, rate: 1e400 lbf/in, "
            "seat_load: 1/0 lbf, open_load: 9**9**9, free_length: nan}\n"
        ),
        [
            (5, "about 1.7 in", "installed height: 'about 1.7 in' does not start with a number"),
            (5, "e400 lbf/in", "spring rate: the unit 'e400 lbf/in' is not known"),
            (5, "1/0", "seat load: a fraction over zero"),
            (5, "**9**9", "open load: the unit '**9**9' is not known"),
            (5, "nan", "free length: 'nan' does not start with a number"),
        ],
    ),
    "a tenth of the figure": Bad(
        _parts("  spring:\n    measured: {installed_height: 0.19 in}\n"),
        [
            (
                5,
                "0.19 in",
                "installed height of 0.19 in is outside 1.000..2.600 in, the range that "
                "is plausible for it",
            )
        ],
    ),
    "duplicate keys": Bad(
        _parts("  spring: {}\n  cam: {}\n  spring: {}\n"),
        [(6, "spring", "'spring' is given twice; first in line 4")],
    ),
    "a part listed twice": Bad(
        _parts("  head:\n    contains:\n      spring: {}\n  spring: {}\n"),
        [(7, "spring", "'spring' is listed twice: it stands already at bad.yaml:6:7")],
    ),
    "instead of what does not come": Bad(
        _parts(
            "  head: {contains: {valve: {}}}\n  spring: {instead of: head}\n"
            "  valve: {instead of: block}\n"
        ),
        [
            (5, "head", "no spring comes with a head in this build"),
            (6, "block", "no valve comes with a block in this build"),
        ],
    ),
    "positions that do not exist": Bad(
        _parts(
            "  spring:\n    measured:\n      rate: {9 exhaust: 300 lbf/in, inlet: 300 lbf/in,"
            " bank left: 300 lbf/in}\n  block: {measured: {main_journals: {intake: 5}}}\n"
        ),
        [
            (6, "9 exhaust", "there is no position '9 exhaust' in this engine"),
            (6, "inlet", "'inlet' names no position"),
            (6, "bank left", "there is no position 'bank left' in this engine"),
            (7, "main_journals", "a cylinder block has no attribute 'main_journals'"),
        ],
    ),
    "sides where there are none": Bad(
        _parts(
            "  head:\n    intake: {}\n  valve:\n    intake: {measured: "
            "{stem_diameter: {exhaust: 0.3410 in}}}\n    other: {}\n"
        ),
        [
            (5, "intake", "'head' is not a part for each valve"),
            (7, "stem_diameter", "a value for the exhaust beneath intake"),
            (8, "other", "'other' beside intake and exhaust"),
        ],
    ),
    "bad dates": Bad(
        _parts(
            "  spring:\n    measured: {when: 10/03/2026, rate: 300 lbf/in}\n"
            "  cam:\n    claimed: {when: 2026-02-30, by: [me]}\n"
        ),
        [
            (5, "10/03/2026", "'10/03/2026' is no date"),
            (7, "2026-02-30", "'2026-02-30' is no date"),
            (7, "[", "'by' is plain text"),
        ],
    ),
    "cylinders and banks": Bad(
        'build: a try\ncylinders: "4"\nbanks: {left: ["1", "2"], right: ["2", "3"]}\nparts:\n'
        "  spring: {measured: {rate: {bank left: 9 lbf/in}}}\n",
        [
            (3, "left", "the banks do not hold cylinders 1 to 4 once each"),
            (
                5,
                "9 lbf/in",
                "spring rate of 9 lbf/in is outside 50..1400 lbf/in, the range that is "
                "plausible for it",
            ),
        ],
    ),
    "cylinders that are none": Bad(
        "build: a try\ncylinders: 999999999999\nparts:\n  spring: {measured: {rate: {8 exhaust: "
        "x}}}\n",
        [
            (2, "999999999999", "'999999999999' is no number of cylinders from 1 to 24"),
            (4, "x", "spring rate: 'x' does not start with a number"),
        ],
    ),
    "wrong types": Bad(
        "build: [a, try]\ncylinders: {}\nparts:\n  spring: some\n  cam: [a]\n  head: {claimed: yes,"
        " contains: [spring]}\n  valve: {measured: {head_diameter: [1.9 in]}}\n",
        [
            (1, "[", "plain text is wanted here"),
            (2, "{", "plain text is wanted here"),
            (4, "some", "'spring' needs what is known of the part"),
            (5, "[", "'cam' needs what is known of the part"),
            (6, "yes", "'claimed' holds attributes and their values"),
            (6, "[", "'contains' holds parts, one level deep"),
            (7, "[", "'head diameter' is one value"),
        ],
    ),
    "parts within parts": Bad(
        _parts("  head: {contains: {spring: {contains: {cam: {}}}}}\n"),
        [(4, "{", "'contains' holds parts, one level deep")],
    ),
    "a list for a file": Bad(
        "- spring\n- cam\n", [(1, "-", "a build file starts with keys such as build: and parts:")]
    ),
    "a word for a file": Bad(
        "spring\n", [(1, "spring", "a build file starts with keys such as build: and parts:")]
    ),
    "nothing in the file": Bad("# nothing\n", [(1, "#", "the file is empty")]),
    "aliases": Bad(
        _parts("  spring: &s {claimed: {shape: beehive}}\n  valve: *s\n"),
        [(4, "&s", "anchors are not read"), (5, "*s", "aliases are not read")],
    ),
    "merge keys and tags": Bad(
        _parts("  spring: {<<: {}, name: !!python/object:os.system x}\n"),
        [
            (4, "<<", "the key '<<' is not known here"),
            (4, "!!python/object:os.system x", "the tag !!python/object:os.system is not read"),
        ],
    ),
    "broken syntax": Bad(
        _parts("  spring: {claimed: {shape: beehive}\n"),
        [(4, "{", "not readable as YAML: did not find expected ',' or '}'")],
    ),
    "tabs": Bad(_parts("\tspring: {}\n"), [(4, " ", "a tab can't stand here")]),
    "control characters": Bad(
        _parts("  spring: {name: a\x00b}\n"),
        [(4, "\x00", "the character '\\x00' can't stand in a text file")],
    ),
    "two documents": Bad(
        _parts("  spring: {}\n---\nbuild: b\n"), [(5, "---", "a second document starts here")]
    ),
}


def _problems(knowledge, path, text=None) -> list[Problem]:
    """What is told; the best of three readings is quick."""
    times = []
    for _ in range(3):
        start = process_time()
        with pytest.raises(BadInput) as told:
            read_build(path, knowledge, text)
        times.append(process_time() - start)
    assert min(times) < MOST_SECONDS
    return told.value.problems


def _marked(problem: Problem) -> str:
    line, carets = problem.place.caret().split("\n")
    return line[carets.index("^") : len(carets)]


@pytest.mark.parametrize("bad", BAD.values(), ids=BAD)
def test_every_problem_is_told_with_its_place(bad, knowledge):
    problems = _problems(knowledge, "bad.yaml", bad.text)
    told = [(problem.place.line, _marked(problem), problem.what) for problem in problems]
    wanted = sorted(bad.told)
    # A piece of a line is told by how it starts where the parser marks more of it.
    assert [(line, what) for line, _, what in sorted(told)] == [
        (line, what) for line, _, what in wanted
    ]
    for (_, marked, what), (_, piece, _) in zip(sorted(told), wanted, strict=True):
        assert marked.startswith(piece), what
    assert [problem.place.line for problem in problems] == sorted(line for line, *_ in told)
    for problem in problems:
        text = str(problem)
        assert text.startswith(f"bad.yaml:{problem.place.line}:{problem.place.column}: ")
        assert "^" in text


def test_an_alias_bomb_is_not_expanded(knowledge):
    problems = _problems(knowledge, "bomb.yaml", BOMB + HEAD + "parts: *i\n")
    assert {problem.what for problem in problems} >= {
        "anchors are not read",
        "aliases are not read",
    }


def test_deep_nesting_stops_at_its_bound(knowledge):
    for opening in ("[", "{a: "):
        (problem,) = _problems(knowledge, "deep.yaml", HEAD + "parts: " + opening * 900)
        assert problem.what == "values are nested more than 24 deep"
        assert problem.place.line == 3
        # Far past it the parser itself refuses first.
        (problem,) = _problems(knowledge, "deep.yaml", HEAD + "parts: " + opening * 20_000)
        assert "nest" in problem.what


@pytest.mark.parametrize("size", [5_000_000, 50_000_000])
def test_a_huge_file_is_not_read(size, knowledge, tmp_path):
    path = tmp_path / "huge.yaml"
    with path.open("wb") as file:
        file.truncate(size)
    (problem,) = _problems(knowledge, path)
    assert problem.what == "the file is larger than 4,000,000 bytes"
    (problem,) = _problems(knowledge, "huge.yaml", " " * size)
    assert problem.what == "the file is longer than 4,000,000 characters"


def test_thousands_of_problems_are_told_shortly(knowledge):
    text = _parts("".join(f"  part_{n}: {{}}\n" for n in range(200)))
    *told, last = _problems(knowledge, "many.yaml", text)
    assert len(told) == MOST_PROBLEMS
    assert [problem.place.line for problem in told] == list(range(4, 4 + MOST_PROBLEMS))
    assert last.what == "what else is wrong is left untold"


@pytest.mark.parametrize("top", ["", "parts:\n  spring:\n", "parts:\n  spring:\n    maker_asks:\n"])
def test_what_is_wrong_anywhere_is_told_of_so_much_and_no_more(top, knowledge):
    deeper = " " * (2 * top.count("\n"))
    text = f"build: a\ncylinders: '6'\n{top}"
    text += f"{deeper}by: me\n" + "".join(f"{deeper}oddity {n}: x\n" for n in range(1000))
    assert len(_problems(knowledge, "many.yaml", text)) == MOST_PROBLEMS + 1


@pytest.mark.parametrize(
    ("make", "what"),
    [
        (lambda path: path.mkdir(), "the file can't be read: is a directory"),
        (
            lambda path: path.write_bytes(b"\x89PNG\r\n\x1a\n\x00\x00"),
            "the file is not UTF-8 text (byte 0)",
        ),
        (lambda path: path.write_bytes(b"build: \xff\n"), "the file is not UTF-8 text (byte 7)"),
        (lambda path: None, "the file can't be read: no such file or directory"),
        (
            lambda path: path.symlink_to(path),
            "the file can't be read: too many levels of symbolic links",
        ),
        (lambda path: path.symlink_to("/dev/null"), "the file is empty"),
    ],
    ids=["directory", "picture", "other encoding", "missing", "link to itself", "null device"],
)
def test_what_is_no_file_of_text(make, what, knowledge, tmp_path):
    path = tmp_path / "build.yaml"
    make(path)
    (problem,) = _problems(knowledge, path)
    assert problem.what == what
    assert str(problem).startswith(f"{path}:1:1: ")


def test_a_good_build_is_read(knowledge):
    build = read_build(
        "good.yaml",
        knowledge,
        _parts(
            "  head: {contains: {spring: {claimed: {rate: 250 lbf/in}}}}\n"
            "  spring: {instead of: head, measured: {rate: {exhaust: 300 lbf/in}}}\n"
            "  shim: none\n"
        ),
    )
    (statement,) = build.statements()
    assert statement.attribute.name == "spring.rate"
    assert statement.selector.side == "exhaust"
    assert build.absent == {"shim"}


@pytest.mark.parametrize(
    "typed", ["9" * 60_000, "9 " * 30_000, "9/" * 30_000, "9" + " " * 60_000 + "x"]
)
def test_a_figure_of_any_length_is_told_and_not_tried_for_hours(knowledge, typed):
    """A pattern tried every way to part the digits: 4 000 took two seconds, 60 000 over eight minutes."""
    text = f'build: a\ncylinders: "2"\nparts:\n  rocker: {{claimed: {{ratio: "{typed}"}}}}\n'
    with pytest.raises(BadInput, match=r"b\.yaml:4:30"):
        read_build("b.yaml", knowledge, text)


@pytest.mark.parametrize("end", ["!", "+", " 5!", "/ft!"])
def test_a_long_word_that_is_no_unit_is_refused_as_soon_as_a_short_one(end):
    """A pattern that can part a word in many ways tries all of them: 2 to the 5000th."""
    for pattern in (ONE, _SPAN, _PAIR):
        assert pattern.fullmatch(f"300 lbf{'x' * 5000}{end}") is None
    assert ONE.fullmatch("45.4 N/mm") and ONE.fullmatch("8 lbf-in.") and ONE.fullmatch("16 mm2")
