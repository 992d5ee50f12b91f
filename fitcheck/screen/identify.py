"""Which listed part an unknown one may be, and what to measure to tell.

A listed part is ruled out when one of its figures and the same figure of the part at hand have no
value in common. A measurement tells two listed parts apart when their figures are further apart
than it can be read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.knowledge import Procedure
from fitcheck.model import Attribute, Part
from fitcheck.quantity import Quantity
from fitcheck.screen.store import Catalog, Offer, figures

# Papers and owners tell nothing of an unknown part; a load belongs to a height that a list chose.
_NOT_BY_HAND = ("from_paper", "asked_of_owner", "spring_load", "spring_load_height")
MOST_MATCHES = 400
USUAL_MINUTES = 5


@dataclass(frozen=True, slots=True)
class Telling:
    """A measurement: of the parts that match, how many it leaves on average."""

    attribute: Attribute
    procedure: Procedure | None
    minutes: int
    leaves: float


@dataclass(frozen=True, slots=True)
class Identified:
    """The listed parts that may be this one (at most so many shown), and what tells them apart.

    `unused` are figures told of it that no list can be asked by.
    """

    count: int
    matches: list[Offer]
    tell: list[Telling]
    unused: tuple[Attribute, ...] = ()


def identify(catalog: Catalog, slot: str, parts: Sequence[Part], most: int = 5) -> Identified:
    """Which parts of a catalog a part at hand may be."""
    if not catalog.count(slot):
        return Identified(0, [], [])
    where = " AND ".join(["TRUE", *(text for part in parts for text in _agrees(slot, part))])
    numbers = [
        n for (n,) in catalog.run(f'SELECT rowid FROM "{slot}" WHERE {where} ORDER BY rowid')
    ]
    told = {s.attribute.name for part in parts for s in part.statements}
    tell = _telling(catalog, slot, numbers[:MOST_MATCHES], told) if len(numbers) > 1 else []
    unused = {
        s.attribute.name: s.attribute
        for part in parts
        for s in part.statements
        if s.attribute.measure in _NOT_BY_HAND
    }
    matches = catalog.listed(slot, numbers[:most])
    return Identified(len(numbers), matches, tell, tuple(unused.values()))


def _agrees(slot: str, part: Part) -> list[str]:
    """What a listed part's columns must say to be this part."""
    found = []
    for statement in part.statements:
        own, value = statement.attribute.name.partition(".")[2], statement.value
        if statement.attribute.measure in _NOT_BY_HAND:
            continue
        if isinstance(value, Quantity):
            low, high = float(value.lower), float(value.upper)
            found.append(
                f'("{own}" IS NULL OR ("{own}__lo" <= {high!r} AND "{own}__hi" >= {low!r}))'
            )
        elif isinstance(value, int):
            found.append(f'("{own}" IS NULL OR ("{own}__mask" & {value}) <> 0)')
    return found


def _telling(catalog: Catalog, slot: str, numbers: Sequence[int], told: set[str]) -> list[Telling]:
    """Measurements in order of how few parts each leaves, a minute of work breaking the tie."""
    found = []
    for own, attribute in figures(slot, catalog.knowledge).items():
        if attribute.name in told or attribute.measure in _NOT_BY_HAND:
            continue
        leaves = _left(catalog, slot, own, attribute, numbers)
        if leaves is not None and leaves < len(numbers) - 1e-9:
            procedure = catalog.knowledge.procedures.get(attribute.measure)
            minutes = procedure.minutes if procedure else USUAL_MINUTES
            found.append(Telling(attribute, procedure, minutes, leaves))
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
    low, high = np.array(ends, float).T
    middle = (low + high) / 2
    procedure = catalog.knowledge.procedures.get(attribute.measure)
    half = 0.0
    if (
        procedure
        and procedure.resolution
        and procedure.resolution.kind.dimension == attribute.kind.dimension
    ):
        half = float(procedure.resolution.interval.middle) / 2
    meets = (low[None, :] <= middle[:, None] + half) & (high[None, :] >= middle[:, None] - half)
    return float(meets.sum(axis=1).mean())
