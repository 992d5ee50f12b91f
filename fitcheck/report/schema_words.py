"""Patterns of the trade's words, so that a schema accepts what the readers of files understand.

A schema completes names as they are listed and accepts the words of `fitcheck.knowledge.words`
besides. JSON Schema's patterns know nothing of spelling, so they say a little less than the readers
do: a text whose every word, whole or cut short, stands somewhere in what is said of a part passes,
and what it means there (or that it could mean two things) is left to the reader.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import cached_property

from fitcheck.knowledge.words import (
    FILLERS,
    LEAST_LETTERS,
    TRAILING,
    TYPE,
    Scope,
    Tokens,
    Words,
    one_of,
)
from fitcheck.model import SIDES, Attribute

BETWEEN = r"[\W_]*"
# What may stand behind a name and belongs to its figure: a unit in brackets, a lift.
_BEHIND = r"(?:\s*\([^()]*\)|\s*(?:@|\b[Aa][Tt]\b).+)?"
_BESIDE = r"(?:\s+[Ww](?:/|ith\b).*)?"
_MANY = "(?:'?[Ss])?"
_INITIALS = 2


def any_case(word: str) -> str:
    """A pattern of a word in capitals or not.

    >>> any_case("id")
    '[Ii][Dd]'
    """
    return "".join(_letter(one) for one in word)


def _letter(one: str) -> str:
    other = one.upper()
    return f"[{other}{one}]" if other != one and len(other) == 1 else re.escape(one)


def named(name: str) -> str:
    """A pattern of a name as the shapes of files read it, in any case and however it is parted.

    >>> bool(re.fullmatch(named("instead of"), "Instead_Of"))
    True
    """
    return BETWEEN.join(map(any_case, re.findall(r"[^\W_]+", name)))


def _shortened(word: str) -> str:
    """A pattern of a word, or of so many of its first letters."""
    if len(word) <= LEAST_LETTERS or not word.isalpha():
        return any_case(word)
    first, rest = word[:LEAST_LETTERS], word[LEAST_LETTERS:]
    return any_case(first) + "".join(f"(?:{_letter(one)}" for one in rest) + ")?" * len(rest)


def _whole(word: str) -> str:
    return any_case(word) + _MANY


def _typed(word: str) -> str:
    """A pattern of a word as it may be typed: `I.D.` too."""
    if len(word) == _INITIALS and word.isalpha():
        return rf"{_letter(word[0])}(?:[\W_]\s?)?{_letter(word[1])}{_MANY}"
    return _shortened(word) + _MANY


class WordPatterns:
    """Makes the patterns over the words of a knowledge."""

    def __init__(self, words: Words) -> None:
        self.words = words

    @cached_property
    def part(self) -> str:
        """A text that may name a part."""
        return f"^{self._some(self.words.parts, ())}$"

    def parts(self, slot: str) -> str:
        """The words that name one class of parts, in full; of one for each valve with its side."""
        names = self._names(self.words.parts, slot)
        if self.words.classes[slot].each != "valve":
            return names
        sides = "|".join(map(_whole, sorted({*SIDES, *self._spelt(set(SIDES))})))
        return names.replace("^", rf"^(?:(?:{sides})[\W_]+)?", 1)

    def attribute(self, slot: str) -> str:
        """A text that may name an attribute of a part."""
        scope = self.words.attributes(slot)
        fronts = [word for front in scope.fronts for word in front]
        return f"^{self._some(scope, (*SIDES, TYPE, *fronts))}{_BEHIND}$"

    def attributes(self, name: str) -> str:
        """The words that name one attribute, in full; empty where there are no others."""
        return self._names(self.words.attributes(name.partition(".")[0]), name)

    @cached_property
    def any_attribute(self) -> str:
        """A text that may name an attribute of some part, less the anchors."""
        scopes = list(map(self.words.attributes, self.words.classes))
        fronts = {word for scope in scopes for front in scope.fronts for word in front}
        known = {word for scope in scopes for word in scope.vocabulary}
        return self._of({*known, *fronts, *SIDES, TYPE})

    @cached_property
    def figure(self) -> str:
        """A text such as `spring.seat pressure`."""
        return rf"^{self._some(self.words.parts, ())}\.{self.any_attribute}$"

    def option(self, attribute: Attribute) -> str:
        """A text that may name options of an attribute, and what is there beside."""
        scope = self.words.options(attribute)
        return f"^{self._some(scope, ('and', 'or'))}{_BESIDE}$"

    def titled(self, scope: Scope) -> str:
        """The name or title of a thing, in full, less the anchors."""
        return self._of(set(scope.vocabulary), _whole)

    def _some(self, scope: Scope, more: Iterable[str]) -> str:
        return self._of({*scope.vocabulary, *more})

    def _of(self, known: set[str], typed: Callable[[str], str] = _typed) -> str:
        """Words of a vocabulary, or spelt so as to come to it, each parted from the next."""
        every = sorted({*known, *self._spelt(known), *FILLERS, *TRAILING, "0"})
        one = "|".join(map(typed, every))
        return rf"{BETWEEN}(?:(?:{one})(?![A-Za-z0-9]){BETWEEN})+"

    def _as_typed(self, word: str) -> str:
        """A pattern of a word, or of another that is spelt so."""
        respelt = self.words.spelling.respelt
        if word.isdigit():
            return rf"(?:0?\.)?{word}"
        others = [other for other, means in respelt.items() if means == (word,)]
        every = "|".join(map(any_case, (word, *others)))
        return f"(?:{every}){_MANY}" if others else f"{every}{_MANY}"

    def _spelt(self, known: set[str]) -> set[str]:
        """What is spelt so as to come to some of these words."""
        spelling = self.words.spelling
        return {
            word
            for word, means in spelling.respelt.items()
            if known.intersection(spelling.tokens(" ".join(means)))
        }

    def _names(self, scope: Scope, name: str) -> str:
        """All that names one thing for certain, its words parted or run together."""
        found: dict[Tokens, None] = {}
        for tier in scope.said:
            for key, means in tier.items():
                if any(word.name == name for word in means):
                    found[key] = None
        certain = [key for key in found if key and one_of(scope.whole(key)).name == name]
        texts = (BETWEEN.join(map(self._as_typed, key)) for key in certain)
        return f"^(?:{'|'.join(texts)})$" if certain else ""
