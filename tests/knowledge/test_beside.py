"""A shop's own folder beside the rules that travel with fitcheck, by an invented example."""

from __future__ import annotations

import shutil

import pytest

from fitcheck.check import check_build, read_build
from fitcheck.cli import main
from fitcheck.cli.demo import demo_folder
from fitcheck.knowledge import default_rules, load_knowledge
from fitcheck.knowledge.load import load_anew
from fitcheck.source import BadInput
from tests.knowledge.small import written
from tests.plan.long import LONG

SHOP = demo_folder() / "shop_rules"
RULE = "thin_walled_for_competition"
OTHER = "worn_pushrod_ends"  # over a figure that the shop adds
FILE = f"fits/pushrods_and_rockers/{RULE}.yaml"
BUILD = (
    'build: a try\ncylinders: "4"\nparts:\n  engine: {measured: {by: me, use: competition}}\n'
    "  pushrod: {measured: {by: me, tube gauge: 0.065 in}}\n"
)


@pytest.fixture
def shop(tmp_path):
    """A copy of the folder, to be changed."""
    return shutil.copytree(SHOP, tmp_path / "shop")


@pytest.fixture(scope="module")
def both():
    return load_knowledge(beside=SHOP)


def test_what_a_shop_adds_stands_beside_what_there_is(both, knowledge):
    assert both.rules.keys() - knowledge.rules.keys() == {RULE, OTHER}
    assert both.sources.keys() - knowledge.sources.keys() == {"the_shop"}
    assert both.classes.keys() == knowledge.classes.keys()
    assert both.words.attribute("pushrod", "tube gauge").name == "pushrod.wall"
    assert both.words.attribute("pushrod", "wall").name == "pushrod.wall"
    first, *others = both.usual["pushrod.wall"]
    assert first.source == "the_shop" and len(others) == len(knowledge.usual["pushrod.wall"])


def test_a_shops_rule_judges_builds_written_in_its_words(both):
    check = check_build(read_build("a.yaml", both, BUILD), both)
    (found,) = [finding for finding in check.conflicts if finding.rule.id == RULE]
    assert "this shop puts in 0.080 in at least" in found.message()


def test_a_shop_adds_a_figure_to_a_part_that_is_there(both, knowledge, tmp_path, capsys):
    added = both.attributes.keys() - knowledge.attributes.keys()
    assert added == {"pushrod.end_wear"}
    build = BUILD.replace("tube gauge: 0.065 in", "wear at the ends: 0.3 mm")
    check = check_build(read_build("a.yaml", both, build), both)
    assert OTHER in {finding.rule.id for finding in check.conflicts}
    assert main(["parts", "pushrod", "--rules", str(SHOP)]) == 0
    assert "end_wear" in capsys.readouterr().out


def test_the_commands_take_the_folder_with_its_limits(tmp_path, capsys):
    path = tmp_path / "a.yaml"
    path.write_text(BUILD, encoding="utf-8")
    assert main(["check", str(path)]) == 2  # "tube gauge" is nobody else's word
    capsys.readouterr()
    main(["check", str(path), "--all", "--rules", str(SHOP)])
    told = capsys.readouterr()
    assert f"[{RULE}]" in told.out and "house limits: 1" in told.err
    assert main(["rule", "coil_bind", "--rules", str(SHOP)]) == 0
    assert "0.050 in (house limit of An invented shop" in " ".join(capsys.readouterr().out.split())
    house = str(SHOP / "house.yaml")
    assert main(["rules", "--rules", str(SHOP), "--house", house]) == 2
    assert "two house files" in capsys.readouterr().err


def test_the_example_is_proven_and_says_what_nobody_can_look_up(capsys):
    assert main(["prove", str(SHOP)]) == 0
    told = capsys.readouterr().out
    assert f"{RULE}: proven. 5 examples" in told
    assert "rests on what nobody can look up: least" in told and "2 of 2 rules" in told


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("    - {pushrod.wall: 0.080 in}\n", "", "no example notices: >= read as >"),
        ("0.0795 in", "0.0805 in", "must give conflict and gives fits"),
        ("  unmeasured:\n    - {engine.use: competition}\n", "", "has no example for unmeasured"),
    ],
)
@LONG
def test_what_is_not_proven_is_told(old, new, told, shop, capsys):
    text = (shop / FILE).read_text(encoding="utf-8")
    assert old in text
    (shop / FILE).write_text(text.replace(old, new), encoding="utf-8")
    assert main(["prove", str(shop)]) == 1
    out = " ".join(capsys.readouterr().out.split())
    assert told in out and f"{RULE}: NOT PROVEN" in out and "1 of 2 rules proven" in out


@pytest.mark.parametrize(
    ("file", "text", "told"),
    [
        ("fits/spring_stack/coil_bind.yaml", None, "'coil_bind' stands already at"),
        ("sources.yaml", "practice: {title: a, kind: practice}\n", "'practice' stands already at"),
        ("rulez.yaml", "a: b\n", "the file rulez.yaml is not known under rules"),
        ("words/pushrod.yaml", "attributes: {length: [wall]}\n", "'wall' means"),
        (
            "classes/pushrod.yaml",
            "attributes: {wall: {title: a, flag: b}}\n",
            "'wall' stands already",
        ),
        ("classes/pushrod.yaml", "title: a\nattributes: {}\n", "'pushrod' stands already at"),
        ("usual/pushrod.yaml", "pushrod.wal: []\n", "'pushrod.wal' is no attribute"),
    ],
)
@LONG
def test_what_does_not_go_together_is_told_with_its_place(file, text, told, shop):
    path = shop / file
    path.parent.mkdir(parents=True, exist_ok=True)
    if text is None:
        text = (default_rules() / file).read_text(encoding="utf-8")
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as refused:
        load_anew(default_rules(), shop)
    found = [str(problem) for problem in refused.value.problems if told in problem.what]
    assert any(problem.startswith(str(path)) for problem in found)


def test_what_is_kept_of_the_folder_is_for_just_its_state(tmp_path):
    """By a small library of rules, one of which a shop takes into a folder of its own."""
    root, shop = written(tmp_path / "rules"), tmp_path / "shop"
    (shop / "fits" / "springs").mkdir(parents=True)
    file = (root / "fits" / "springs" / "weak_spring.yaml").rename(
        shop / "fits" / "springs" / "weak_spring.yaml"
    )
    assert "weak_spring" in load_knowledge(root, shop).rules
    assert "weak_spring" not in load_knowledge(root).rules
    file.unlink()
    assert "weak_spring" not in load_knowledge(root, shop).rules


def test_an_empty_folder_and_one_that_is_not_there_are_told(tmp_path, capsys):
    assert main(["prove", str(tmp_path)]) == 2
    assert "holds no rules" in capsys.readouterr().err
    assert main(["check", "any.yaml", "--rules", str(tmp_path / "no")]) == 2
    assert "there is no folder" in capsys.readouterr().err
