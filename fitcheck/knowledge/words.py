"""What the words mean that people write for parts, attributes and options.

One reader for every door: build files, `--set`, `reach`, sheets, column files. A word is understood
by its own name, by its printed title, by the words listed under rules/words/, and by rule:

- in any case; with blanks, hyphens, underscores or none; singular or plural;
- with the part's own name in front, or without it ("rocker ratio", "gasket bore");
- with one side in front, for what differs between intake and exhaust ("intake lobe lift");
- shortened word by word, where just one thing begins so ("comp height", "lobe sep");
- in another order ("height installed").

A word that could mean two things is never guessed: all that it may mean comes back.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import TypeVar

from fitcheck.knowledge.word_lists import WordList, WordLists
from fitcheck.model import SIDES, Attribute, PartClass
from fitcheck.source import frozen

MOST_CHARACTERS = 80
LEAST_LETTERS = 3  # of a word cut short
NOT_SAID = ("present", "comes_with_head")
_INITIALS = re.compile(r"\b([a-z])[./]\s?([a-z])\b\.?")  # I.D., C/L
_AND = re.compile(r"\s*(?:\bw/|\bwith\b|[&+/,]|\band\b)\s*")
_DECIMAL = re.compile(r"(?<!\d)0?\.(\d+)")
_PIECE = re.compile(r"[^\W_]+")
_LETTERS = re.compile(r"[a-z0-9 _-]*")  # what needs no respelling
FILLERS = frozenset(("of", "the", "a", "an"))
TRAILING = frozenset(("at", "is", "to", "up"))  # before a figure: "coil bind at 1.100 in"
# What a name says of the parts beside it: "lift w/1.5 rockers".
_BESIDE = re.compile(r"\s+w(?:/|ith\b).*", re.DOTALL)
TYPE = "type"  # what style, kind and design are spelt as: says nothing of which of a part's kinds
Tokens = tuple[str, ...]
T = TypeVar("T")


@frozen
class Word:
    """What a word means: the one `name`, or "" and all that it `may` be.

    `side` is intake or exhaust where the word names one; `sign` is "-" where a figure under this
    word counts with the other sign and "+" where only its size counts; `short` tells that it was
    understood from shortened or turned words, which is worth saying; `either` that no more is meant
    than one of what it may be.
    """

    name: str = ""
    may: tuple[str, ...] = ()
    side: str = ""
    sign: str = ""
    short: bool = False
    either: bool = False


NOTHING = Word()


class Spelling:
    """Takes a text apart into words, all spelt one way; `respelt` holds what is spelt otherwise."""

    def __init__(self, spellings: Mapping[str, str]) -> None:
        self.respelt = {_plain(word.casefold()): _pieces(to) for word, to in spellings.items()}

    def tokens(self, text: str) -> Tokens:
        """The words of a text: `I.D.` and `inside dia.` become inside, diameter."""
        found: list[str] = []
        for piece in _pieces(text):
            for one in self.respelt.get(_plain(piece), (piece,)):
                word = _plain(one)
                if word not in FILLERS:
                    found.append(word)
        return tuple(found)


def _pieces(text: str) -> Tokens:
    text = text.casefold() if text.isascii() else unicodedata.normalize("NFKC", text).casefold()
    if not _LETTERS.fullmatch(text):
        text = text.replace("@", " at ").replace("&", " and ").replace("⌀", " diameter ")
        text = _DECIMAL.sub(r"\1", _INITIALS.sub(r"\1\2", text).replace("'", ""))
    return tuple(_PIECE.findall(text))


def _plain(word: str) -> str:
    """A word in the singular; what it is made into need not be a word."""
    many = len(word) >= LEAST_LETTERS and word.endswith("s") and not word.endswith("ss")
    return word[:-1] if many else word


class Scope:
    """The words of one place: of the parts, of the attributes of a class, of a list of options."""

    def __init__(
        self,
        spelling: Spelling,
        titles: Mapping[str, str],
        listed: WordList,
        fronts: Iterable[Tokens] = (),
    ) -> None:
        self.spelling = spelling
        self.titles = titles  # by name
        self.listed = listed
        self.fronts = sorted(set(fronts) - {()}, key=len, reverse=True)
        self._said: list[tuple[Tokens, Word]] = []

    @cached_property
    def said(self) -> list[dict[Tokens, set[Word]]]:
        """What is said for what: by own names and listed words, by titles, by what is left of both
        without the part's own name."""
        tokens = self.spelling.tokens
        first: dict[Tokens, set[Word]] = {}
        second: dict[Tokens, set[Word]] = {}
        third: dict[Tokens, set[Word]] = {}
        for name, title in self.titles.items():
            first.setdefault(tokens(name.rpartition(".")[2]), set()).add(Word(name))
            second.setdefault(tokens(title), set()).add(Word(name))
        for kind, sign in ((self.listed.words, ""), (self.listed.negative, "-")):
            self._list(first, kind, sign)
        self._list(first, self.listed.positive, "+")
        for word, names in self.listed.ask.items():
            first[tokens(word)] = {Word(may=names)}
        for word, names in self.listed.either.items():
            first[tokens(word)] = {Word(may=names, either=True)}
        for known in (first, second):
            for words, means in known.items():
                rest = self._without_front(words)
                if rest:
                    third.setdefault(rest, set()).update(means)
        return [first, second, third]

    def _list(
        self, into: dict[Tokens, set[Word]], listed: Mapping[str, Sequence[str]], sign: str
    ) -> None:
        for name, words in listed.items():
            for word in words:
                into.setdefault(self.spelling.tokens(word), set()).add(Word(name, sign=sign))

    @cached_property
    def vocabulary(self) -> dict[str, None]:
        """All words that stand in what is said here, sorted."""
        return dict.fromkeys(sorted({word for tier in self.said for key in tier for word in key}))

    @cached_property
    def own_names(self) -> set[str]:
        """The names without the part before the dot."""
        return {name.rpartition(".")[2] for name in self.titles}

    @cached_property
    def joined(self) -> list[dict[str, set[Word]]]:
        """The same, with the words run together: `pushrod` and `push rod` are one."""
        return [
            _merged((("".join(key), means) for key, means in tier.items())) for tier in self.said
        ]

    @cached_property
    def by_length(self) -> dict[int, list[tuple[Tokens, set[Word]]]]:
        """The same, by how many words they are."""
        found: dict[int, list[tuple[Tokens, set[Word]]]] = {}
        for tier in self.said:
            for key, means in tier.items():
                found.setdefault(len(key), []).append((key, means))
        return found

    @cached_property
    def turned(self) -> dict[frozenset[str], set[Word]]:
        """The same, in whatever order the words stand."""
        return _merged(
            (frozenset(key), means) for tier in self.said for key, means in tier.items() if key[1:]
        )

    def _without_front(self, words: Tokens) -> Tokens:
        for front in self.fronts:
            if words[: len(front)] == front and len(words) > len(front):
                return words[len(front) :]
        return ()

    def exact(self, words: Tokens) -> set[Word]:
        """All that the words say, however they are run together."""
        text = "".join(words)
        return next((tier[text] for tier in self.joined if text in tier), set()) if text else set()

    def whole(self, words: Tokens) -> set[Word]:
        """All that the words say, with the part's own name in front or without."""
        while words:
            if found := self.exact(words) or self.exact(self._without_front(words)):
                return found
            words = words[:-1] if words[-1] in TRAILING else ()
        return set()

    def short(self, words: Tokens) -> set[Word]:
        """All that begins with these words, one by one, or holds just them in another order."""
        if not words or any(len(word) < 2 for word in words):
            return set()
        found: set[Word] = set()
        for key, means in self.by_length.get(len(words), ()):
            if all(map(_begins, key, words)):
                found |= means
        return found or self.turned.get(frozenset(words), set())

    def find(self, text: str) -> Word:
        """What a text means here."""
        if text.casefold() in self.titles:
            return Word(text.casefold())
        return self.find_tokens(self.tokens(text))

    def find_tokens(self, words: Tokens) -> Word:
        """What words mean here that are spelt one way already."""
        if whole := self.whole(words):
            return one_of(whole)
        return replace(one_of(self.short(words)), short=True)

    def tokens(self, text: str) -> Tokens:
        """The words of a text; none of one too long for a name."""
        return self.spelling.tokens(text) if len(text) <= MOST_CHARACTERS else ()


