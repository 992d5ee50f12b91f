"""No word may mean two things untold: what the files under words/ may not say."""

from __future__ import annotations

import shutil

import pytest

from fitcheck.knowledge import default_rules
from fitcheck.knowledge.classes import build_class
from fitcheck.knowledge.files import ClassFile
from fitcheck.knowledge.reading import Reader
from fitcheck.knowledge.word_files import load_words
from fitcheck.model import shaped
from fitcheck.source import Text, read_yaml

CLASS = """
title: valve spring
about: invented for this test
each: valve
attributes:
  rate: {title: spring rate, quantity: rate, plausible: 50..1400 lbf/in}
  seat_load: {title: seat load, quantity: force, plausible: 15..500 lbf}
  shape: {title: shape, choice: [straight, conical]}
"""


def told(words: str, name: str = "spring") -> list[str]:
    problems = []
    reader = Reader(problems)
    node = read_yaml("spring.yaml", problems, CLASS)
    key = Text("spring", node.place)
    spring = build_class(key, shaped(ClassFile, node, problems), {}, reader)
    from pathlib import Path

    load_words([(Path(f"{name}.yaml"), read_yaml("w.yaml", problems, words))],
               {"spring": spring}, reader)  # fmt: skip
    return [f"{problem.place.line}: {problem.what}" for problem in problems]


@pytest.mark.parametrize(
    ("words", "what"),
    [
        ("attributes: {rate: [pressure], seat_load: [pressures]}",
         "'pressure' means spring.rate and spring.seat_load"),
        ("attributes: {rate: [Seat-Load]}", "'Seat-Load' means spring.rate and spring.seat_load"),
        ("attributes: {rate: [load on the seat]}", ""),
        ("ask: {pressure: [rate, seat_load]}", ""),
        ("ask: {pressure: [rate, seat_load]}\nattributes: {rate: [pressure]}",
         "'pressure' is asked back, and stands for one thing too"),
        ("ask: {spring rate: [rate, seat_load]}",
         "'spring rate' is asked back, and stands for one thing too"),
        ("attributes: {height: [length]}", "'height' is no attribute of this part"),
        ("ask: {pressure: [rate, seat_lod]}", "'seat_lod' is no attribute"),
        ("options: {shape: {words: {straight: [plain], conical: [plain]}}}",
         "'plain' means conical and straight"),
        ("options: {shape: {words: {bent: [plain]}}}", "'bent' is no option"),
        ("word: [spring]", "the key 'word' is not known here"),
    ],
)  # fmt: skip
def test_a_word_has_one_meaning_or_is_asked_back(words, what):
    found = told(words)
    assert any(what in one for one in found) if what else found == []


def test_a_file_of_words_is_named_after_a_part():
    assert told("words: [coil]", "sprnig") == [
        "1: there is no part class 'sprnig' that these words are for"
    ]


def test_words_of_a_shop_are_read_beside_the_rules(tmp_path):
    from fitcheck.knowledge.load import load_anew

    shutil.copytree(default_rules(), tmp_path / "rules")
    path = tmp_path / "rules/words/retainer.yaml"
    path.write_text("words: [hat]\nattributes: {lock_angle: [cone]}\n", encoding="utf-8")
    words = load_anew(tmp_path / "rules").words
    assert words.part("Hats").name == "retainer"
    assert words.attribute("retainer", "hat cone").name == "retainer.lock_angle"
