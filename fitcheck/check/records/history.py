"""The measurements of each part in order of time, and which of them hold today."""

from __future__ import annotations

from datetime import date

from fitcheck.model import EngineBuild, Evidence, Layout, Position, Statement
from fitcheck.source import frozen


@frozen
class Measurement:
    """One measurement; `superseded` names what holds in its place, and where."""

    statement: Statement
    holds: tuple[Position, ...]
    superseded: tuple[tuple[Statement, tuple[Position, ...]], ...]


def history(build: EngineBuild, slots: tuple[str, ...] = ()) -> list[Measurement]:
    """The measurements by part and figure, the oldest first; undated ones count as oldest."""
    said = [
        statement
        for statement in build.statements()
        if statement.evidence is Evidence.MEASURED
        and (not slots or statement.attribute.slot in slots)
    ]
    slots_in_order = list(build.parts)
    names = list(dict.fromkeys(statement.attribute.name for statement in said))
    said.sort(
        key=lambda statement: (
            slots_in_order.index(statement.attribute.slot),
            names.index(statement.attribute.name),
            statement.origin.when or date.min,
        )
    )
    return [_measurement(statement, said, build.layout) for statement in said]


def _measurement(statement: Statement, said: list[Statement], layout: Layout) -> Measurement:
    own = [other for other in said if other.attribute is statement.attribute]
    holds: list[Position] = []
    others: dict[int, tuple[Statement, list[Position]]] = {}
    for position in layout.positions(statement.attribute.each):
        if not statement.selector.covers(position):
            continue
        held = strongest(own, position)
        if held is statement:
            holds.append(position)
        elif held is not None:
            others.setdefault(id(held), (held, []))[1].append(position)
    return Measurement(
        statement, tuple(holds), tuple((other, tuple(at)) for other, at in others.values())
    )


def strongest(said: list[Statement], position: Position) -> Statement | None:
    """The statement that holds at a position; of two as strong the later in the list."""
    here = [statement for statement in said if statement.selector.covers(position)]
    return max(reversed(here), key=lambda statement: statement.strength, default=None)
