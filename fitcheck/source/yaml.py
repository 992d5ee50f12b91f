"""YAML read strictly: every scalar is text with its place, nothing is guessed.

Aliases, tags, duplicate keys, several documents, and files past the bounds are problems, each
with its place. What a scalar means (a number, a choice, a date) is decided by whoever reads it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, TypeAlias

import yaml

from fitcheck.source.place import Place, Problem, Source

MOST_BYTES = 4_000_000
MOST_DEPTH = 24
_Loader: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


class Text(str):
    """A scalar as typed, with the place it was typed at."""

    place: Place

    def __new__(cls, text: str, place: Place) -> Text:
        self = super().__new__(cls, text)
        self.place = place
        return self

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
    if len(text) > MOST_BYTES:
        problems.append(Problem(f"the file is longer than {MOST_BYTES:,} characters",
                                Place(Source(str(path), "")), "split it"))  # fmt: skip
        return None
    if _deepest_bracket(text) > MOST_DEPTH:
        problems.append(Problem(f"brackets are nested more than {MOST_DEPTH} deep", Place(source)))
        return None
    loader = _Loader(text)
    try:
        root = loader.get_single_node()
    except yaml.YAMLError as error:
        problems.append(_syntax_problem(error, source))
        return None
    except RecursionError:
        problems.append(Problem(f"values are nested more than {MOST_DEPTH} deep", Place(source)))
        return None
    finally:
        loader.dispose()
    if root is None:
        problems.append(Problem("the file is empty", Place(source)))
        return None
    return _Builder(source, problems).build(root, 0)


def _read_text(path: Path, problems: list[Problem]) -> str | None:
    whole_file = Place(Source(str(path), ""))
    try:
        if path.is_file() and path.stat().st_size > MOST_BYTES:
            problems.append(Problem(f"the file is larger than {MOST_BYTES:,} bytes", whole_file,
                                    "split it, or check that it is the file you meant"))  # fmt: skip
            return None
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        problems.append(Problem(f"the file is not UTF-8 text (byte {error.start})", whole_file,
                                "save it as UTF-8"))  # fmt: skip
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        problems.append(Problem(f"the file can't be read: {reason}", whole_file,
                                "check the name and the folder"))  # fmt: skip
    return None


def _deepest_bracket(text: str) -> int:
    depth = deepest = 0
    for char in text:
        if char in "[{":
            depth += 1
            deepest = max(deepest, depth)
        elif char in "]}":
            depth = max(0, depth - 1)
    return deepest


def _syntax_problem(error: yaml.YAMLError, source: Source) -> Problem:
    mark = getattr(error, "problem_mark", None)
    place = Place(source, mark.line + 1, mark.column + 1) if mark else Place(source)
    what = getattr(error, "problem", None) or str(error).splitlines()[0]
    if "alias" in what:
        return Problem("aliases are not read", place, "write the value out")
    return Problem(f"not readable as YAML: {what}", place,
                   "check the indentation, the colons and the quotes here")  # fmt: skip


class _Builder:
    """Turns composed nodes into `Text`, `Mapping` and `Sequence`."""

    def __init__(self, source: Source, problems: list[Problem]) -> None:
        self.source = source
        self.problems = problems
        self.seen: set[int] = set()

    def build(self, node: Any, depth: int) -> Node | None:
        mark = node.start_mark
        # A tab or a wide sign counts as one column, as in an editor's own count.
        width = node.end_mark.column - mark.column if node.end_mark.line == mark.line else 1
        place = Place(self.source, mark.line + 1, mark.column + 1, max(width, 1))
        if id(node) in self.seen:
            self.problems.append(Problem("aliases are not read", self._alias_place(place),
                                         "write the value out"))  # fmt: skip
            return None
        if depth > MOST_DEPTH:
            self.problems.append(Problem(f"values are nested more than {MOST_DEPTH} deep", place))
            return None
        self.seen.add(id(node))
        if not node.tag.startswith("tag:yaml.org,2002:"):
            self.problems.append(Problem(f"the tag {node.tag} is not read", place, "leave it out"))
            return None
        if isinstance(node, yaml.ScalarNode):
            return Text(node.value, place)
        if isinstance(node, yaml.SequenceNode):
            items = Sequence()
            items.place = place
            built = (self.build(item, depth + 1) for item in node.value)
            items.extend(item for item in built if item is not None)
            return items
        return self._mapping(node, place, depth)

    def _mapping(self, node: Any, place: Place, depth: int) -> Mapping:
        entries = Mapping()
        entries.place = place
        for key_node, value_node in node.value:
            key = self.build(key_node, depth + 1)
            value = self.build(value_node, depth + 1)
            if not isinstance(key, Text):
                if key is not None:
                    self.problems.append(Problem("a key must be plain text", key.place))
            elif key in entries:
                first = entries.key(key).place
                self.problems.append(Problem(f"'{key}' is given twice; first in line {first.line}",
                                             key.place, "keep one of them"))  # fmt: skip
            elif value is not None:
                entries[key] = value
        return entries

    def _alias_place(self, fallback: Place) -> Place:
        for token in yaml.scan(self.source.text):
            if isinstance(token, yaml.AliasToken):
                mark = token.start_mark
                return Place(self.source, mark.line + 1, mark.column + 1, len(token.value) + 1)
        return fallback
