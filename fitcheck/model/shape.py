"""Shapes of files: pydantic models whose errors become problems with places.

A shape says which keys a mapping has and whether each holds text, a list or a mapping. Scalars
stay `Text`, so that everything read later (units, options, expressions) still knows its place.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from fitcheck.source import Mapping, Place, Problem, Text, nearest


class Shape(BaseModel):
    """Base of all file shapes: unknown keys are errors, instances don't change."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)


S = TypeVar("S", bound=Shape)
_WANTED = {
    "is_instance_of": "plain text is wanted here",
    "dict_type": "keys with values are wanted here",
    "list_type": "a list is wanted here",
    "model_type": "keys with values are wanted here",
}


def shaped(shape: type[S], node: Any, problems: list[Problem]) -> S | None:
    """`node` read as `shape`; None after adding a problem for each thing that differs."""
    try:
        return shape.model_validate(node)
    except ValidationError as error:
        seen: set[str] = set()
        for detail in error.errors(include_url=False, include_input=False):
            problem = _problem(shape, node, detail)
            if str(problem) not in seen:
                seen.add(str(problem))
                problems.append(problem)
        return None


def _problem(shape: type[Shape], root: Any, detail: Any) -> Problem:
    path = list(detail["loc"])
    if detail["type"] == "extra_forbidden":
        holder = _follow(root, path[:-1])
        key = holder.key(path[-1]) if isinstance(holder, Mapping) else path[-1]
        known = list(_fields_at(shape, path[:-1]))
        return Problem(f"the key '{key}' is not known here", _place(root, path, key),
                       nearest(str(key), known))  # fmt: skip
    if detail["type"] == "missing":
        return Problem(f"the key '{path[-1]}' is missing", _place(root, path[:-1]),
                       f"add '{path[-1]}:' here")  # fmt: skip
    what = _WANTED.get(detail["type"], detail["msg"].removeprefix("Value error, "))
    return Problem(what, _place(root, path))


def _steps(root: Any, path: list[Any]) -> Iterator[Any]:
    """The nodes along a path; pydantic's own words in it (names of union members) are passed."""
    node = root
    yield node
    for step in path:
        is_key = isinstance(node, dict) and step in node
        if is_key or (isinstance(node, list) and isinstance(step, int)):
            node = node[step]
            yield node


def _follow(root: Any, path: list[Any]) -> Any:
    return list(_steps(root, path))[-1]


def _place(root: Any, path: list[Any], key: Any = None) -> Place | None:
    if isinstance(key, Text):
        return key.place
    return next((node.place for node in reversed(list(_steps(root, path)))
                 if hasattr(node, "place")), None)  # fmt: skip


def _fields_at(shape: type[Shape], path: list[Any]) -> Iterator[str]:
    """The keys known at a path, from the shapes nested there."""
    shapes = [shape]
    for step in path:
        inner: list[type[Shape]] = []
        for current in shapes:
            if step in current.model_fields:
                inner += _shapes_in(current.model_fields[step].annotation)
        shapes = inner or shapes
    for current in shapes:
        for name, field in current.model_fields.items():
            yield field.alias or name


def _shapes_in(annotation: Any) -> list[type[Shape]]:
    if isinstance(annotation, type) and issubclass(annotation, Shape):
        return [annotation]
    return [found for arg in getattr(annotation, "__args__", ()) for found in _shapes_in(arg)]
