"""Capitals, odd characters and floods of odd keys: read or refused, shortly and safely."""

from __future__ import annotations

import pytest

from fitcheck.check import read_build
from fitcheck.cli import main
from fitcheck.knowledge import default_rules
from fitcheck.knowledge.house import with_house
from fitcheck.knowledge.load import load_anew
from fitcheck.model import Layout
from fitcheck.plan.prices import read_prices
from fitcheck.plan.routes import read_routes
from fitcheck.screen.mapping import read_mapping
from fitcheck.screen.pile import read_pile
from fitcheck.source import BadInput
from fitcheck.source.place import shown_safely


def test_keys_may_have_capitals(knowledge):
    text = (
        "Build: A Truck\nCylinders: '6'\nParts:\n"
        "  Spring: {Measured: {By: me, When: 2026-03-09, Rate: 300 lbf/in}}\n"
        "  head: {Contains: {Valve: {}}}\n  valve: {Instead Of: head}\n"
    )
    build = read_build("truck.yaml", knowledge, text)
    assert build.title == "A Truck"
    (rate,) = build.statements()
    assert (rate.origin.by, str(rate.origin.when)) == ("me", "2026-03-09")


def test_one_key_in_two_spellings_is_told(knowledge):
    with pytest.raises(BadInput, match="the key 'Build' is not known here"):
        read_build("t.yaml", knowledge, "build: a\nBuild: b\ncylinders: '6'\nparts: {}\n")


@pytest.mark.parametrize("escape", ["\\x1b[2J", "\\u202e", "\\u2066", "\\u200b", "\\x9b", "\\0"])
@pytest.mark.parametrize("where", ['build: "{}"', '"{}": x', 'about: ["{}"]'])
def test_no_command_or_direction_reaches_a_terminal_by_an_escape(tmp_path, capsys, escape, where):
    path = tmp_path / "odd.yaml"
    text = where.format(f"a{escape}b")
    path.write_text(f"{text}\ncylinders: '6'\nparts: {{}}\n", encoding="utf-8")
    assert main(["check", str(path)]) == 2
    told = capsys.readouterr().err
    assert "odd.yaml:1:" in told and "can't stand in a text" in told
    assert shown_safely(told) == told


def test_nor_by_a_word_typed_as_an_option(tmp_path, capsys):
    path = tmp_path / "plain.yaml"
    path.write_text("build: a\ncylinders: '6'\nparts: {}\n", encoding="utf-8")
    assert main(["order", str(path), "spr\x1b[2Jing"]) == 2
    assert "\x1b" not in capsys.readouterr().err


FLOODS = {
    "ten thousand odd attributes": "  spring: {claimed: {"
    + ", ".join(f"oddity {n}: {n} in" for n in range(10_000))
    + "}}\n",
    "ten thousand odd parts": "".join(f"  oddity {n}: none\n" for n in range(10_000)),
    "an option of a thousand letters": f"  spring: {{claimed: {{shape: {'behive' * 200}}}}}\n",
    "a name of a thousand letters": f"  spring: {{claimed: {{{'rate' * 250}: 300 lbf/in}}}}\n",
    "a part of a thousand letters": f"  {'sprin' * 200}: none\n",
    "a figure of a thousand letters": f"  spring: {{claimed: {{rate: {'1/' * 500}1}}}}\n",
    "a thousand options": "  head: {claimed: {sold_for_uses: ["
    + ", ".join(f"use {n}" for n in range(1000))
    + "]}}\n",
}


@pytest.mark.parametrize("text", FLOODS.values(), ids=FLOODS)
def test_a_flood_is_refused_shortly(knowledge, text):
    with pytest.raises(BadInput) as caught:
        read_build("flood.yaml", knowledge, f"build: a\ncylinders: '6'\nparts:\n{text}")
    told = str(caught.value)
    assert len(caught.value.problems) <= 101
    assert max(map(len, told.splitlines())) < 1000


KEYS = [f"oddity {n}" for n in range(10_000)]
# What a door reads, and where in it the odd keys stand.
OTHER_FLOODS = {
    "house": "house: h\nlimits:\n",
    "prices": "prices: p\noperations:\n",
    "routes": "routes: r\n",
    "columns": "classes: spring\ncolumns:\n",
    "pile": "pile: p\nparts:\n- spring:\n    name: x\n    measured:\n      by: me\n",
    "classes/spring": "attributes:\n",
}


@pytest.mark.parametrize("door", OTHER_FLOODS)
def test_nor_does_a_flood_at_another_door_tell_all_of_it(knowledge, tmp_path, door):
    path = tmp_path / f"{door}.yaml"
    path.parent.mkdir(exist_ok=True)
    start = OTHER_FLOODS[door]
    indent = " " * (6 if door == "pile" else 0 if door == "routes" else 2)
    path.write_text(start + "".join(f"{indent}{key}: 1 in\n" for key in KEYS), encoding="utf-8")
    read = {
        "house": lambda: with_house(knowledge, path),
        "prices": lambda: read_prices(path, knowledge, Layout(6)),
        "routes": lambda: read_routes(path, knowledge),
        "columns": lambda: read_mapping(path, knowledge),
        "pile": lambda: read_pile(
            path, read_build("b", knowledge, "build: a\ncylinders: '6'\nparts: {}\n"), knowledge
        ),
        "classes/spring": lambda: load_anew(default_rules(), tmp_path),
    }
    with pytest.raises(BadInput) as caught:
        read[door]()
    assert len(caught.value.problems) <= 101
    assert len(str(caught.value)) < 100_000
