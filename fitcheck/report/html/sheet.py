"""The page of an inspection sheet: what to measure, how, and blanks to write in."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import groupby

from fitcheck.check import BuildCheck
from fitcheck.check.records.sheet import Item, Line, MeasuringSheet, first_sheet, make_sheet
from fitcheck.check.values import selector_words
from fitcheck.quantity import System
from fitcheck.report.html.frame import Told, cautions, render, stamp
from fitcheck.report.phrases import capital, counted
from fitcheck.report.sheet import how_to_fill, judged_words, resolution_words
from fitcheck.source import frozen


@frozen
class Blanks:
    """One figure: what is known of it, and a blank for each place."""

    title: str
    notes: tuple[str, ...]
    places: tuple[str, ...]
    unit: str


@frozen
class SheetProcedure:
    """One procedure with the figures it finds; how it is done stands on a whole sheet."""

    title: str
    steps: tuple[str, ...]
    careful: str
    cautions: tuple[str, ...]
    figures: tuple[Blanks, ...]


@frozen
class Setup:
    """What is done in one set-up."""

    title: str
    works: tuple[SheetProcedure, ...]


def page_of(
    check: BuildCheck, system: System, day: date, handbook: str = "", *, everything: bool = False
) -> str:
    """The page of what decides most; with `everything`, of all that is still to be measured."""
    sheet = make_sheet(check.build, check.knowledge) if everything else first_sheet(check)
    return sheet_page(sheet, system, day)


def sheet_page(sheet: MeasuringSheet, system: System, day: date) -> str:
    """The page of a sheet."""
    items = sheet.items
    minutes = sum(item.minutes for item in items)
    lead = (
        f"{counted(len(items), 'figure')} at {sum(len(item.lines) for item in items)} places; "
        f"about {minutes // 60} h {minutes % 60:02} min of measuring."
        if items
        else "Nothing is left to measure here."
    )
    left = sheet.left_off
    more = (
        "What could decide a clash or a STOP, so far as a page goes; "
        f"{counted(left, 'more figure')} on the whole sheet (--all), with the steps of measuring."
        if left
        else ""
    )
    return render(
        "sheet",
        kind="Inspection sheet",
        title=sheet.build.title,
        about="" if left is not None else sheet.build.about,
        answer=lead,
        more=more,
        setups=list(_setups(sheet, system)),
        cautions=_cautions(sheet),
        stamp=stamp(sheet.knowledge, system, day, build=sheet.build),
    )


def _cautions(sheet: MeasuringSheet) -> tuple[Told, ...]:
    """Those of all that is measured here."""
    found = (caution for item in sheet.items for caution in item.procedure.file.cautions)
    return cautions(sheet.knowledge, found)


def _setups(sheet: MeasuringSheet, system: System) -> Iterator[Setup]:
    for setup, items in groupby(sheet.items, lambda item: str(item.procedure.file.setup)):
        works = [
            _work(sheet, list(own), system)
            for _, own in groupby(items, lambda item: item.procedure.id)
        ]
        yield Setup(capital(setup), tuple(works))


def _work(sheet: MeasuringSheet, items: list[Item], system: System) -> SheetProcedure:
    procedure = items[0].procedure
    file = procedure.file
    whole = sheet.left_off is None
    resolution = resolution_words(items[0], system)
    read = f", read to {resolution}" if resolution else ""
    minded = (sheet.knowledge.cautions[str(one)].file.title for one in file.cautions)
    return SheetProcedure(
        f"{capital(str(file.title))}: {file.tool} ({procedure.minutes} min each{read})",
        tuple(map(str, file.steps)) if whole else (),
        str(file.careful or "") if whole else "",
        tuple(map(str, minded)),
        tuple(_blanks(sheet, item, system) for item in items),
    )


def _blanks(sheet: MeasuringSheet, item: Item, system: System) -> Blanks:
    attribute = item.attribute
    unit = ""
    if attribute.kind is not None:
        unit = attribute.kind.inch[0] if system == "inch" else attribute.kind.metric[0]
    title = f"{capital(sheet.knowledge.classes[attribute.slot].title)}: {attribute.title}"
    places = tuple(capital(selector_words(line.selector)) for line in item.lines)
    return Blanks(title, tuple(_notes(item, system)), places, unit)


def _notes(item: Item, system: System) -> Iterator[str]:
    if item.attribute.about:
        yield capital(item.attribute.about)
    if item.attribute.kind is None:
        yield capital(f"{'' if item.attribute.several else 'One of: '}{how_to_fill(item, system)}")
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
