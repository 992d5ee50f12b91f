"""Rules and operations by their names or titles, read as the words for parts are."""

from __future__ import annotations

from collections.abc import Mapping

from fitcheck.knowledge.hints import Hints, Told, cut
from fitcheck.knowledge.word_lists import WordList
from fitcheck.knowledge.words import Scope, one_of


class Titled:
    """Finds one of many things by its name or its printed title; tells what else to write."""

    def __init__(self, what: str, titles: Mapping[str, str], listed: str, hints: Hints) -> None:
        self.what = what
        self.listed = listed  # the command that lists them
        self.hints = hints
        self.titles = titles
        self.scope = Scope(hints.words.spelling, titles, WordList())

    def find(self, text: str) -> str:
        """The name that a text means; empty where it means none for certain."""
        if text in self.titles:
            return text
        return one_of(self.scope.whole(self.scope.tokens(text))).name

    def told(self, text: str) -> Told:
        """What is wrong with a text that means none, and what to write."""
        what = f"there is no {self.what} '{cut(text)}'"
        if spelt := self.hints.respelt(self.scope, text):
            return what, f"did you mean '{spelt}'?"
        close = self.hints.by_meaning(self.scope, text)
        if close:
            names = " or ".join(f"{name} ({self.titles[name]})" for name in close)
            return what, f"perhaps {names}"
        return what, f"'{self.listed}' lists them"
