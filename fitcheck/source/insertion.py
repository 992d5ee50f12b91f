"""Adds to a YAML text and leaves the rest as it is: comments, order, quotes, line ends.

Text is only ever inserted, at places that the parser gives; blanks before a value may become a
line end. A mapping that must become a list keeps its lines where they are: YAML lets the dashes
stand under the key.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any, TypeAlias

import yaml

_Loader: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
Value: TypeAlias = "str | Sequence[str] | Mapping[str, Value]"
Entry: TypeAlias = Mapping[str, Value]
Step: TypeAlias = "str | int"
_PLAIN = re.compile(r"[A-Za-z0-9.](?:[A-Za-z0-9 ._/+'%-]*[A-Za-z0-9._/+'%-])?")
# What other readers of YAML would take for a number, a truth or nothing.
_TAKEN_FOR_MORE = re.compile(
    r"[0-9.][0-9._]*(?:e[0-9+-]+)?|0[xo][0-9a-f]+|\.(?:inf|nan)|y|yes|n|no|true|false|on|off|null",
    re.IGNORECASE,
)


def with_entries(text: str, path: Sequence[str], key: str, entries: Sequence[Entry]) -> str:
    """The text with further mappings under `key` of the mapping at `path`.

    One mapping that stood there becomes the first of a list; where `key` is missing it is added
    before `contains`, or at the end.

    >>> print(with_entries("head:\\n  measured: {by: me, bore: 1 in}  # cold\\n", ["head"],
    ...                    "measured", [{"by": "you", "bore": {"3 exhaust": "2 in"}}]))
    head:
      measured:
      - {by: me, bore: 1 in}  # cold
      - by: you
        bore:
          3 exhaust: 2 in
    <BLANKLINE>
    """
    return _Insertion(text, node_at(composed(text), path), key, entries).result()


def with_pair(text: str, path: Sequence[Step], key: str, value: Value) -> str:
    """The text with one more key in the mapping at `path`, a place of which may be in a list.

    >>> print(with_pair("head:\\n  claimed:\\n  # nothing yet\\n",
    ...                 ["head", "claimed"], "bore", "1 in"))
    head:
      claimed:
        bore: 1 in
      # nothing yet
    <BLANKLINE>
    """
    root = composed(text)
    holder = node_at(root, path)
    insertion = _Insertion(text, holder, key, [])
    if isinstance(holder, yaml.ScalarNode):
        inside = node_at(root, path[:-1])
        name = next(known for known, _ in inside.value if known.value == path[-1])
        return insertion.beneath(name, value, flow=bool(inside.flow_style))
    return insertion.one(value)


def composed(text: str) -> Any:
    """The nodes of a text, with where each starts and ends."""
    return yaml.compose(text, Loader=_Loader)


def node_at(root: Any, path: Sequence[Step]) -> Any:
    """The node that a path of keys and places in lists leads to."""
    node = root
    for step in path:
        if isinstance(step, int):
            node = node.value[step]
        else:
            node = next(value for known, value in node.value if known.value == step)
    return node


class _Insertion:
    def __init__(self, text: str, holder: Any, key: str, entries: Sequence[Entry]) -> None:
        self.text = text
        self.holder = holder
        self.key = key
        self.entries = entries
        first = re.search(r"\r\n|\r|\n", text)
        self.newline = first[0] if first else "\n"

    def result(self) -> str:
        found = [pair for pair in self.holder.value if pair[0].value == self.key]
        if not found:
            return self._new_key()
        key, value = found[0]
        if isinstance(value, yaml.ScalarNode) and not value.value:  # with nothing beneath it yet
            if not self.holder.flow_style:
                column = key.start_mark.column + 2
                more = len(self.entries) > 1
                lines = self._items(column) if more else _block(self.entries[0], column)
                return self._after_line(key.end_mark.index, lines)
            return self._spliced(value.start_mark.index, value.end_mark.index, self._spelt_flow())
        if isinstance(value, yaml.SequenceNode):
            return self._longer_list(value)
        if self.holder.flow_style:
            return self._list_in_flow(value)
        return self._list_in_block(key, value)

    # One more key.

    def one(self, value: Value) -> str:
        """The text with the key in its holder."""
        if self.holder.flow_style:
            return self._in_flow(self.holder, f"{scalar(self.key)}: {inline(value)}")
        column = self.holder.start_mark.column
        ahead = [last for _, last in self._before_contains()]
        lines = _block({self.key: value}, column)
        if not ahead:
            at = self.holder.start_mark.index - column
            return self._spliced(at, at, "".join(line + self.newline for line in lines))
        return self._after_line(_end(ahead[-1], self.text), lines)

    def beneath(self, name: Any, value: Value, *, flow: bool) -> str:
        """The text with the key alone beneath a name that has nothing beneath it yet."""
        start, end = self.holder.start_mark.index, self.holder.end_mark.index
        if flow or self.holder.value or start < end:
            return self._spliced(start, end, f" {_flow({self.key: value})}")
        lines = _block({self.key: value}, name.start_mark.column + 2)
        return self._after_line(name.end_mark.index, lines)

    # A key that is not there yet.

    def _spelt_flow(self) -> str:
        return _flow(self.entries[0]) if len(self.entries) == 1 else _flow_list(self.entries)

    def _new_key(self) -> str:
        if self.holder.flow_style:
            return self._in_flow(self.holder, f"{self.key}: {self._spelt_flow()}")
        column = self.holder.start_mark.column
        lines = [" " * column + f"{self.key}:"]
        if len(self.entries) == 1:
            lines += _block(self.entries[0], column + 2)
        else:
            lines += self._items(column + 2)
        ahead = [value for name, value in self._before_contains()]
        if not ahead:
            at = self.holder.start_mark.index - column
            return self._spliced(at, at, "".join(line + self.newline for line in lines))
        return self._after_line(_end(ahead[-1], self.text), lines)

    def _before_contains(self) -> list[tuple[Any, Any]]:
        pairs: list[tuple[Any, Any]] = self.holder.value
        names = [name.value for name, _ in pairs]
        return pairs[: names.index("contains")] if "contains" in names else pairs

    # A list that is there.

    def _longer_list(self, node: Any) -> str:
        if node.flow_style:
            return self._in_flow(node, ", ".join(map(_flow, self.entries)))
        return self._after_line(_end(node, self.text), self._items(node.start_mark.column))

    # A mapping that becomes a list.

    def _list_in_flow(self, node: Any) -> str:
        end = node.end_mark.index
        more = f",{self._flow_indent()}".join(map(_flow, self.entries))
        text = self._spliced(end, end, f",{self._flow_indent()}{more}]")
        start: int = node.start_mark.index
        return f"{text[:start]}[{text[start:]}"

    def _list_in_block(self, key: Any, node: Any) -> str:
        start: int = node.start_mark.index
        indent: int = node.start_mark.column
        end = _end(node, self.text)
        own_line = not self.text[start - indent : start].strip()
        dash: int = key.start_mark.column
        if own_line and indent >= dash + 2:
            dash = indent - 2
        text = self._after_line(end, self._items(dash))
        if not own_line:
            gap = len(text[:start].rstrip())
            return f"{text[:gap]}{self.newline}{' ' * dash}- {text[start:]}"
        block = text[start:end]
        if indent < dash + 2:  # indented by a single blank, which leaves no room for the dash
            block = re.sub(r"(\r\n|\r|\n)(?=[^\r\n])", r"\1 ", block)
        return f"{text[: start - indent]}{' ' * dash}- {block}{text[end:]}"

    # Splicing.

    def _items(self, column: int) -> list[str]:
        lines = []
        for entry in self.entries:
            first, *rest = _block(entry, column + 2)
            lines += [f"{' ' * column}- {first[column + 2 :]}", *rest]
        return lines

    def _flow_indent(self) -> str:
        column: int = self.holder.start_mark.column
        return self.newline + " " * (column + 1)

    def _in_flow(self, node: Any, piece: str) -> str:
        parts = node.value
        if not parts:
            at = node.start_mark.index + 1
            return self._spliced(at, at, piece)
        last = parts[-1][1] if isinstance(node, yaml.MappingNode) else parts[-1]
        at = last.end_mark.index
        return self._spliced(at, at, f",{self._flow_indent()}{piece}")

    def _after_line(self, at: int, lines: list[str]) -> str:
        """Insert lines after the line that holds `at`, whose remark stays on it."""
        ended = re.compile(r"\r\n|\r|\n").search(self.text, at)
        if ended is None:
            piece = self.newline + self.newline.join(lines)
            return self._spliced(len(self.text), len(self.text), piece)
        piece = "".join(line + self.newline for line in lines)
        return self._spliced(ended.end(), ended.end(), piece)

    def _spliced(self, start: int, end: int, piece: str) -> str:
        return self.text[:start] + piece + self.text[end:]


def _end(node: Any, text: str) -> int:
    """Where a node's own text ends: a block's marks reach on to the next node."""
    if isinstance(node, yaml.ScalarNode) or node.flow_style:
        return len(text[: node.end_mark.index].rstrip()) if node.end_mark.index else 0
    last = node.value[-1]
    return _end(last[1] if isinstance(last, tuple) else last, text)


def _block(entry: Entry, column: int) -> list[str]:
    lines = []
    for key, value in entry.items():
        if isinstance(value, Mapping):
            lines.append(f"{' ' * column}{scalar(key)}:")
            lines += _block(value, column + 2)
        else:
            lines.append(f"{' ' * column}{scalar(key)}: {inline(value)}")
    return lines


def inline(value: Value) -> str:
    """A value on one line."""
    if isinstance(value, str):
        return scalar(value)
    if isinstance(value, Mapping):
        return _flow(value)
    return "[" + ", ".join(map(scalar, value)) + "]"


def _flow(entry: Entry) -> str:
    return "{" + ", ".join(f"{scalar(key)}: {inline(v)}" for key, v in entry.items()) + "}"


def _flow_list(entries: Sequence[Entry]) -> str:
    return "[" + ", ".join(map(_flow, entries)) + "]"


def scalar(text: str) -> str:
    """A text as it stands in YAML, in quotes where it could be taken for more."""
    plain = _PLAIN.fullmatch(text) and not _TAKEN_FOR_MORE.fullmatch(text)
    return text if plain else json.dumps(text, ensure_ascii=False)
