"""Shapes of files: dataclasses that pydantic checks, its errors told as problems with places.

A shape says which keys a mapping has and whether each holds text, a list or a mapping. Scalars
stay `Text`, so that everything read later (units, options, expressions) still knows its place.
pydantic is imported where a file is checked, for it costs more than all the rest of a command
whose rules are kept from the last run.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator
from functools import cache
from typing import TYPE_CHECKING, Any, TypeVar, cast, dataclass_transform, get_args, get_type_hints

from fitcheck.source import Mapping, Place, Problem, Sequence, Text, nearest
from fitcheck.source.place import MOST_LETTERS

if TYPE_CHECKING:
    from pydantic import TypeAdapter

S = TypeVar("S")
_MISSING = ("missing", "missing_keyword_only_argument", "missing_argument")
_WANTED = {
    "is_instance_of": "plain text is wanted here",
    "dict_type": "keys with values are wanted here",
    "list_type": "a list is wanted here",
    "dataclass_type": "keys with values are wanted here",
}


@dataclass_transform(kw_only_default=True, frozen_default=True)
def shape(made: type[S]) -> type[S]:
    """Make a class the shape of a file: no other keys, and `Text` kept as it is.

    Keys that are no Python names stand in the class's `spelt`, by the field that takes them.
    """
    made.__pydantic_config__ = {  # type: ignore[attr-defined]
        "extra": "forbid",
        "arbitrary_types_allowed": True,
    }
    made.__getstate__ = _bare_state  # type: ignore[method-assign]
    return dataclasses.dataclass(kw_only=True, eq=False, repr=False)(made)


def _bare_state(self: Any) -> dict[str, Any]:
    """What is kept of a file between runs: its words, without their places."""
    return {name: _bare(value) for name, value in vars(self).items()}


def _bare(value: Any) -> Any:
    if isinstance(value, Text):
        return str(value)
    if isinstance(value, dict):
        return {_bare(key): _bare(one) for key, one in value.items()}
    return [_bare(one) for one in value] if isinstance(value, list) else value


@cache
def _checker(made: type[Any]) -> TypeAdapter[Any]:
    from pydantic import TypeAdapter  # noqa: PLC0415

    return TypeAdapter(made)


def shaped(made: type[S], node: Any, problems: list[Problem]) -> S | None:
    """`node` read as a shape, after adding a problem for each thing that differs from it.

    What is too much or of the wrong type is left out, so that the rest can be read and what is
    wrong there told in the same run; None where something that is needed is missing.
    """
    from pydantic import ValidationError  # noqa: PLC0415

    left = respelt(made, node)
    told: set[str] | None = None
    while left is not None:
        try:
            checked: S = _checker(cast(Any, made)).validate_python(left)
            break
        except ValidationError as error:
            details = error.errors(include_url=False, include_input=False)
            if told is None:
                told = set()
                for detail in details:
                    one = _problem(made, left, detail)
                    if str(one) not in told:  # once, though several shapes could stand there
                        told.add(str(one))
                        problems.append(one)
            lacking = any(detail["type"] in (*_MISSING, "dataclass_type") for detail in details)
            left = None if lacking else _without(left, [detail["loc"] for detail in details])
    return checked if left is not None else None


def _without(root: Any, paths: list[tuple[Any, ...]]) -> Any:
    """A copy without the entries that the paths lead to; None when that is all of it."""
    copy = _copied(root)
    for path in paths:
        holder, key, node = None, None, copy
        for step in path:
            if _leads_on(node, step):
                holder, key, node = node, step, node[step]
        if holder is None:
            return None
        holder[key] = _LEFT_OUT
    return _copied(copy)


_LEFT_OUT = object()


def _copied(node: Any) -> Any:
    """The node and all beneath it anew, less what is left out."""
    if not isinstance(node, Mapping | Sequence):
        return node
    copy: Any
    if isinstance(node, Mapping):
        copy = Mapping(
            (key, _copied(value)) for key, value in node.items() if value is not _LEFT_OUT
        )
    else:
        copy = Sequence(_copied(item) for item in node if item is not _LEFT_OUT)
    copy.place = node.place
    return copy


def respelt(made: type[Any], node: Any) -> Any:
    """The node with its keys as the shape's fields are called, whatever their capitals."""
    spelt: dict[str, str] = getattr(made, "spelt", {})
    fields = {field.name for field in dataclasses.fields(made)}
    if not isinstance(node, Mapping) or (not spelt and node.keys() <= fields):
        return node
    plain = {_plain(name): name for name in fields}
    changed = Mapping()
    for key, value in node.items():
        name = spelt.get(key, str(key))
        meant = name if name in fields else plain.get(_plain(key), name)
        taken = meant in changed or (meant != key and meant in node)
        final = name if taken else meant
        changed[key if final == key else Text(final, key.place)] = value
    changed.place = node.place
    return changed


_PARTED = re.compile(r"[\W_]+")


def _plain(key: str) -> str:
    return _PARTED.sub("", key[:MOST_LETTERS]).casefold()


def _problem(made: type[Any], root: Any, detail: Any) -> Problem:
    path = list(detail["loc"])
    if detail["type"] in ("extra_forbidden", "unexpected_keyword_argument"):
        holder = _follow(root, path[:-1])
        key = holder.key(path[-1]) if isinstance(holder, Mapping) else path[-1]
        known = list(_fields_at(made, path[:-1]))
        return Problem(
            f"the key '{key}' is not known here", _place(root, path, key), nearest(str(key), known)
        )
    if detail["type"] in _MISSING:
        name = next(
            (key for key, field in getattr(made, "spelt", {}).items() if field == path[-1]),
            path[-1],
        )
        return Problem(
            f"the key '{name}' is missing", _place(root, path[:-1]), f"add '{name}:' here"
        )
    what = _WANTED.get(detail["type"], detail["msg"].removeprefix("Value error, "))
    return Problem(what, _place(root, path))


def _steps(root: Any, path: list[Any]) -> Iterator[Any]:
    """The nodes along a path; pydantic's own words in it (names of union members) are passed."""
    node = root
    yield node
    for step in path:
        if _leads_on(node, step):
            node = node[step]
            yield node


def _leads_on(node: Any, step: Any) -> bool:
    """Whether a step of a path names an entry of the node."""
    if isinstance(node, dict):
        return step in node
    return isinstance(node, list) and isinstance(step, int) and step < len(node)


def _follow(root: Any, path: list[Any]) -> Any:
    return list(_steps(root, path))[-1]


def _place(root: Any, path: list[Any], key: Any = None) -> Place | None:
    if isinstance(key, Text):
        return key.place
    return next(
        (node.place for node in reversed(list(_steps(root, path))) if hasattr(node, "place")), None
    )


def _fields_at(made: type[Any], path: list[Any]) -> Iterator[str]:
    """The keys known at a path, from the shapes nested there."""
    shapes = [made]
    for step in path:
        inner = [
            found for current in shapes for found in _shapes_in(get_type_hints(current).get(step))
        ]
        shapes = inner or shapes
    for current in shapes:
        names = {field: key for key, field in getattr(current, "spelt", {}).items()}
        yield from (names.get(field.name, field.name) for field in dataclasses.fields(current))


def _shapes_in(annotation: Any) -> list[type[Any]]:
    if dataclasses.is_dataclass(annotation) and isinstance(annotation, type):
        return [annotation]
    return [found for arg in get_args(annotation) for found in _shapes_in(arg)]
