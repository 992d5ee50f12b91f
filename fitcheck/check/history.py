"""The measurements of each part in order of time, and which of them hold today."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from fitcheck.check.bind import Binding
from fitcheck.knowledge import Knowledge
from fitcheck.model import Build, Evidence, Position, Statement


@dataclass(frozen=True, slots=True)
class Measurement:
    """One measurement; `superseded` names what holds in its place, and where."""

    statement: Statement
    holds: tuple[Position, ...]
    superseded: tuple[tuple[Statement, tuple[Position, ...]], ...]


def history(build: Build, knowledge: Knowledge, slots: tuple[str, ...] = ()) -> list[Measurement]:
    """The measurements by part and figure, the oldest first; undated ones count as oldest."""
    binding = Binding(build, knowledge)
    said = [statement for statement in build.statements()
            if statement.evidence is Evidence.MEASURED
            and (not slots or statement.attribute.slot in slots)]  # fmt: skip
    slots_in_order = list(build.parts)
    names = list(dict.fromkeys(statement.attribute.name for statement in said))
    said.sort(key=lambda statement: (slots_in_order.index(statement.attribute.slot),
                                     names.index(statement.attribute.name),
                                     statement.origin.when or date.min))  # fmt: skip
    return list(_measurements(said, binding))


def _measurements(said: list[Statement], binding: Binding) -> Iterator[Measurement]:
    for statement in said:
        holds: list[Position] = []
        others: dict[int, tuple[Statement, list[Position]]] = {}
        for position in binding.build.layout.positions(statement.attribute.each):
            if not statement.selector.covers(position):
                continue
            held = binding.fact(statement.attribute.name, position).statement
            assert held is not None
            if held is statement:
                holds.append(position)
            else:
                others.setdefault(id(held), (held, []))[1].append(position)
        yield Measurement(statement, tuple(holds),
                          tuple((other, tuple(at)) for other, at in others.values()))  # fmt: skip
