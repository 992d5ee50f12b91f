"""What is usual is checked as it is loaded: names, dimensions, sources, ranges, circles."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitcheck.knowledge import load_knowledge
from fitcheck.knowledge.load import load_anew
from fitcheck.source import BadInput, Problem
from tests.knowledge.small import written

SPRINGS = """\
spring.shape:
  - {one_of: straight, why: others are named, source: practice}
spring.installed_height:
  - {is: spring.solid_height + room, with: {room: 0.300..0.500 in, high: 0.350 in},
     when: cam.lobe_lift < high, unless_stated: spring.rate, why: ordinary lift, source: practice}
"""


def _problems(folder: Path, text: str, name: str = "usual/spring.yaml") -> list[Problem]:
    with pytest.raises(BadInput) as caught:
        load_anew(written(folder, {name: text}))
    return caught.value.problems


def test_branches_are_read_in_their_order(tmp_path):
    knowledge = load_anew(written(tmp_path, {"usual/spring.yaml": SPRINGS}))
    (shape,), (height,) = (
        knowledge.usual["spring.shape"],
        knowledge.usual["spring.installed_height"],
    )
    assert shape.mask == 0b01
    assert height.figures == ("spring.solid_height",)
    assert height.conditions == ("cam.lobe_lift",)
    assert height.unless_stated == ("spring.rate",)


@pytest.mark.parametrize(
    ("old", "new", "what", "mend"),
    [
        (
            "spring.shape:",
            "spring.shpae:",
            "'spring.shpae' is no attribute",
            "did you mean 'spring.shape'?",
        ),
        (
            "one_of: straight",
            "one_of: strait",
            "'strait' is no option of spring.shape",
            "did you mean 'straight'?",
        ),
        (
            "one_of: straight",
            "one_of: straight, range: 1 in",
            "'spring.shape' is told 2 times in one branch",
            "give is, range or one_of",
        ),
        (
            "one_of: straight",
            "range: 1 in",
            "'spring.shape' is no quantity",
            "write one_of:",
        ),
        (
            "{one_of: straight, why: others are named, source: practice}",
            "{one_of: straight, why: others are named, source: hearsay}",
            "'hearsay' is no source in sources.yaml",
            "one of: geometry, practice",
        ),
        (
            "spring.solid_height + room",
            "spring.rate + room",
            "'+': rate and length do not go together",
            "check the units on both sides",
        ),
        (
            "is: spring.solid_height + room, with: {room: 0.300..0.500 in, high: 0.350 in},",
            "range: 0.300..0.500 in, with: {high: 0.350 in},",
            "what is usual for 'spring.installed_height' is not within what is plausible",
            "narrow the usual range, or widen the plausible one",
        ),
        (
            "cam.lobe_lift < high",
            "cam.lobe_lift > spring.solid_height",
            "the range 'high' is not used",
            "leave it out",
        ),
        (
            "spring.solid_height + room",
            "spring.installed_height * 0 + spring.solid_height + room",
            "usual figures wait for each other: spring.installed_height -> spring.installed_height",
            "name one of them under if_stated",
        ),
        (
            "unless_stated: spring.rate",
            "unless_stated: spring.rat",
            "'spring.rat' is no attribute",
            "did you mean 'spring.rate'?",
        ),
    ],
)
def test_a_mistake_is_told_alone(tmp_path, old, new, what, mend):
    assert SPRINGS.count(old) == 1
    (problem,) = _problems(tmp_path, SPRINGS.replace(old, new))
    assert problem.what == what
    assert problem.mend == mend
    assert problem.place is not None


def test_an_entry_stands_in_the_file_of_its_class(tmp_path):
    (problem,) = _problems(
        tmp_path,
        "spring.shape: [{one_of: straight, why: others are named, source: practice}]\n",
        "usual/cam.yaml",
    )
    assert problem.what == "'spring.shape' stands in cam.yaml"


def test_what_is_kept_between_runs_still_knows_what_is_usual(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.delenv("FITCHECK_NO_CACHE", raising=False)
    root = written(tmp_path / "rules", {"usual/spring.yaml": SPRINGS})
    first = load_knowledge(root).usual
    kept = load_knowledge(root)
    assert isinstance(kept.ordinary, bytes)
    assert {name: len(branches) for name, branches in kept.usual.items()} == {
        name: len(branches) for name, branches in first.items()
    }
