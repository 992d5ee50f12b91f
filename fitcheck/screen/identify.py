"""Which listed part an unknown one may be, and what to measure to tell.

A listed part is ruled out when one of its figures and the same figure of the part at hand have no
value in common; a load read at a height, when the listed part presses otherwise there. A
measurement tells two listed parts apart when their figures are further apart than it can be read.
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.knowledge import Knowledge, Procedure
from fitcheck.model import SIDES, Attribute, Part
from fitcheck.quantity import Quantity
from fitcheck.screen.loads import PAIRS, SLOT, agreeing, loads_of, pressed_at
from fitcheck.screen.store import Catalog, CatalogPart
from fitcheck.screen.tables import column_of, figures

# Papers and owners tell nothing of an unknown part; a load without its height tells nothing.
_NOT_BY_HAND = ("from_paper", "asked_of_owner", "spring_load", "spring_load_height")
MOST_MATCHES = 400
USUAL_MINUTES = 5


@dataclass(frozen=True, slots=True)
class Telling:
    """A measurement: of the parts that match, how many it leaves on average.

    A load is read `at` a height.
    """

    attribute: Attribute
    procedure: Procedure | None
    minutes: int
    leaves: float
    at: str = ""


@dataclass(frozen=True, slots=True)
class Identified:
    """The listed parts that may be this one (at most so many shown), and what tells them apart.

    `unused` are figures told of it that no list can be asked by.
    """

    count: int
    matches: list[CatalogPart]
    tell: list[Telling]
    unused: tuple[Attribute, ...] = ()


def identify(catalog: Catalog, slot: str, parts: Sequence[Part], most: int = 5) -> Identified:
    """Which parts of a catalog a part at hand may be."""
    if not catalog.count(slot):
        return Identified(0, [], [])
    told = {s.attribute.name: s.attribute for part in parts for s in part.statements}
    loads = loads_of(parts)
    sided = catalog.sided(slot)
    where = [text for part in parts for text in _agrees(slot, part, sided)]
    if loads:
        where.append(f"rowid IN ({agreeing(catalog, loads)})")
    where_all = " AND ".join(["TRUE", *where])
    rows = catalog.run(f'SELECT rowid FROM "{slot}" WHERE {where_all} ORDER BY rowid')
    numbers = [number for (number,) in rows]
    tell = _telling(catalog, slot, numbers[:MOST_MATCHES], told) if len(numbers) > 1 else []
    asked_by = {name for load in loads for name in load.told}
    unused = [
        attribute
        for name, attribute in told.items()
        if attribute.measure in _NOT_BY_HAND and name not in asked_by
    ]
    return Identified(len(numbers), catalog.listed(slot, numbers[:most]), tell, tuple(unused))


def _agrees(slot: str, part: Part, sided: Container[str]) -> list[str]:
    """What a listed part's columns must say to be this part, on one side at least."""
    found = []
    for statement in part.statements:
        own, value = statement.attribute.short_name, statement.value
        if statement.attribute.measure in _NOT_BY_HAND:
            continue
        side = statement.selector.side
        sides = [side] if side else SIDES
        told = []
        for one in sides if statement.attribute.name in sided else [""]:
            known, low, high, mask = (
                column_of(own, part, one) for part in ("", "__lo", "__hi", "__mask")
            )
            if isinstance(value, Quantity):
                meets = f"{low} <= {float(value.upper)!r} AND {high} >= {float(value.lower)!r}"
                told.append(f"({known} IS NULL OR ({meets}))")
            elif isinstance(value, int):
                told.append(f"({known} IS NULL OR ({mask} & {value}) <> 0)")
        found += [f"({' OR '.join(told)})"] if told else []
    return found


def _telling(
    catalog: Catalog, slot: str, numbers: Sequence[int], told: Container[str]
) -> list[Telling]:
    """Measurements in order of how few parts each leaves, a minute of work breaking the tie."""
    knowledge = catalog.knowledge
    by_hand = [
        (own, attribute)
        for own, attribute in figures(slot, knowledge).items()
        if attribute.name not in told and attribute.measure not in _NOT_BY_HAND
    ]
    left = [
        (attribute, _left(catalog, slot, own, attribute, numbers), "") for own, attribute in by_hand
    ]
    load = PAIRS[0][0]
    if slot == SLOT and load not in told and (pressed := pressed_at(catalog, numbers)):
        attribute = knowledge.attributes[load]
        left.append((attribute, _left_of(pressed[1], attribute, knowledge), pressed[0]))
    found = []
    for attribute, leaves, at in left:
        if leaves is not None and leaves < len(numbers) - 1e-9:
            procedure = knowledge.procedures.get(attribute.measure)
            minutes = procedure.minutes if procedure else USUAL_MINUTES
            found.append(Telling(attribute, procedure, minutes, leaves, at))
    return sorted(found, key=lambda one: (one.leaves, one.minutes, one.attribute.name))


def _left(
    catalog: Catalog, slot: str, own: str, attribute: Attribute, numbers: Sequence[int]
) -> float | None:
    """How many parts a reading leaves on average, taken as true of each part in turn."""
    rows = ", ".join(map(str, numbers))
    if attribute.kind is None:
        masks = [
            m for (m,) in catalog.run(f'SELECT "{own}__mask" FROM "{slot}" WHERE rowid IN ({rows})')
        ]
        if any(mask is None for mask in masks):
            return None
        return float(np.mean([sum(bool(a & b) for b in masks) for a in masks]))
    ends = catalog.run(f'SELECT "{own}__lo", "{own}__hi" FROM "{slot}" WHERE rowid IN ({rows})')
    if any(low is None for low, _ in ends):
        return None
    return _left_of(ends, attribute, catalog.knowledge)


def _left_of(
    ends: Sequence[tuple[float, float]], attribute: Attribute, knowledge: Knowledge
) -> float:
    """The same of figures by their ends: of which a reading in the middle of one may be."""
    low, high = np.array(ends, float).T
    middle = (low + high) / 2
    half = float(knowledge.resolution_of(attribute) or 0) / 2
    meets = (low[None, :] <= middle[:, None] + half) & (high[None, :] >= middle[:, None] - half)
    return float(meets.sum(axis=1).mean())
