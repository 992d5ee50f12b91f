"""Drawings of a check, to scale and made from the build's own numbers.

One file a drawing: `TITLE`, `HELP`, `EACH` (at which level there is one), `READS` (the figures that
decide whether two places look alike), `draw(numbers, at)` and `urgency(numbers, at)`, which orders
the places of a level by how soon they want to be looked at.
"""

from __future__ import annotations

from importlib import import_module
from types import ModuleType

from fitcheck.model import Position
from fitcheck.report.drawings.numbers import Numbers
from fitcheck.report.drawings.svg import Drawing

__all__ = ["DRAWINGS", "Drawing", "Numbers", "drawing", "module_of", "positions", "tightest"]

# By the name that commands and links use; a module is imported where its drawing is made.
DRAWINGS = {
    "stack": "stack",
    "bore": "bore",
    "piston-gap": "piston_gap",
    "volumes": "volumes",
    "margins": "margins",
    "parts": "parts_graph",
}


def module_of(name: str) -> ModuleType:
    """The module of a drawing."""
    return import_module(f"fitcheck.report.drawings.{DRAWINGS[name]}")


def positions(name: str, numbers: Numbers) -> list[Position]:
    """The places that a drawing can be made for."""
    return numbers.check.build.layout.positions(module_of(name).EACH)


def tightest(name: str, numbers: Numbers) -> list[Position]:
    """One place for each side that the drawing knows, the one to look at soonest first."""
    module = module_of(name)
    best: dict[str | None, tuple[float, Position]] = {}
    for at, *_ in numbers.groups(module.READS, module.EACH):
        urgency = module.urgency(numbers, at)
        if at.side not in best or urgency < best[at.side][0]:
            best[at.side] = urgency, at
    return [at for _, at in sorted(best.values(), key=lambda pair: pair[0])]


def drawing(name: str, numbers: Numbers, at: Position | None = None) -> Drawing:
    """A drawing by name; where `at` is left out, of the place to look at soonest."""
    made: Drawing = module_of(name).draw(numbers, at or tightest(name, numbers)[0])
    return made
