"""YAML read strictly: every scalar is text with its place, nothing is guessed.

Anchors, aliases, tags, directives, duplicate keys, several documents, and files past the bounds
are problems, each with its place. What a scalar means (a number, a choice, a date) is decided by
whoever reads it.

Nodes are built straight from the parser's events: that is several times faster than composing
them first, and nothing is built for what is refused.
"""

from __future__ import annotations

import re
from functools import cached_property
from pathlib import Path
from typing import Any, TypeAlias

import yaml

from fitcheck.source.garbage import none_collected
from fitcheck.source.place import UNSHOWN, BadInput, Place, Problem, Source

MOST_BYTES = 4_000_000
MOST_DEPTH = 24
_Loader: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
_OUT = "take it out"
_DIRECTIVE = re.compile(r"^%", re.MULTILINE)


class Text(str):
    """A scalar as typed, with the place it was typed at."""

    _between: tuple[Source, Any, Any]

    def __new__(cls, text: str, place: Place) -> Text:
        """The text, with its place."""
        self = super().__new__(cls, text)
        self.__dict__["place"] = place
        return self

    @classmethod
    def of_event(cls, source: Source, event: Any) -> Text:
        """The text of a parser's event; where it stands is seldom asked, and reckoned then."""
        self = super().__new__(cls, event.value)
        self._between = source, event.start_mark, event.end_mark
        return self

    @cached_property
    def place(self) -> Place:
        """Where it stands."""
        return _place(*self._between)

    def piece(self, offset: int, width: int) -> Place:
        """The place of `width` letters from `offset` on, in whichever line they stand as typed.

        >>> Text("a + b", Place(Source("r.yaml", "sum: 'a + b'"), 1, 6, 7)).piece(4, 1)
        r.yaml:1:11
        """
        line = self.place.source.line(self.place.line)
        start = line.find(self, self.place.column - 1)
        if start < 0:
            return self._folded(offset, width)
        return self.place.shifted(start - (self.place.column - 1) + offset, width)

    def _folded(self, offset: int, width: int) -> Place:
        """A piece of a text of several lines: folding changes spaces, never the letters' order."""
        source, first, column = self.place.source, self.place.line, self.place.column - 1
        if source.line(first)[column : column + 1] in (">", "|"):
            first, column = first + 1, 0
        letters, left = "".join(self.split()), len("".join(self[:offset].split()))
        seen = 0
        for number in range(first, first + self.count("\n") + len(self.split()) + 1):
            row = source.line(number).rstrip()
            for at in range(column, len(row)):
                opening = not seen and row[at] in "'\"" and row[at] != letters[:1]
                if row[at].isspace() or opening:
                    continue
                if seen == left:
                    return Place(source, number, at + 1, max(1, min(width, len(row) - at)))
                if row[at] != letters[seen]:
                    return self.place
                seen += 1
            column = 0
        return self.place

    def __reduce__(self) -> tuple[Any, ...]:
        # Places serve problems, and what is kept has none: it is kept as bare words.
        return str, (str(self),)


class Mapping(dict[Text, "Node"]):
    """A mapping in file order; keys are `Text`."""

    place: Place

    def key(self, name: str) -> Text:
        """The key as typed, for its place."""
        return next(key for key in self if key == name)


class Sequence(list["Node"]):
    """A list with its place."""

    place: Place


Node: TypeAlias = Text | Mapping | Sequence
Typed: TypeAlias = "str | list[str] | dict[str, Typed]"


def as_node(value: Typed, place: Place) -> Node:
    """What was typed elsewhere, as if it had been read from a file; raises BadInput.

    >>> as_node({"bore": ["4.00 in", "4.01 in"]}, Place(Source("a form", "")))
    {'bore': ['4.00 in', '4.01 in']}
    """
    if isinstance(value, str):
        if bad := UNSHOWN.search(value):
            raise _refused(f"the character {bad[0]!a} can't stand in a text", place, _OUT)
        return value if isinstance(value, Text) else Text(value, place)
    node: Mapping | Sequence
    if isinstance(value, dict):
        node = Mapping({Text(key, place): as_node(one, place) for key, one in value.items()})
    else:
        node = Sequence(as_node(one, place) for one in value)
    node.place = place
    return node


def read_yaml(path: Path | str, problems: list[Problem], text: str | None = None) -> Node | None:
    """Read one YAML file (or `text`, named by `path`); None after adding problems.

    >>> problems = []
    >>> node = read_yaml("example.yaml", problems, "bore: 4.00 in")
    >>> node["bore"], node["bore"].place
    ('4.00 in', example.yaml:1:7)
    """
    if text is None:
        text = _read_text(Path(path), problems)
        if text is None:
            return None
    source = Source(str(path), text)
    try:
        _check_text(source)
        with none_collected():
            return _Builder(source, problems).document()
    except _Refused as refused:
        problems += refused.problems
    except yaml.MarkedYAMLError as error:
        problems.append(_syntax_problem(error, source))
    return None


def _syntax_problem(error: yaml.MarkedYAMLError, source: Source) -> Problem:
    mark = error.problem_mark
    if mark and mark.index >= len(source.text):  # what the text ended in says more than its end
        mark = error.context_mark or mark
    place = Place(source, mark.line + 1, mark.column + 1) if mark else Place(source)
    if mark and source.text[mark.index : mark.index + 1] == "\t":
        return Problem("a tab can't stand here", place, "indent with spaces")
    return Problem(
        f"not readable as YAML: {error.problem}",
        place,
        "check the indentation, the colons and the quotes here",
    )


