"""YAML read strictly: every scalar stays text with its place, what could mislead is refused."""

from time import process_time

import pytest
import yaml as pyyaml

from fitcheck.source import Mapping, Sequence, Text, read_yaml
from fitcheck.source import yaml as strict
from fitcheck.source.yaml import MOST_BYTES, MOST_DEPTH


@pytest.fixture(params=["CBaseLoader", "BaseLoader"], autouse=True)
def parser(request, monkeypatch):
    """Both of the library's parsers: the one in C and the one it falls back on."""
    monkeypatch.setattr(strict, "_Loader", getattr(pyyaml, request.param))
    return request.param


def read(text):
    problems = []
    node = read_yaml("truck.yaml", problems, text)
    return node, [str(problem) for problem in problems]


def accepted(text):
    node, problems = read(text)
    assert problems == []
    return node


def refused(text):
    """The one problem of a text, in lines."""
    _, problems = read(text)
    assert len(problems) == 1, problems
    return problems[0].splitlines()


# What is read.


@pytest.mark.parametrize(
    "scalar",
    [
        "1:30",  # sexagesimal to other readers
        "010",
        "0x1F",
        "1e3",
        "1_000",
        ".5",
        "+5",
        "on",
        "off",
        "yes",
        "no",
        "y",
        "true",
        "null",
        "~",
        "2026-03-09",
        "=",
        "<<",
        "1.880..1.900 in",
        "5/16 in",
        ".inf",
        ".nan",
    ],
)
def test_a_scalar_stays_the_text_that_was_typed(scalar):
    node = accepted(f"value: {scalar}")
    assert node == {"value": scalar}
    assert type(node["value"]) is Text


def test_nothing_typed_is_empty_text():
    assert accepted("value:") == {"value": ""}


def test_mappings_and_lists_keep_their_order_and_places():
    node = accepted("build: truck\nparts:\n  - valve\n  - spring\n")
    assert list(node) == ["build", "parts"]
    assert isinstance(node, Mapping)
    assert isinstance(node["parts"], Sequence)
    assert node["parts"] == ["valve", "spring"]
    assert str(node["parts"].place) == "truck.yaml:3:3"
    assert str(node["parts"][1].place) == "truck.yaml:4:5"
    assert str(node.key("parts").place) == "truck.yaml:2:1"


@pytest.mark.parametrize(
    ("text", "place", "caret"),
    [
        ("rate: 345 lbf/in", "truck.yaml:1:7", "      ^^^^^^^^^^"),
        ('rate: "345 lbf/in"', "truck.yaml:1:7", "      ^^^^^^^^^^^^"),
        ("rate: '345 lbf/in'", "truck.yaml:1:7", "      ^^^^^^^^^^^^"),
        ("{about: x, rate: 345}", "truck.yaml:1:18", "                 ^^^"),
        ("# of the springs\nrate: 345", "truck.yaml:2:7", "      ^^^"),
        ("größe: 1\nrate: 345", "truck.yaml:2:7", "      ^^^"),
        ("{größe: µ, rate: 345}", "truck.yaml:1:18", "                 ^^^"),
        ("about: x\r\nrate: 345\r\n", "truck.yaml:2:7", "      ^^^"),
        ("rate: >-\n  345\n  lbf/in", "truck.yaml:1:7", "      ^"),
        ("\ufeffrate: 345", "truck.yaml:1:7", "      ^^^"),
    ],
)
def test_a_value_knows_its_place(text, place, caret):
    value = accepted(text)["rate"]
    assert str(value.place) == place
    if "\ufeff" not in text:
        assert value.place.caret().splitlines()[1] == caret


def test_a_folded_text_is_one_line():
    assert accepted("about: >-\n  two\n  lines\n") == {"about": "two lines"}


def test_brackets_within_a_text_are_just_text():
    many = "[" * 100
    assert accepted(f"about: 'see {many}'  # {many}") == {"about": f"see {many}"}


# What is refused: each with its place and what to do.


