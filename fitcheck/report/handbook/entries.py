"""What the pages of the handbook are made of: chapters of entries, each with rows of words."""

from __future__ import annotations

from collections.abc import Iterable

from fitcheck.source import frozen


@frozen
class LinkedWords:
    """Some words, which lead somewhere or not."""

    words: str
    to: str = ""


@frozen
class EntryLine:
    """A line of an entry: what is told, and the pieces of it."""

    heading: str
    pieces: tuple[LinkedWords, ...]


@frozen
class Article:
    """One thing that there is to read about; `kind` says what it is where it is found by search."""

    id: str
    title: str
    kind: str
    rows: tuple[EntryLine, ...]


@frozen
class Chapter:
    """One page: its file's name without the suffix, and its entries."""

    file: str
    title: str
    intro: str
    entries: tuple[Article, ...]


def plain(heading: str, *texts: str) -> list[EntryLine]:
    """A row for each text that is there."""
    return [EntryLine(heading, (LinkedWords(text),)) for text in texts if text]


def linked(heading: str, links: Iterable[tuple[str, str]]) -> list[EntryLine]:
    """A row of links, or none; each is its words and its address."""
    pieces = tuple(LinkedWords(words, to) for words, to in links)
    return [EntryLine(heading, pieces)] if pieces else []