class _Refused(BadInput):
    """A text that is read no further."""


def _refused(what: str, place: Place, mend: str = "") -> _Refused:
    return _Refused([Problem(what, place, mend)])


def _check_text(source: Source) -> None:
    """Refuse what the parser would read for very long, or not at all."""
    if len(source.text) > MOST_BYTES:
        raise _refused(
            f"the file is longer than {MOST_BYTES:,} characters",
            Place(Source(source.name, "")),
            "split it",
        )
    if bad := UNSHOWN.search(source.text):
        raise _refused(
            f"the character {bad[0]!a} can't stand in a text file",
            _place_at(source, bad.start()),
            _OUT,
        )
    if directive := _DIRECTIVE.search(source.text):
        raise _refused(
            "directives (lines that start with %) are not read",
            _place_at(source, directive.start()),
            "leave it out",
        )


def _place_at(source: Source, index: int) -> Place:
    lines = (source.text[:index] + "^").splitlines()
    return Place(source, len(lines), len(lines[-1]))


def _read_text(path: Path, problems: list[Problem]) -> str | None:
    whole_file = Place(Source(str(path), ""))
    try:
        with path.open("rb") as file:  # never more than is used, whatever the path leads to
            data = file.read(MOST_BYTES + 1)
        if len(data) <= MOST_BYTES:
            return data.decode("utf-8-sig")
        problems.append(
            Problem(
                f"the file is larger than {MOST_BYTES:,} bytes",
                whole_file,
                "split it, or check that it is the file meant",
            )
        )
    except UnicodeDecodeError as error:
        problems.append(
            Problem(
                f"the file is not UTF-8 text (byte {error.start})", whole_file, "save it as UTF-8"
            )
        )
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        problems.append(
            Problem(
                f"the file can't be read: {reason}", whole_file, "check the name and the folder"
            )
        )
    return None


def _place(source: Source, start: Any, end: Any) -> Place:
    width = end.column - start.column if end.line == start.line else 1
    return Place(source, start.line + 1, start.column + 1, max(width, 1))


class _Builder:
    """Turns the parser's events into `Text`, `Mapping` and `Sequence`."""

    def __init__(self, source: Source, problems: list[Problem]) -> None:
        self.source = source
        self.problems = problems
        self.next = _Loader(source.text).get_event

    def document(self) -> Node | None:
        self.next()  # the stream starts
        if isinstance(self.next(), yaml.StreamEndEvent):
            raise _refused("the file is empty", Place(self.source))
        root = self._node(self.next(), 0)
        self.next()  # the document ends
        if not isinstance(extra := self.next(), yaml.StreamEndEvent):
            raise _refused(
                "a second document starts here", self._place(extra), "keep one document a file"
            )
        return root

    def _place(self, event: Any) -> Place:
        return _place(self.source, event.start_mark, event.end_mark)

    def _problem(self, what: str, place: Place, mend: str = "") -> None:
        self.problems.append(Problem(what, place, mend))

    def _node(self, event: Any, depth: int) -> Node | None:
        if depth > MOST_DEPTH:
            raise _refused(f"values are nested more than {MOST_DEPTH} deep", self._place(event))
        scalar = isinstance(event, yaml.ScalarEvent)
        if scalar and event.anchor is event.tag is None and event.style != '"':
            return Text.of_event(self.source, event)
        place = self._place(event)
        if isinstance(event, yaml.AliasEvent):
            self._problem("aliases are not read", place, "write the value out")
            return None
        if event.anchor is not None:
            self._problem("anchors are not read", place, f"leave out &{event.anchor}")
        if event.tag is not None:
            tag = event.tag.replace("tag:yaml.org,2002:", "!!")
            self._problem(f"the tag {tag} is not read", place, "leave it out")
        if scalar:
            bad = UNSHOWN.search(event.value) if event.style == '"' else None
            if bad is not None:  # written as an escape, so that the text of the file is clean
                self._problem(f"the character {bad[0]!a} can't stand in a text", place, _OUT)
                return None
            return Text.of_event(self.source, event)
        if isinstance(event, yaml.SequenceStartEvent):
            return self._sequence(place, depth + 1)
        return self._mapping(place, depth + 1)

    def _sequence(self, place: Place, depth: int) -> Sequence:
        items = Sequence()
        items.place = place
        while not isinstance(event := self.next(), yaml.SequenceEndEvent):
            item = self._node(event, depth)
            if item is not None:
                items.append(item)
        return items

    def _mapping(self, place: Place, depth: int) -> Mapping:
        entries = Mapping()
        entries.place = place
        while not isinstance(event := self.next(), yaml.MappingEndEvent):
            key, value = self._node(event, depth), self._node(self.next(), depth)
            if not isinstance(key, Text):
                if key is not None:
                    self._problem("a key must be plain text", key.place)
            elif key in entries:
                first = entries.key(key).place
                self._problem(
                    f"'{key}' is given twice; first in line {first.line}",
                    key.place,
                    "keep one of them",
                )
            elif value is not None:
                entries[key] = value
        return entries
