"""The page of an inspection sheet: what to measure, how, and blanks to write in."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import groupby

from fitcheck.check import Check
from fitcheck.check.records.sheet import Item, Line, Sheet, make_sheet
from fitcheck.check.values import selector_words
from fitcheck.quantity import System
from fitcheck.report.html.frame import Told, cautions, render, stamp
from fitcheck.report.phrases import capital, counted
from fitcheck.report.sheet import how_to_fill, judged_words, resolution_words
from fitcheck.source import frozen

ACROSS = 4


@frozen
class Grid:
    """Blanks for one figure: a row for each side or place, a column for each cylinder."""

    title: str
    notes: tuple[str, ...]
    head: tuple[str, ...]
    rows: tuple[tuple[str, tuple[bool, ...]], ...]


@frozen
class Work:
    """One procedure with the figures it finds."""

    title: str
    steps: tuple[str, ...]
    careful: str
    cautions: tuple[Told, ...]
    grids: tuple[Grid, ...]


@frozen
class Setup:
    """What is done in one set-up."""

    title: str
    works: tuple[Work, ...]


def page_of(check: Check, system: System, day: date) -> str:
    """The page of everything that is still to be measured on a check's build."""
    return sheet_page(make_sheet(check.build, check.knowledge), system, day)


def sheet_page(sheet: Sheet, system: System, day: date) -> str:
    """The page of a sheet."""
    items = sheet.items
    minutes = sum(item.minutes for item in items)
    lead = (
        f"{counted(len(items), 'figure')} at {sum(len(item.lines) for item in items)} places; "
        f"about {minutes // 60} h {minutes % 60:02} min of measuring."
        if items
        else "Nothing is left to measure here."
    )
    return render(
        "sheet",
        kind="Inspection sheet",
        title=sheet.build.title,
        about=sheet.build.about,
        answer=lead,
        setups=list(_setups(sheet, system)),
        stamp=stamp(sheet.knowledge, system, day, build=sheet.build),
    )


def _setups(sheet: Sheet, system: System) -> Iterator[Setup]:
    for setup, items in groupby(sheet.items, lambda item: str(item.procedure.file.setup)):
        works = [
            _work(sheet, list(own), system)
            for _, own in groupby(items, lambda item: item.procedure.id)
        ]
        yield Setup(capital(setup), tuple(works))


def _work(sheet: Sheet, items: list[Item], system: System) -> Work:
    procedure = items[0].procedure
    file = procedure.file
    resolution = resolution_words(items[0], system)
    read = f", read to {resolution}" if resolution else ""
    return Work(
        f"{capital(str(file.title))}: {file.tool} ({procedure.minutes} min each{read})",
        tuple(map(str, file.steps)),
        str(file.careful or ""),
        cautions(sheet.knowledge, file.cautions),
        tuple(grid for item in items for grid in _grids(sheet, item, system)),
    )


def _grids(sheet: Sheet, item: Item, system: System) -> Iterator[Grid]:
    """A grid for each so many cylinders, so that it fits a phone and a narrow sheet."""
    attribute = item.attribute
    unit = ""
    if attribute.kind is not None:
        unit = attribute.kind.inch[0] if system == "inch" else attribute.kind.metric[0]
    title = f"{capital(sheet.knowledge.classes[attribute.slot].title)}: {attribute.title}"
    title += f" ({unit})" if unit else ""
    notes = tuple(_notes(item, system))
    cylinders = list(dict.fromkeys(line.selector.cylinder for line in item.lines))
    if None in cylinders:
        places = [capital(selector_words(line.selector)) for line in item.lines]
        yield Grid(title, notes, ("Where", "Measured"), tuple((place, (True,)) for place in places))
        return
    asked = {(line.selector.cylinder, line.selector.side) for line in item.lines}
    sides = list(dict.fromkeys(line.selector.side for line in item.lines))
    for start in range(0, len(cylinders), ACROSS):
        across = cylinders[start : start + ACROSS]
        head = ("Cylinder", *map(str, across))
        rows = tuple(
            (capital(side or "measured"), tuple((number, side) in asked for number in across))
            for side in sides
        )
        yield Grid(
            title if start == 0 else f"{title} (continued)", notes if start == 0 else (), head, rows
        )


def _notes(item: Item, system: System) -> Iterator[str]:
    if item.attribute.about:
        yield capital(item.attribute.about)
    if item.attribute.kind is None:
        yield f"One of: {how_to_fill(item, system)}"
    for judged in item.judged:
        yield capital(judged_words(judged, system))
    told: dict[str, list[Line]] = {}
    for line in item.lines:
        said = {"claimed": line.claimed, "ordered": line.ordered, "measured before": line.measured}
        words = ", ".join(f"{word} {text}" for word, text in said.items() if text)
        if words:
            told.setdefault(words, []).append(line)
    for words, lines in told.items():
        where = ", ".join(selector_words(line.selector) for line in lines)
        yield capital(words if len(lines) == len(item.lines) else f"{where}: {words}")
