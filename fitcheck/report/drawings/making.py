"""Makes drawings by name, of a place or of the one to look at soonest."""

from __future__ import annotations

from importlib import import_module
from types import ModuleType

from fitcheck.check import RuleFinding
from fitcheck.language import walk
from fitcheck.model import Position
from fitcheck.report.drawings import BESIDE, DRAWINGS
from fitcheck.report.drawings.margins import finding_strip
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


def beside(finding: RuleFinding, numbers: Numbers) -> Drawing | None:
    """The drawing that shows what a finding is about, at its place; None where none tells it."""
    asked = {getattr(node, "name", "") for node in walk(finding.rule.requires)}
    at = finding.positions[0]
    for name, figures in BESIDE.items():
        if asked.isdisjoint(figures):
            continue
        level = {"cylinder": Position(at.bank, at.cylinder), "valve": at}[module_of(name).EACH]
        found = [one for one in positions(name, numbers) if one == level]
        made = drawing(name, numbers, found[0]) if found else None
        if made is not None and not made.lacks:
            return made
    return finding_strip(finding, numbers.system) if finding.demands else None


def drawing(name: str, numbers: Numbers, at: Position | None = None) -> Drawing:
    """A drawing by name; where `at` is left out, of the place to look at soonest."""
    made: Drawing = module_of(name).draw(numbers, at or tightest(name, numbers)[0][0])
    return made
