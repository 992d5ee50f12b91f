"""Words and spellings that buyers, shops and builders use: understood at first, or asked back.

`words.csv` was written from sellers' pages, cam cards and handbooks before the names in the
knowledge were looked at: where the word stands (in a part, among the parts, or as an option), the
word, what it is (several names: it has to be asked back with all of them; ?: nothing here says
just that, so it must not be taken for anything), and what people mean by it. Common practice, no
source.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from fitcheck.knowledge.words import Word

LIST = Path(__file__).with_name("words.csv")


def rows():
    with LIST.open(encoding="utf-8", newline="") as file:
        return [(row["where"], row["word"], row["is"].split()) for row in csv.DictReader(file)]


def find(knowledge, where: str, text: str) -> Word:
    words = knowledge.words
    if where == "parts":
        return words.part(text)
    if "." in where:
        return words.option(knowledge.attributes[where], text)
    return words.attribute(where, text)


def full(where: str, names: list[str]) -> set[str]:
    """The names as the reader gives them: those of attributes with their part."""
    bare = where == "parts" or "." in where
    return {name if bare or "." in name else f"{where}.{name}" for name in names}


def test_the_list_is_long_enough():
    assert len(rows()) >= 450
    assert len({(where, word) for where, word, _ in rows()}) == len(rows())


@pytest.mark.parametrize(("where", "word", "names"), rows())
def test_a_word_is_understood_or_asked_back(knowledge, where, word, names):
    found = find(knowledge, where, word)
    if names == ["?"]:
        assert not found.name
    elif len(names) > 1:
        assert not found.name
        assert full(where, names) <= set(found.may)
    else:
        sign, name = (names[0][0], names[0][1:]) if names[0][0] in "+-" else ("", names[0])
        if "." in name and "." not in where:  # said of another part: told which, never moved
            assert not found.name
            assert found.may == (name,)
        else:
            assert {found.name} == full(where, [name])
            assert found.sign == sign
