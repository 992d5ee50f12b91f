"""Capitals, odd characters and floods of odd keys: read or refused, shortly and safely."""

from __future__ import annotations

import pytest

from fitcheck.check import read_build
from fitcheck.cli import main
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
