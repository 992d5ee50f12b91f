"""What is listed under rules/words/: words for names, and the forms of printed figures."""

from __future__ import annotations

from dataclasses import field

from fitcheck.source import frozen


@frozen
class WordList:
    """Words listed for the names of one place, and those that may be one of several.

    A figure said under a `negative` word counts with the other sign; under a `positive` one its
    size alone counts, whatever the sign. `either` words say one of several options, and a page
    that has such a word does not tell which: all are left open.
    """

    words: dict[str, tuple[str, ...]] = field(default_factory=dict)
    ask: dict[str, tuple[str, ...]] = field(default_factory=dict)
    negative: dict[str, tuple[str, ...]] = field(default_factory=dict)
    positive: dict[str, tuple[str, ...]] = field(default_factory=dict)
    either: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def joined(self, other: WordList) -> WordList:
        """The words of both."""
        return WordList(
            _both(self.words, other.words),
            _both(self.ask, other.ask),
            _both(self.negative, other.negative),
            _both(self.positive, other.positive),
            _both(self.either, other.either),
        )


def _both(
    one: dict[str, tuple[str, ...]], other: dict[str, tuple[str, ...]]
) -> dict[str, tuple[str, ...]]:
    return one | {name: (*one.get(name, ()), *words) for name, words in other.items()}


@frozen
class Signs:
    """The sign that a figure has to have by what a choice beside it says: the options of each."""

    by: str
    above: tuple[str, ...]
    below: tuple[str, ...]


@frozen
class Forms:
    """Which attributes of a part stand together in one printed figure, by their short names.

    `at`: a figure and the lift or height it is stated at: for each of these, or any, the attribute
    of the figure and the one of the height; `by`: what may stand beside a figure after an x;
    `state`: the choice told in a word behind it; `thread`: the pitch told behind a thread's
    diameter, or ""; `ahead`: the angle that lies so many degrees before it; `names`: sizes that are
    names only, with what bears them measures; `alone`: what else the page of a loose part means;
    `row`: the attributes of figures in a row, as in 30-45-60; `beside`: words that stand behind a
    figure, of which the second turns its sign; `then`: the angle that a fastener is turned on by.
    """

    at: dict[str, dict[str, tuple[str, ...]]] = field(default_factory=dict)
    by: dict[str, tuple[str, ...]] = field(default_factory=dict)
    state: dict[str, str] = field(default_factory=dict)
    thread: dict[str, str] = field(default_factory=dict)
    ahead: dict[str, str] = field(default_factory=dict)
    names: dict[str, dict[str, str]] = field(default_factory=dict)
    signs: dict[str, Signs] = field(default_factory=dict)
    alone: dict[str, str] = field(default_factory=dict)
    row: dict[str, tuple[str, ...]] = field(default_factory=dict)
    beside: dict[str, tuple[str, ...]] = field(default_factory=dict)
    then: dict[str, str] = field(default_factory=dict)


@frozen
class WordLists:
    """All words listed under rules/words/: of parts, of attributes and options; spellings."""

    parts: WordList = field(default_factory=WordList)
    attributes: dict[str, WordList] = field(default_factory=dict)
    options: dict[str, WordList] = field(default_factory=dict)
    spellings: dict[str, str] = field(default_factory=dict)
    forms: dict[str, Forms] = field(default_factory=dict)