def test_a_key_given_twice():
    assert refused("bore: 4.00 in\nstroke: 3.48 in\nbore: 4.03 in") == [
        "truck.yaml:3:1: 'bore' is given twice; first in line 1",
        "    bore: 4.03 in",
        "    ^^^^",
        "  keep one of them",
    ]
    assert "'a' is given twice" in refused("{a: 1, a: 2}")[0]
    assert "'<<' is given twice" in refused("<<: {a: 1}\n<<: {b: 2}")[0]


def test_every_anchor_and_alias():
    _, problems = read("a: &bolt 1\nb: *bolt\nc: [*bolt]")
    assert [problem.splitlines()[::2] for problem in problems] == [
        ["truck.yaml:1:4: anchors are not read", "       ^^^^^^^"],
        ["truck.yaml:2:4: aliases are not read", "       ^^^^^"],
        ["truck.yaml:3:5: aliases are not read", "        ^^^^^"],
    ]


def test_an_alias_bomb_is_not_unfolded():
    levels = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    levels += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 12)]
    start = process_time()
    node, problems = read("\n".join(levels))
    assert process_time() - start < 0.1
    assert node["a11"] == []
    assert len(problems) == 12 + 11 * 9  # every anchor and every alias


@pytest.mark.parametrize(
    ("text", "tag"),
    [
        ("a: !!int 5", "!!int"),
        ("a: !bolt 5", "!bolt"),
        ("a: ! 5", "!"),
        ("!!map {a: 1}", "!!map"),
        ("a: !!python/object/apply:os.system [ls]", "!!python/object/apply:os.system"),
    ],
)
def test_a_tag(text, tag):
    assert f"the tag {tag} is not read" in refused(text)[0]


def test_a_second_document():
    assert refused("a: 1\n---\nb: 2")[:2] == [
        "truck.yaml:2:1: a second document starts here",
        "    ---",
    ]
    assert accepted("---\na: 1\n...\n") == {"a": "1"}


def test_directives():
    assert (
        refused("%YAML 1.1\n---\na: 1")[0]
        == "truck.yaml:1:1: directives (lines that start with %) are not read"
    )


def test_a_key_that_is_no_text():
    assert refused("? [bore, stroke]\n: 1")[0] == "truck.yaml:1:3: a key must be plain text"


def test_a_tab():
    assert refused("spring:\n\trate: 345") == [
        "truck.yaml:2:1: a tab can't stand here",
        "     rate: 345",
        "    ^",
        "  indent with spaces",
    ]


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("a: b: c", "truck.yaml:1:5"),
        ("a: 'open", "truck.yaml:1:4"),
        ("a: [1, 2", "truck.yaml:1:4"),
        ("a: 1\n b: 2", "truck.yaml:2:3"),
        ("a: @x", "truck.yaml:1:4"),
        ("a: ]", "truck.yaml:1:4"),
    ],
)
def test_broken_yaml_is_told_where_it_breaks(text, place):
    assert refused(text)[0].startswith(f"{place}: not readable as YAML: ")


@pytest.mark.parametrize(
    ("text", "place", "shown"),
    [
        ("a: 1\nb: ü\x00", "truck.yaml:2:5", r"'\x00'"),
        ("a: \x0b", "truck.yaml:1:4", r"'\x0b'"),
        ("a: \x1b[31m", "truck.yaml:1:4", r"'\x1b'"),
        ("a: \ud800", "truck.yaml:1:4", r"'\ud800'"),
    ],
)
def test_a_character_that_is_no_text(text, place, shown):
    assert refused(text)[0] == f"{place}: the character {shown} can't stand in a text file"


@pytest.mark.parametrize("text", ["", "\n\n", "# only a remark\n"])
def test_an_empty_file(text):
    assert refused(text)[0] == "truck.yaml:1:1: the file is empty"


# Bounds: nothing that is read takes long or ends the program.

DEEP = {
    "block lists": "- " * 5000 + "x",
    "block mappings": "\n".join(f"{' ' * depth}a:" for depth in range(1000)),
    "key in key": "? " * 5000 + "x",
    "brackets": "[" * 5000,
    "closed brackets": "[" * 5000 + "]" * 5000,
    "braces": "{a: " * 5000,
    "brackets as keys": "[[" * 500 + ": x",
    "lines of brackets": "[\n" * 5000,
}


