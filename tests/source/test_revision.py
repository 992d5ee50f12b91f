"""Values changed and taken out of YAML: what PyYAML reads afterwards, and what is left as it was."""

from __future__ import annotations

import pytest
import yaml

from fitcheck.source import Mapping, Place, Sequence, Source, Text, read_yaml
from fitcheck.source.insertion import with_pair
from fitcheck.source.revision import with_value, without_pair

FORMS = {
    "block": "head:\n  # what the page says\n  claimed:\n    by: page  # seen\n    bore: 1 in  # cold\n    rest: '2'\n# end\n",
    "flow": "head: {claimed: {by: page, bore: 1 in, rest: '2'}}  # a remark\n",
    "flow over lines": "head:\n  claimed: {by: page,\n    bore: 1 in,\n    rest: '2'}\n",
    "in a list": "head:\n  claimed:\n  - bore: 1 in\n    by: page\n    rest: '2'\nz: 1\n",
    "the last": "head:\n  claimed:\n    by: page\n    rest: '2'\n    bore: 1 in",
    "quoted": 'head:\n  claimed: {by: page, "bore": "1 in", rest: \'2\'}\n',
    "folded": "head:\n  claimed:\n    by: page\n    bore: >-\n      1\n      in\n\n    rest: '2'\n",
    "other line ends": "head:\r\n  claimed:\r\n    by: page\r\n    bore: 1 in # x\r\n    rest: '2'\r\n",
    "places": "head:\n  claimed:\n    by: page\n    bore: {3 exhaust: 1 in}\n    rest: '2'\n",
    "places in a block": "head:\n  claimed:\n    by: page\n    bore:\n      3 exhaust: 1 in\n    rest: '2'\n",
}


def _read(text):
    return yaml.load(text, Loader=yaml.BaseLoader)


def _place(text: str) -> Place:
    """Where the reader says that the bore's figure stands."""
    found: list[Place] = []

    def walk(node) -> None:
        if isinstance(node, Mapping):
            for value in node.values():
                walk(value)
        elif isinstance(node, Sequence):
            for value in node:
                walk(value)
        elif isinstance(node, Text) and node == "1 in":
            found.append(node.place)

    walk(read_yaml("r.yaml", [], text))
    (place,) = found
    return place


def _remarks(text: str) -> list[str]:
    return [piece for piece in text.split() if piece.startswith("#")]


def _claimed(read):
    said = read["head"]["claimed"]
    return said[0] if isinstance(said, list) else said


@pytest.mark.parametrize("text", FORMS.values(), ids=FORMS)
@pytest.mark.parametrize("value", ["2.5 in", ["a", "b"], 'he said: "no" # never'])
def test_one_value_changes_and_nothing_else(text, value):
    wanted = _read(text)
    said = _claimed(wanted)
    said["bore"] = {"3 exhaust": value} if isinstance(said["bore"], dict) else value
    new = with_value(text, _place(text), value)
    assert _read(new) == wanted
    assert _remarks(new)[: len(_remarks(text))] == _remarks(text) or _remarks(text) == []


@pytest.mark.parametrize("text", FORMS.values(), ids=FORMS)
def test_one_key_goes_and_nothing_else(text):
    wanted = _read(text)
    del _claimed(wanted)["bore"]
    new = without_pair(text, _place(text))
    assert _read(new) == wanted
    assert set(_remarks(text)) - set(_remarks(new)) <= {"#"}  # its own remark goes with it


@pytest.mark.parametrize("text", FORMS.values(), ids=FORMS)
def test_one_key_comes_and_nothing_else(text):
    wanted = _read(text)
    _claimed(wanted)["depth"] = {"all": "3 in", "3 exhaust": "4 in"}
    path = ["head", "claimed", *([0] if isinstance(wanted["head"]["claimed"], list) else [])]
    assert _read(with_pair(text, path, "depth", {"all": "3 in", "3 exhaust": "4 in"})) == wanted


@pytest.mark.parametrize(
    "text",
    [
        "head:\n  claimed:\n    # a line that waits\nz: 1\n",
        "head:\n  claimed: # nothing yet\nz: 1\n",
        "head: {claimed: }\nz: '1'\n",
        "head: {claimed: {}}\nz: '1'\n",
    ],
)
def test_what_has_nothing_beneath_it_takes_a_first_key(text):
    new = with_pair(text, ["head", "claimed"], "bore", "1 in")
    assert _read(new)["head"]["claimed"] == {"bore": "1 in"}
    assert _remarks(new) == _remarks(text)


def test_a_place_with_no_value_is_told():
    with pytest.raises(ValueError, match="no value starts at"):
        with_value("a: 1\n", Place(Source("r.yaml", "a: 1\n"), 1, 1), "2")
