"""Pieces of JSON Schemas: the shapes of files, figures with their units, names with words.

A plain scalar is text to the readers of fitcheck's files, whatever an editor takes it for; so a
scalar here may be of any plain type where a reader takes any text.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable
from types import UnionType
from typing import Any, get_args, get_origin, get_type_hints

from fitcheck.quantity.units import UNITS, Kind, unit_names
from fitcheck.report.schema_words import named
from fitcheck.source import Text

Schema = dict[str, Any]
SCALAR: Schema = {"type": ["string", "number", "boolean", "null"]}
YES_NO: Schema = {"enum": ["yes", "no"]}
DATE: Schema = {
    "type": "string",
    "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$",
    "description": "year-month-day, as in 2026-03-09",
}
WHERE = r"^(?=.)(all|(bank [\w-]+ ?)?((cylinder )?[0-9]{1,2} ?)?((intake|exhaust)s?)?)$"
# What stands behind one of these is a figure of another kind: a height, a wall, a remark.
_SEVERAL = r"(@|\bat\b|\bx\b|[0-9]x|\()"


def shape_schema(made: type[Any], own: dict[str, Schema], without: str = "") -> Schema:
    """A shape's schema; `own` says of some fields more than the shape does, and has some more."""
    hints = get_type_hints(made)
    spelt = {field: key for key, field in getattr(made, "spelt", {}).items()}
    properties, required = {}, []
    for field in dataclasses.fields(made):
        name = spelt.get(field.name, field.name)
        properties[name] = own.get(name) or schema_of(hints[field.name])
        if field.default is field.default_factory is dataclasses.MISSING:
            required.append(name)
    properties = {key: said for key, said in (properties | own).items() if key != without}
    otherwise = {f"^(?!{key}$){named(key)}": said for key, said in properties.items()}
    whole = closed(properties, required, otherwise)
    if required:  # `Build:` is `build:` too
        whole["anyOf"] = [
            {"required": whole.pop("required")},
            {"allOf": [_has(named(key)) for key in required]},
        ]
    return whole


def _has(pattern: str) -> Schema:
    """What has a key of this pattern."""
    return {"not": {"propertyNames": {"not": {"pattern": f"^{pattern}$"}}}}


def schema_of(wanted: Any) -> Schema:
    """The schema of an annotation of a shape."""
    if wanted is Any:
        return {}
    if wanted is Text:
        return SCALAR
    if dataclasses.is_dataclass(wanted):
        return shape_schema(wanted, {})  # type: ignore[arg-type]
    origin, inner = get_origin(wanted), get_args(wanted)
    if origin is list:
        return {"type": "array", "items": schema_of(inner[0])}
    if origin is dict:
        return {"type": "object", "additionalProperties": schema_of(inner[1])}
    assert origin is UnionType
    return any_of(schema_of(one) for one in inner if one is not type(None))


def any_of(some: Iterable[Schema]) -> Schema:
    """What holds to one of some schemas at least."""
    found = list(some)
    return found[0] if len(found) == 1 else {"anyOf": found}


def closed(
    properties: dict[str, Schema],
    required: Iterable[str] = (),
    also: dict[str, Schema] | None = None,
) -> Schema:
    """A mapping with these keys, those of the patterns `also`, and no others."""
    made: Schema = {
        "type": "object",
        "properties": properties,
        "required": list(required),
        "additionalProperties": False,
    }
    return {**made, "patternProperties": also} if also else made


def one_named(names: Iterable[tuple[str, str]]) -> Schema:
    """One of some names, each with words on what it is."""
    return {"anyOf": [{"const": name, "description": words} for name, words in names]}


def or_worded(one: Schema, pattern: str, told: str) -> Schema:
    """One of some names, or what people say instead; `told` where it is neither."""
    words = {"type": ["string", "number"], "pattern": pattern, "patternErrorMessage": told}
    return {"anyOf": [*one["anyOf"], words]}


def list_of(items: Schema) -> Schema:
    """A list of such items."""
    return {"type": "array", "items": items}


def fragment(name: str) -> str:
    """A name that stands in references: without blanks, which not every editor reads there."""
    return name.replace(" ", "_")


def quantity(kind: Kind) -> Schema:
    """A figure of a kind: with a number in it, and with no unit of another kind at its end.

    Its unit may be left out: a reader then takes the one in which it is plausible, or asks.
    """
    own = {name for unit in UNITS if unit.kind == kind.name for name in (unit.name, *unit.also)}
    others = {name for unit in UNITS for name in (unit.name, *unit.also) if name not in own}
    foreign = "|".join(re.escape(name).replace(r"\ ", " ") for name in sorted(others) if name)
    ending = rf"(?!(?!.*{_SEVERAL}).*[0-9]\s*({foreign})\s*$)"
    units = ", ".join(unit_names(kind))
    return {
        "type": ["string", "number"],
        "pattern": f"^(?=.*[0-9]){ending}",
        "patternErrorMessage": f"write a figure with its unit: {units}"
        if units
        else "write a number",
    }


def by_place(value: Schema) -> Schema:
    """One value, or one for each of some places."""
    places = closed({}, also={WHERE: value})
    return any_of([value, {**places, "minProperties": 1}])


def item_of(made: type[Any], name: str) -> type[Any]:
    """The shape of the entries that a field of a shape holds."""
    found: type[Any] = get_args(get_type_hints(made)[name])[-1]
    return found