class Words:
    """Reads the words for parts, attributes and options of a knowledge."""

    def __init__(self, classes: Mapping[str, PartClass], lists: WordLists) -> None:
        self.classes = classes
        self.lists = lists
        self.spelling = Spelling(lists.spellings)
        self._scopes: dict[str, Scope] = {}

    @cached_property
    def parts(self) -> Scope:
        """The words for parts."""
        titles = {slot: found.title for slot, found in self.classes.items()}
        return Scope(self.spelling, titles, self.lists.parts)

    def attributes(self, slot: str) -> Scope:
        """The words for the attributes of a class, by their names in full."""
        if slot not in self._scopes:
            titles = {
                name: attribute.title
                for name, attribute in self.classes[slot].attributes.items()
                if name.partition(".")[2] not in NOT_SAID
            }
            fronts = [self.spelling.tokens(word) for word in self._called(slot)]
            fronts += [front[-1:] for front in fronts]
            listed = self.lists.attributes.get(slot, WordList())
            self._scopes[slot] = Scope(self.spelling, titles, listed, fronts)
        return self._scopes[slot]

    def _called(self, slot: str) -> list[str]:
        return [slot, self.classes[slot].title, *self.lists.parts.words.get(slot, ())]

    def options(self, attribute: Attribute) -> Scope:
        """The words for the options of an attribute."""
        name = f"{attribute.options_name}:"
        if name not in self._scopes:
            titles = dict(zip(attribute.options, attribute.option_words, strict=True))
            listed = self.lists.options.get(attribute.options_name, WordList())
            self._scopes[name] = Scope(self.spelling, titles, listed)
        return self._scopes[name]

    def part(self, text: str) -> Word:
        """The class of parts that a text means, and of keepers/locks the one that both mean."""
        found = self.parts.find(text)
        pieces = _AND.split(text) if not (found.name or found.may) else []
        names = {self.parts.find(piece).name for piece in pieces}
        if len(names) == 1:
            return Word(min(names), short=True)
        return Word(may=tuple(sorted(names))) if names and "" not in names else found

    def attribute(self, slot: str, text: str) -> Word:
        """The attribute of a class that a text means; names are in full, as in `cam.lobe_lift`.

        What is said of other parts only is told among what the text `may` mean.
        """
        scope = self.attributes(slot)
        name = f"{slot}.{text.casefold()}"
        found = Word(name) if name in scope.titles else scope.find(text)
        if not found.name:
            found = self._on_a_side(slot, scope, text) or found
        if found.name or found.may:
            return found
        if (rest := _BESIDE.sub("", text)) != text and rest:
            found = self.attribute(slot, rest)  # asked back, as what is left out may count
            return Word(may=found.may or ((found.name,) if found.name else ()))
        words = scope.tokens(text)
        others = (self.attributes(other) for other in self.classes if other != slot)
        elsewhere = {word.name for other in others for word in other.exact(words)} - {""}
        return Word(may=tuple(sorted(elsewhere)))

    def _on_a_side(self, slot: str, scope: Scope, text: str) -> Word | None:
        words = scope.tokens(text)
        if [word for word in words if word in SIDES] == list(SIDES):  # "lift int/exh": a pair
            return one_of(scope.whole(tuple(word for word in words if word not in SIDES)))
        for side, rest in ((words[:1], words[1:]), (words[-1:], words[:-1])):
            if side and rest and side[0] in SIDES:
                found = one_of(scope.whole(rest))
                attribute = self.classes[slot].attributes.get(found.name)
                if attribute is not None and attribute.each == "valve":
                    return replace(found, side=side[0])
                if found.may:
                    return found
        return None

    def side(self, text: str) -> str:
        """The side that a text names, alone or in front of a part: intake, exhaust or none."""
        words = self.parts.tokens(text)
        return words[0] if words and words[0] in SIDES else ""

    def part_on_a_side(self, text: str) -> Word:
        """The class of parts for each valve that a text names with its side in front."""
        words = self.parts.tokens(text)
        found = one_of(self.parts.whole(words[1:])) if words[:1] and words[0] in SIDES else NOTHING
        if found.name and self.classes[found.name].each == "valve":
            return replace(found, side=words[0])
        return NOTHING

    def option(self, attribute: Attribute, text: str) -> Word:
        """The option of an attribute that a text means."""
        return self.options(attribute).find(text)

    def figure(self, text: str) -> Word:
        """The attribute that a text such as `spring.seat pressure` means, in full."""
        part, dot, own = text.partition(".")
        slot = self.part(part.strip())
        return self.attribute(slot.name, own.strip()) if dot and slot.name else NOTHING


def _merged(pairs: Iterable[tuple[T, set[Word]]]) -> dict[T, set[Word]]:
    found: dict[T, set[Word]] = {}
    for key, means in pairs:
        found.setdefault(key, set()).update(means)
    return found


def _begins(whole: str, word: str) -> bool:
    return whole == word or (len(word) >= LEAST_LETTERS and whole.startswith(word))


def one_of(means: set[Word]) -> Word:
    """The one meaning, or all that there are."""
    if len(means) == 1:
        return next(iter(means))
    names = {name for word in means for name in (word.may or (word.name,))}
    return Word(may=tuple(sorted(names)))
