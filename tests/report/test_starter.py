"""`fitcheck start`: files that check as they stand, each line of which can be filled in."""

from __future__ import annotations

import builtins
import re

import pytest

from fitcheck.check import check_build, read_build
from fitcheck.cli import main, start
from fitcheck.knowledge.house import with_house
from fitcheck.model import Layout
from fitcheck.plan.prices import read_prices
from fitcheck.plan.routes import read_routes
from fitcheck.quantity import show
from fitcheck.report.parts import written
from fitcheck.report.schema import file_name
from fitcheck.report.starter import BLANK, STARTERS, StartRequest, build_starter
from fitcheck.screen.mapping import read_mapping
from fitcheck.screen.pile import read_pile

FIGURE = re.compile(rf"^( *)# (\w+): {BLANK}.*$")
NOT_ASKED = ("engine.cylinders", "engine.layout")


def filled(text: str, knowledge, system: str) -> str:
    """Each line that waits for its figure, with one from the middle of what is plausible."""
    lines, slot = [], ""
    for typed in text.splitlines():
        line = re.sub(r"^  # (  )?(\w+:)$", r"  \1\2", typed)
        line = re.sub(r"^  # (\w+): {claimed: {(\w+: ____).*", r"  \1:\n    claimed:\n# \2", line)
        line, *alone = line.split("\n    claimed:\n")
        if found := re.match(r"^  (\w+):$", line):
            slot = found[1]
        if alone:
            lines += [line, "    claimed:"]
            line = f"      {alone[0]}"
        if waits := FIGURE.match(line):
            attribute = knowledge.attributes[knowledge.words.attribute(slot, waits[2]).name]
            value = attribute.options[-1] if attribute.options else "words"
            if attribute.kind is not None:
                middle = type(attribute.plausible).point(attribute.plausible.middle)
                value = show(middle, attribute.kind, system)
                value = value.partition(".")[0] if attribute.kind.name == "count" else value
            lines.append(f"{waits[1]}{waits[2]}: '{value}'")
        else:
            lines.append(line)
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("system", ["inch", "metric"])
@pytest.mark.parametrize(("cylinders", "layout"), [(1, ""), (6, "inline"), (8, "vee")])
@pytest.mark.parametrize("everything", [False, True])
def test_a_build_to_start_from_is_read_empty_and_filled(
    cylinders, layout, system, everything, knowledge
):
    asked = StartRequest("Six's (mine)", cylinders, layout, {})
    text = build_starter(asked, knowledge, system, everything=everything)
    build = read_build("start.yaml", knowledge, text)
    assert build.title == "Six's (mine)" and build.layout.cylinders == cylinders
    assert len(build.layout.banks) == (2 if layout == "vee" else 0)
    count = text.count(f": {BLANK}")
    every = sum(len(written(one)) for one in knowledge.classes.values())
    assert count == every - len(NOT_ASKED) if everything else 50 < count < 80
    assert everything or len(text.splitlines()) <= 120
    build = read_build("start.yaml", knowledge, filled(text, knowledge, system))
    assert len(build.statements()) == count + bool(layout)
    assert max(map(len, text.splitlines())) <= 100


def test_it_asks_for_what_a_page_and_a_card_tell(knowledge):
    text = build_starter(StartRequest("mine", 8, "vee", {}), knowledge, "inch")
    for name in ("lobe_lift", "duration_at_050", "sold_for_lift", "coil_bind_height", "rate",
                 "installed_height", "chamber_volume", "ratio", "bore", "stroke"):  # fmt: skip
        assert re.search(rf"\b{name}: {BLANK}", text), name
    assert text.index("CAM CARD") < text.index("SELLER'S PAGE OF THE HEAD")
    assert "1.000..2.600 in" in text
    assert "one of: hydraulic_flat, solid_flat, hydraulic_roller, solid_roller" in text


def test_what_is_given_stands_in_it(knowledge):
    given = {"cam.lobe lift": "{intake: 0.320 in, exhaust: 0.330 in}", "lifter.type": "solid_flat"}
    text = build_starter(StartRequest("mine", 4, "inline", given), knowledge, "inch")
    build = read_build("start.yaml", knowledge, text)
    assert sorted(said.attribute.name for said in build.statements()) == [
        "cam.lobe_lift", "cam.lobe_lift", "engine.layout", "lifter.type",
    ]  # fmt: skip
    assert "# lobe_lift:" not in text and "# type: ____  # one of: hydraulic_flat" not in text
    check = check_build(build, knowledge)
    assert check.failures == [] and check.conflicts == []


