"""Where a figure is taken, and what it takes there."""

from __future__ import annotations

from collections.abc import Iterable

from fitcheck.knowledge import Procedure
from fitcheck.model import EVERYWHERE, Attribute, Each, Position, Selector

# Where nobody says how a figure is found; and to say whether a part is fitted.
USUAL_MINUTES, TO_SAY = 5, 1


def fitted(attribute: Attribute) -> bool:
    """Whether it tells that a part is fitted: said by listing it, or that there is none."""
    return attribute.name == f"{attribute.slot}.present"


def place_of(each: Each, position: Position) -> Position:
    """Where an attribute of a level is found for a position that may be finer."""
    if each == "engine":
        return Position()
    if each == "bank":
        return Position(bank=position.bank)
    return Position(position.bank, position.cylinder, position.side if each == "valve" else None)


def selectors(
    attribute: Attribute, procedure: Procedure | None, positions: Iterable[Position]
) -> list[Selector]:
    """The places a figure is taken at; what is read on paper or by eye is alike on a side."""
    read = procedure is not None and procedure.resolution is not None
    if read and attribute.kind is not None:
        return [
            Selector(p.bank if p.cylinder is None else None, p.cylinder, p.side) for p in positions
        ]
    if attribute.each == "valve":
        sides = dict.fromkeys(position.side for position in positions)
        return [Selector(side=side) for side in sides]
    return [EVERYWHERE]


def minutes(
    attribute: Attribute, procedure: Procedure | None, positions: Iterable[Position]
) -> int:
    """The work at all these places together."""
    if fitted(attribute):
        return TO_SAY
    each = max(1, procedure.minutes) if procedure else USUAL_MINUTES
    return each * len(selectors(attribute, procedure, positions))
