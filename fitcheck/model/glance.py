"""Files that are as they should be, read without pydantic.

pydantic says what a shape is and tells what differs from it, but importing it costs more than all
the rest of a command, and most files differ in nothing. So a file is first read at a glance: by
the same shapes, and only where every key and value is plainly what is wanted. A test holds the two
to the same answers.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Hashable
from functools import cache
from types import UnionType
from typing import Any, TypeVar, cast, get_args, get_origin, get_type_hints

from fitcheck.model.shape import respelt
from fitcheck.source import Mapping, Sequence, Text

S = TypeVar("S")
_Reader = Callable[[Any], Any]


class _Differs(Exception):
    """Something is not plainly what is wanted."""


def glanced(made: type[S], node: Any) -> S | None:
    """`node` read as a shape; None where it differs in anything, for `shaped` to tell in what."""
    try:
        found: S = _reader(cast(Hashable, made))(node)
    except _Differs:
        return None
    return found


@cache
def _reader(wanted: Hashable) -> _Reader:
    """What reads a value of an annotation."""
    if wanted is Any:
        return lambda node: node
    if wanted is Text:
        return _text
    if dataclasses.is_dataclass(wanted):
        return _shape_reader(wanted)
    origin, inner = get_origin(wanted), get_args(wanted)
    if origin is list:
        return _list_reader(_reader(inner[0]))
    if origin is dict and inner[0] is Text:
        return _dict_reader(_reader(inner[1]))
    if origin is UnionType:  # what may be left out (None) is there, or it isn't asked about
        return _either_reader([_reader(one) for one in inner if one is not type(None)])
    raise TypeError(f"no shape of a file: {wanted}")


def _text(node: Any) -> Text:
    if type(node) is not Text:
        raise _Differs
    return node


def _list_reader(item: _Reader) -> _Reader:
    def read(node: Any) -> list[Any]:
        if type(node) is not Sequence:
            raise _Differs
        return [item(one) for one in node]

    return read


def _dict_reader(value: _Reader) -> _Reader:
    def read(node: Any) -> dict[Text, Any]:
        if type(node) is not Mapping:
            raise _Differs
        return {key: value(one) for key, one in node.items()}

    return read


def _either_reader(readers: list[_Reader]) -> _Reader:
    *some, last = readers

    def read(node: Any) -> Any:
        for reader in some:
            try:
                return reader(node)
            except _Differs:
                pass
        return last(node)

    return read if some else last


def _shape_reader(made: Any) -> _Reader:
    hints = get_type_hints(made)
    fields = {field.name: _reader(hints[field.name]) for field in dataclasses.fields(made)}
    needed = {
        field.name
        for field in dataclasses.fields(made)
        if field.default is field.default_factory is dataclasses.MISSING
    }

    def read(node: Any) -> Any:
        if type(node) is not Mapping:
            raise _Differs
        node = respelt(made, node)
        if not (needed <= node.keys() <= fields.keys()):
            raise _Differs
        return made(**{str(key): fields[key](value) for key, value in node.items()})

    return read