def test_the_other_files_are_read_as_they_stand(knowledge, tmp_path):
    four = Layout(4)
    for kind, made in STARTERS.items():
        (tmp_path / f"{kind}.yaml").write_text(made(knowledge), encoding="utf-8")
    text = build_starter(StartRequest("mine", 4, "inline", {}), knowledge, "inch")
    build = read_build(tmp_path / "build.yaml", knowledge, text)
    (tmp_path / "build.yaml").write_text(text, encoding="utf-8")
    assert read_prices(tmp_path / "prices.yaml", knowledge, four).title == "Prices of my shop"
    assert with_house(knowledge, tmp_path / "house.yaml").house.limits == ()
    assert len(read_routes(tmp_path / "routes.yaml", knowledge)[1]) == 2
    assert len(read_pile(tmp_path / "pile.yaml", build, knowledge).entries) == 1
    assert read_mapping(tmp_path / "columns.yaml", knowledge).columns


def test_the_lines_of_the_other_files_can_be_filled(knowledge, tmp_path):
    text = (
        STARTERS["prices"](knowledge)
        .replace("# hour", "hour")
        .replace("operations: {}", "operations:")
    )
    text = text.replace("parts: []", "parts:").replace("#  ", "  ").replace("____ EUR", "85 EUR")
    prices = read_prices("p.yaml", knowledge, Layout(4), text.replace("____ lbf/in", "300 lbf/in"))
    assert prices.operations.keys() == knowledge.operations.keys() and len(prices.offers) == 1
    house = (
        STARTERS["house"](knowledge)
        .replace("limits: {}", "limits:")
        .replace("waivers: []", "waivers:")
    )
    made = with_house(knowledge, tmp_path / "h.yaml", text=house.replace("#  ", "  "))
    assert made.house.counts == "house limits: 1, waivers: 1, expired: 0"
    columns = STARTERS["columns"](knowledge).replace("  # ", "  ").replace("# item", "item")
    (tmp_path / "c.yaml").write_text(columns, encoding="utf-8")
    assert len(read_mapping(tmp_path / "c.yaml", knowledge).columns) > 20


def test_the_command_writes_a_build_and_its_schema_and_never_over_a_file(tmp_path, capsys):
    path = tmp_path / "mine.yaml"
    arguments = [
        "start",
        str(path),
        "--cylinders",
        "8",
        "--layout",
        "vee",
        "--given",
        "camshaft.lobe lift=.32",
    ]
    assert main(arguments) == 0
    assert (tmp_path / file_name("build")).is_file()
    assert main(["check", str(path)]) == 3  # nothing clashes, much cannot be told
    before = path.read_bytes()
    assert main(arguments) == 2
    assert "is there already" in capsys.readouterr().err and path.read_bytes() == before


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ([], "nobody said how many cylinders"),
        (["--cylinders", "0"], "no number of cylinders"),
        (["--cylinders", "8", "--given", "cam.lobe_lift"], "says nothing"),
        (["--cylinders", "8", "--given", "cam.lobe_lift=3 lbf"], "is a unit of force"),
        (["--cylinders", "8", "--given", "cam.lobe_lft=0.3 in"], "has no attribute"),
        (["--cylinders", "8", "--given", "gizmo.lobe_lift=0.3 in"], "no part class 'gizmo'"),
    ],
)
def test_what_cannot_be_started_is_told_and_leaves_nothing(arguments, told, tmp_path, capsys):
    assert main(["start", str(tmp_path / "mine.yaml"), *arguments]) == 2
    assert told in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_in_a_terminal_it_asks(tmp_path, monkeypatch, capsys, knowledge):
    answers = iter(["My six", "sixty", "6", "1", "", "hydraulic_roler", "3", "", "2"])
    asked = []
    monkeypatch.setattr(builtins, "input", lambda question: asked.append(question) or next(answers))
    for stream in (start.sys.stdin, start.sys.stdout):
        monkeypatch.setattr(stream, "isatty", lambda: True, raising=False)
    assert main(["start", str(tmp_path / "mine.yaml")]) == 0
    build = read_build(tmp_path / "mine.yaml", knowledge)
    said = {one.attribute.name for one in build.statements()}
    assert build.title == "My six" and build.layout.cylinders == 6
    assert said == {"engine.layout", "lifter.type", "head.material"}
    told = capsys.readouterr().out
    assert "is none of these" in told and "'sixty' is no number of cylinders" in told
    assert len(asked) == 9
