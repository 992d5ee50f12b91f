"""From the files under words/ to the lists of words; none may mean two things untold."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from pathlib import Path

from fitcheck.knowledge.reading import Reader
from fitcheck.knowledge.word_lists import Forms, Signs, WordList, WordLists
from fitcheck.knowledge.words import Scope, Words
from fitcheck.model import Attribute, PartClass, shape, shaped
from fitcheck.source import Node, Text, nearest

COMMON = "common"
Listed = dict[Text, list[Text]]


@shape
class OptionWordsFile:
    """Words for the options of one list, those that may be one of several, and those that leave
    several open."""

    words: Listed = field(default_factory=dict)
    ask: Listed = field(default_factory=dict)
    either: Listed = field(default_factory=dict)


@shape
class SignsFile:
    """What sign a figure has by the options of a choice beside it."""

    by: Text
    above: list[Text]
    below: list[Text]


@shape
class FormsFile:
    """Which attributes stand together in one printed figure: see `fitcheck.check.printed`."""

    at: dict[Text, dict[Text, list[Text]]] = field(default_factory=dict)
    by: Listed = field(default_factory=dict)
    state: dict[Text, Text] = field(default_factory=dict)
    thread: dict[Text, Text] = field(default_factory=dict)
    ahead: dict[Text, Text] = field(default_factory=dict)
    names: dict[Text, dict[Text, Text]] = field(default_factory=dict)
    signs: dict[Text, SignsFile] = field(default_factory=dict)
    alone: dict[Text, Text] = field(default_factory=dict)
    row: Listed = field(default_factory=dict)
    beside: Listed = field(default_factory=dict)
    then: dict[Text, Text] = field(default_factory=dict)


@shape
class ClassWordsFile:
    """words/<class>.yaml: words for the part, its attributes and its own lists of options."""

    words: list[Text] = field(default_factory=list)
    attributes: Listed = field(default_factory=dict)
    ask: Listed = field(default_factory=dict)
    negative: Listed = field(default_factory=dict)
    positive: Listed = field(default_factory=dict)
    options: dict[Text, OptionWordsFile] = field(default_factory=dict)
    forms: FormsFile | None = None


@shape
class CommonWordsFile:
    """words/common.yaml: words that may be one of several parts, lists of choices, spellings."""

    parts: Listed = field(default_factory=dict)
    choices: dict[Text, OptionWordsFile] = field(default_factory=dict)
    spellings: dict[Text, Text] = field(default_factory=dict)


def load_words(
    files: Iterable[tuple[Path, Node]], classes: dict[str, PartClass], reader: Reader
) -> WordLists:
    """The lists of words that the files hold, checked against the classes."""
    return _WordLoader(classes, reader).load(files)


class _WordLoader:
    def __init__(self, classes: dict[str, PartClass], reader: Reader) -> None:
        self.classes = classes
        self.reader = reader
        self.parts: dict[str, tuple[str, ...]] = {}
        self.attributes: dict[str, WordList] = {}
        self.options: dict[str, WordList] = {}
        self.forms: dict[str, Forms] = {}
        self.typed: dict[str, list[Text]] = {}  # the words of each place, as they stand in a file
        self.by_list: dict[str, Attribute] = {
            attribute.options_name: attribute
            for found in classes.values()
            for attribute in found.attributes.values()
            if attribute.options
        }

    def load(self, files: Iterable[tuple[Path, Node]]) -> WordLists:
        commons: list[CommonWordsFile] = []
        for path, node in files:
            if path.stem == COMMON:
                common = shaped(CommonWordsFile, node, self.reader.problems)
                commons += [common] if common else []
            elif path.stem in self.classes:
                self._class(path.stem, node)
            elif not self.reader.told(path.stem):
                self.reader.problem(
                    Text(path.stem, node.place),
                    f"there is no part class '{path.stem}' that these words are for",
                    nearest(path.stem, self.classes),
                )
        asked: dict[str, tuple[str, ...]] = {}
        spellings: dict[str, str] = {}
        for common in commons:
            for name, file in common.choices.items():
                self._options(name, file, self.by_list)
            slots = {slot: slot for slot in self.classes}
            asked |= self._asked("", common.parts, slots, "part class")
            spellings |= {str(word): str(to) for word, to in common.spellings.items()}
        lists = WordLists(
            WordList(self.parts, asked),
            self.attributes,
            self.options,
            spellings,
            self.forms,
        )
        self._check(Words(self.classes, lists))
        return lists

    def _class(self, slot: str, node: Node) -> None:
        file = shaped(ClassWordsFile, node, self.reader.problems)
        if file is None:
            return
        self.parts[slot] = (*self.parts.get(slot, ()), *map(str, file.words))
        self.typed.setdefault("", []).extend(file.words)
        own = {name.partition(".")[2]: name for name in self.classes[slot].attributes}
        every = own | {name: name for found in self.classes.values() for name in found.attributes}
        words, negative, positive = (
            self._listed(slot, listed, own, "attribute of this part")
            for listed in (file.attributes, file.negative, file.positive)
        )
        asked = self._asked(slot, file.ask, every, "attribute")
        said = WordList(words, asked, negative, positive)
        self.attributes[slot] = self.attributes.get(slot, WordList()).joined(said)
        if file.forms is not None or slot not in self.forms:
            self.forms[slot] = self._forms(file.forms or FormsFile(), own)
        lists = {name: self.classes[slot].attributes[full] for name, full in own.items()}
        for name, option_words in file.options.items():
            self._options(name, option_words, lists)

    def _forms(self, file: FormsFile, own: Mapping[str, str]) -> Forms:
        """The forms of figures; each attribute they name is one of this part."""
        named = [
            *(name for at in file.at.values() for names in at.values() for name in names),
            *(name for by in (file.by, file.row) for key in by for name in (key, *by[key])),
            *(
                name
                for said in (file.state, file.ahead, file.alone, file.then)
                for pair in said.items()
                for name in pair
            ),
            *(name for pair in file.thread.items() for name in pair if name),
            *file.names,
            *file.beside,
            *(name for key, signs in file.signs.items() for name in (key, signs.by)),
        ]
        for name in named:
            self.reader.one_of(name, own, "attribute of this part")
        for sizes in file.names.values():
            for text in (*sizes, *sizes.values()):
                self.reader.any_quantity(text, None)
        return Forms(
            {
                str(key): {str(at): tuple(map(str, names)) for at, names in entry.items()}
                for key, entry in file.at.items()
            },
            {str(key): tuple(map(str, names)) for key, names in file.by.items()},
            {str(key): str(name) for key, name in file.state.items()},
            {str(key): str(name) for key, name in file.thread.items()},
            {str(key): str(name) for key, name in file.ahead.items()},
            {
                str(key): {str(size): str(real) for size, real in sizes.items()}
                for key, sizes in file.names.items()
            },
            {
                str(key): Signs(str(one.by), tuple(map(str, one.above)), tuple(map(str, one.below)))
                for key, one in file.signs.items()
            },
            {str(key): str(name) for key, name in file.alone.items()},
            {str(key): tuple(map(str, names)) for key, names in file.row.items()},
            {str(key): tuple(map(str, words)) for key, words in file.beside.items()},
            {str(key): str(name) for key, name in file.then.items()},
        )

    def _options(self, name: Text, file: OptionWordsFile, lists: Mapping[str, Attribute]) -> None:
        if self.reader.one_of(name, lists, "list of options") is None:
            return
        attribute = lists[name]
        where = attribute.options_name
        known = {option: option for option in attribute.options}
        said = WordList(
            self._listed(f"{where}:", file.words, known, "option"),
            self._asked(f"{where}:", file.ask, known, "option"),
            either=self._asked(f"{where}:", file.either, known, "option"),
        )
        self.options[where] = self.options.get(where, WordList()).joined(said)

    def _listed(
        self, where: str, listed: Listed, names: Mapping[str, str], what: str
    ) -> dict[str, tuple[str, ...]]:
        """The words for each name, in full."""
        found = {}
        for name, words in listed.items():
            if self.reader.one_of(name, names, what) is not None:
                self.typed.setdefault(where, []).extend(words)
                found[names[name]] = tuple(map(str, words))
        return found

    def _asked(
        self, where: str, listed: Listed, names: Mapping[str, str], what: str
    ) -> dict[str, tuple[str, ...]]:
        """The names, in full, that each word may mean."""
        found = {}
        for word, said in listed.items():
            self.typed.setdefault(where, []).append(word)
            known = [one for one in said if self.reader.one_of(one, names, what) is not None]
            found[str(word)] = tuple(names[one] for one in known)
        return found

    def _check(self, words: Words) -> None:
        scopes = {"": words.parts}
        scopes |= {slot: words.attributes(slot) for slot in self.attributes}
        scopes |= {f"{name}:": words.options(self.by_list[name]) for name in self.options}
        for where, scope in scopes.items():
            self._check_scope(scope, self.typed.get(where, ()))

    def _check_scope(self, scope: Scope, typed: Sequence[Text]) -> None:
        """No word may say two things that are not asked back."""
        asked = {scope.tokens(word) for word in (*scope.listed.ask, *scope.listed.either)}
        titled = scope.said[1]
        times = Counter(map(scope.tokens, typed))
        for word in typed:
            key = scope.tokens(word)
            means = {one.name for one in scope.said[0].get(key, set())}
            own = {one.name for one in titled.get(key, set())}
            if key in asked and (own or times[key] > 1 or word in scope.own_names):
                self.reader.problem(
                    word,
                    f"'{word}' is asked back, and stands for one thing too",
                    "take it out of one of the two",
                )
            elif key not in asked and len(means | own) > 1:
                both = " and ".join(sorted(means | own))
                self.reader.problem(
                    word, f"'{word}' means {both}", "keep it at one, or list both beneath ask:"
                )