AT_ONCE = {"CBaseLoader": 0.1, "BaseLoader": 1.0}  # seconds


@pytest.mark.parametrize("text", DEEP.values(), ids=DEEP)
def test_deep_nesting_is_refused_at_once(text, parser):
    start = process_time()
    node, problems = read(text)
    assert process_time() - start < AT_ONCE[parser]
    assert node is None
    assert len(problems) == 1


def test_nesting_up_to_the_bound_is_read():
    assert accepted("- " * MOST_DEPTH + "x")
    assert (
        refused("- " * (MOST_DEPTH + 1) + "x")[0]
        == f"truck.yaml:1:{2 * MOST_DEPTH + 3}: values are nested more than {MOST_DEPTH} deep"
    )


@pytest.mark.parametrize(
    "text", ["x" * (MOST_BYTES + 1), "%TAG !a! b\n" * 100_000, "a: &" + "x" * 100_000]
)
def test_a_huge_or_hostile_text_is_refused_at_once(text, parser):
    start = process_time()
    _, problems = read(text)
    assert process_time() - start < AT_ONCE[parser]
    assert problems


# Files.


def read_file(path):
    problems = []
    return read_yaml(path, problems), [problem.what for problem in problems]


def test_a_file_in_utf_8_with_or_without_its_mark(tmp_path):
    for content in ("größe: 1", "\ufeffgröße: 1"):
        path = tmp_path / "part.yaml"
        path.write_text(content, encoding="utf-8")
        node, problems = read_file(path)
        assert (node, problems) == ({"größe": "1"}, [])
        assert node.key("größe").place.column == 1


@pytest.mark.parametrize(
    ("content", "byte"),
    [
        ("größe: 1".encode("latin-1"), 2),
        ("a: 1".encode("utf-16"), 0),
        (b"a: 1\nb: \xff", 8),
    ],
)
def test_a_file_that_is_not_utf_8(tmp_path, content, byte):
    path = tmp_path / "part.yaml"
    path.write_bytes(content)
    assert read_file(path) == (None, [f"the file is not UTF-8 text (byte {byte})"])


def test_a_file_that_is_too_large_is_not_read_through(tmp_path):
    path = tmp_path / "part.yaml"
    with path.open("wb") as file:
        file.truncate(10 * MOST_BYTES)
    start = process_time()
    assert read_file(path) == (None, ["the file is larger than 4,000,000 bytes"])
    assert process_time() - start < 0.1


def test_an_endless_file_is_not_read_through():
    assert read_file("/dev/zero") == (None, ["the file is larger than 4,000,000 bytes"])


def test_a_file_that_is_not_there_or_is_a_folder(tmp_path):
    assert read_file(tmp_path / "none.yaml") == (
        None,
        ["the file can't be read: no such file or directory"],
    )
    assert read_file(tmp_path) == (None, ["the file can't be read: is a directory"])
    assert read_file("part\0.yaml") == (None, ["the file can't be read: embedded null byte"])


def test_an_empty_file_on_disk(tmp_path):
    path = tmp_path / "part.yaml"
    path.touch()
    assert read_file(path) == (None, ["the file is empty"])


@pytest.mark.parametrize(
    ("typed", "piece"),
    [
        ("a: one and two\n", "a: one and two"),
        ("a: >-\n  one\n  and two\n", "  and two"),
        ("a: |\n  one\n    and\n  two\n", "  two"),
        ("a: 'one\n  and\n\n  two'\n", "  two'"),
        ("a: one\n  and two\n", "  and two"),
    ],
)
def test_a_piece_is_marked_in_its_own_line(typed, piece):
    text = accepted(typed)["a"]
    shown, carets = text.piece(text.index("two"), 3).caret().split("\n")
    assert shown == piece
    assert shown[carets.index("^") : len(carets)] == "two"


def test_a_piece_of_escaped_text_is_marked_with_the_whole():
    text = accepted('a: "one\\u0020and\n  two"\n')["a"]
    assert text.piece(text.index("two"), 3) == text.place
