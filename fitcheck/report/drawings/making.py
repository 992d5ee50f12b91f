"""Makes drawings by name, of a place or of the one to look at soonest."""

from __future__ import annotations

from importlib import import_module
from types import ModuleType

from fitcheck.model import Position
from fitcheck.report.drawings import DRAWINGS
from fitcheck.report.drawings.numbers import Numbers
from fitcheck.report.drawings.svg import Drawing


def module_of(name: str) -> ModuleType:
    """The module of a drawing."""
    return import_module(f"fitcheck.report.drawings.{DRAWINGS[name][0]}")


def positions(name: str, numbers: Numbers) -> list[Position]:
    """The places that a drawing can be made for."""
    return numbers.check.build.layout.positions(module_of(name).EACH)


def tightest(name: str, numbers: Numbers) -> list[list[Position]]:
    """For each side that the drawing knows the places that look alike and want it soonest."""
    module = module_of(name)
    best: dict[str | None, tuple[float, list[Position]]] = {}
    for alike in numbers.groups(module.READS, module.EACH):
        urgency, side = module.urgency(numbers, alike[0]), alike[0].side
        if side not in best or urgency < best[side][0]:
            best[side] = urgency, alike
    return [alike for _, alike in sorted(best.values(), key=lambda pair: pair[0])]


def drawing(name: str, numbers: Numbers, at: Position | None = None) -> Drawing:
    """A drawing by name; where `at` is left out, of the place to look at soonest."""
    made: Drawing = module_of(name).draw(numbers, at or tightest(name, numbers)[0][0])
    return made
