"""Changes what stands in a YAML text, and leaves the rest of it as it is.

What is changed is named by its place, as the reader of the text told it: line and column of where
a value starts.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import yaml

from fitcheck.source.insertion import Value, composed, inline
from fitcheck.source.place import Place

_LINE_END = re.compile(r"\r\n|\r|\n")
_Pair = tuple[Any, int]  # a mapping, and which of its pairs


def with_value(text: str, place: Place, value: Value) -> str:
    """The text with another value where one starts; what is remarked behind it stays.

    >>> from fitcheck.source import Source
    >>> source = Source("r.yaml", "a: {b: 1}  # one")
    >>> with_value(source.text, Place(source, 1, 8), "2 in")
    'a: {b: 2 in}  # one'
    """
    mapping, number = _pairs(text, place)[-1]
    node = mapping.value[number][1]
    start, end = node.start_mark.index, node.end_mark.index
    if not isinstance(node, yaml.ScalarNode) and not node.flow_style:
        raise ValueError("a block is not replaced as a whole")
    whole = text[start:end]
    end -= len(whole) - len(whole.rstrip())  # a folded text reaches to the next line
    return f"{text[:start]}{inline(value)}{text[end:]}"


def without_pair(text: str, place: Place) -> str:
    """The text without the key whose value starts at a place, and without what it alone stood in.

    A mapping of places that has no other goes with it; a part or a block of figures stays.

    >>> from fitcheck.source import Source
    >>> source = Source("r.yaml", "a:\\n  b: 1  # one\\n  c: 2\\n")
    >>> without_pair(source.text, Place(source, 2, 6))
    'a:\\n  c: 2\\n'
    """
    return _without(text, _pairs(text, place))


def without_key(text: str, path: Sequence[str]) -> str:
    """The text without the key that a path of keys leads to, and all beneath it."""
    root, pairs = composed(text), []
    for step in path:
        number = next(n for n, (key, _) in enumerate(root.value) if key.value == step)
        pairs.append((root, number))
        root = root.value[number][1]
    return _without(text, pairs)


def _without(text: str, pairs: list[_Pair]) -> str:
    mapping, number = pairs[-1]
    if len(mapping.value) == 1 and len(pairs) > 1 and _of_places(mapping):
        mapping, number = pairs[-2]
    if mapping.flow_style:
        return _out_of_flow(text, mapping, number)
    key, value = mapping.value[number]
    start = key.start_mark.index - key.start_mark.column
    if text[start : key.start_mark.index].strip():  # behind a dash of a list
        return _behind_a_dash(text, mapping, number)
    return text[:start] + text[_line_after(text, value) :]


def _of_places(mapping: Any) -> bool:
    """Whether a mapping says for one place what it is of a figure."""
    name = mapping.value[0][0].value
    return bool(re.fullmatch(r"all|.*\b(?:intakes?|exhausts?|cylinder|bank)\b.*|[0-9]+", name))


def _out_of_flow(text: str, mapping: Any, number: int) -> str:
    key, value = mapping.value[number]
    start, end = key.start_mark.index, value.end_mark.index
    if number + 1 < len(mapping.value):
        end = mapping.value[number + 1][0].start_mark.index
    elif number:
        start = mapping.value[number - 1][1].end_mark.index
    return text[:start] + text[end:]


def _behind_a_dash(text: str, mapping: Any, number: int) -> str:
    key, value = mapping.value[number]
    if number + 1 < len(mapping.value):
        return text[: key.start_mark.index] + text[mapping.value[number + 1][0].start_mark.index :]
    return f"{text[: key.start_mark.index]}{{}}{text[_end(value) :]}"


def _end(node: Any) -> int:
    end: int = node.end_mark.index
    return end


def _line_after(text: str, node: Any) -> int:
    """Where the line after a value starts: a block's own marks reach on to the next node."""
    last = node
    while not isinstance(last, yaml.ScalarNode) and not last.flow_style:
        last = last.value[-1][1] if isinstance(last, yaml.MappingNode) else last.value[-1]
    whole = text[last.start_mark.index : last.end_mark.index].rstrip()
    found = _LINE_END.search(text, last.start_mark.index + len(whole))
    return found.end() if found else len(text)


def _pairs(text: str, place: Place) -> list[_Pair]:
    """The pairs of mappings that lead to the value at a place, the outermost first."""
    found: list[_Pair] = []
    _search(composed(text), place.line - 1, place.column - 1, [], found)
    if not found:
        raise ValueError(f"no value starts at {place}")
    return found


def _search(node: Any, line: int, column: int, path: list[_Pair], found: list[_Pair]) -> None:
    if isinstance(node, yaml.MappingNode):
        for number, (_, value) in enumerate(node.value):
            way = [*path, (node, number)]
            mark = value.start_mark
            if (mark.line, mark.column) == (line, column):
                found[:] = way
            _search(value, line, column, way, found)
    elif isinstance(node, yaml.SequenceNode):
        for one in node.value:
            _search(one, line, column, path, found)
