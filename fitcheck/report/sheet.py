"""The inspection sheet: as a table that a spreadsheet opens, and as text to print."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from rich.console import Console

from fitcheck.check.records.sheet import ACROSS, READ, TOLD, DirectLimit, Item, Line, MeasuringSheet
from fitcheck.check.values import selector_words
from fitcheck.model import Position, group_name
from fitcheck.quantity import Interval, System, show
from fitcheck.report.phrases import capital, counted
from fitcheck.report.writer import Writer
from fitcheck.source.table import table_text

COLUMNS = (
    "attribute",
    "set-up",
    "tool",
    "part",
    "figure",
    "where",
    "measured",
    "unit",
    "by",
    "when",
    "with",
    "write",
    "claimed",
    "ordered",
    "measured before",
    "judged by",
    "resolution",
    "minutes",
)
assert sorted(COLUMNS) == sorted(READ + TOLD)


def sheet_csv(sheet: MeasuringSheet, system: System) -> str:
    """The sheet as a table of comma-separated values."""
    return table_text(sheet_rows(sheet, system))


def sheet_rows(sheet: MeasuringSheet, system: System) -> Iterator[list[str]]:
    """The sheet as a table: its head, then a row for each figure and place."""
    yield [*COLUMNS]
    for item in sheet.items:
        for line in item.lines:
            cells = _cells(sheet, item, line, system)
            yield [cells.get(name, "") for name in COLUMNS]


def _cells(sheet: MeasuringSheet, item: Item, line: Line, system: System) -> dict[str, str]:
    attribute, file = item.attribute, item.procedure.file
    return {
        "attribute": attribute.name,
        "where": selector_words(line.selector),
        "unit": _unit(item, system),
        "part": sheet.knowledge.classes[attribute.slot].title,
        "figure": attribute.title,
        "write": how_to_fill(item, system),
        "claimed": line.claimed,
        "ordered": line.ordered,
        "measured before": line.measured,
        "judged by": "; ".join(judged_words(judged, system) for judged in item.judged),
        "resolution": resolution_words(item, system),
        "minutes": str(item.procedure.minutes),
        "tool": str(file.tool),
        "set-up": str(file.setup),
    }


def _unit(item: Item, system: System) -> str:
    kind = item.attribute.kind
    return "" if kind is None else kind.inch[0] if system == "inch" else kind.metric[0]


def how_to_fill(item: Item, system: System) -> str:
    """What may stand in the cell."""
    attribute = item.attribute
    if attribute.kind is not None:
        unit = _unit(item, system)
        return f"a number, taken as {unit} unless it bears its unit" if unit else "a number"
    if attribute.text:
        return "words"
    some = "some of: " if attribute.several else ""
    return some + " / ".join(attribute.option_words)


def resolution_words(item: Item, system: System) -> str:
    """How finely the procedure reads; empty where nothing is read off."""
    quantity = item.procedure.resolution
    return show(quantity.interval, quantity.kind, system) if quantity is not None else ""


def judged_words(judged: DirectLimit, system: System) -> str:
    """A limit in words, with what it is about."""
    interval = judged.known.interval
    direction = "at least" if judged.op[0] == ">" else "at most"
    ends = dict.fromkeys(
        show(Interval.point(end), judged.limit.kind, system)
        for end in (interval.lower, interval.upper)
    )
    return f"{direction} {' or '.join(ends)} ({judged.rule.file.subject})"


def write_sheet(sheet: MeasuringSheet, console: Console, system: System) -> None:
    """The sheet as text to print, with the steps of each procedure and blanks to fill."""
    _Printed(sheet, console, system).write()


class _Printed(Writer):
    def __init__(self, sheet: MeasuringSheet, console: Console, system: System) -> None:
        super().__init__(console)
        self.sheet = sheet
        self.system: System = system
        self.brief = sheet.left_off is not None
        self.cautions: dict[str, None] = {}

    def write(self) -> None:
        items = self.sheet.items
        self.line(f"Inspection sheet: {self.sheet.build.title}", "bold")
        if not items:
            self.line("Nothing is left to measure here.")
            return
        minutes = sum(item.minutes for item in items)
        self.line(
            f"{counted(len(items), 'figure')} at {sum(len(i.lines) for i in items)} places; "
            f"about {minutes // 60} h {minutes % 60:02} min of measuring."
        )
        if self.brief:
            self.line("What could decide a clash or a STOP, so far as a page goes.")
        self.line("Measured by ____________________   on ____-__-__   with ____________________")
        for setup, of_setup in groupby(items, lambda item: str(item.procedure.file.setup)):
            self.heading(setup)
            for tool, of_tool in groupby(of_setup, lambda item: str(item.procedure.file.tool)):
                self.line(f"Tool: {tool}", "bold")
                for _, of_procedure in groupby(of_tool, lambda item: item.procedure.id):
                    self.procedure(list(of_procedure))
        self.mind()

    def procedure(self, items: list[Item]) -> None:
        procedure = items[0].procedure
        file = procedure.file
        resolution = resolution_words(items[0], self.system)
        if not self.brief:
            self.line(
                f"{capital(str(file.title))} ({procedure.minutes} min each"
                f"{f', read to {resolution}' if resolution else ''})",
                indent=2,
            )
            for number, step in enumerate(file.steps, 1):
                self.line(f"{number}. {step}", indent=4)
            self.labelled("Mind:", str(file.careful or ""), indent=4)
        self.cautions |= dict.fromkeys(map(str, file.cautions))
        for item in items:
            self.item(item)

    def item(self, item: Item) -> None:
        part = self.sheet.knowledge.classes[item.attribute.slot].title
        self.line(f"{capital(part)}: {item.attribute.title}", "bold", indent=4)
        if not self.brief:
            self.line(item.attribute.about, "dim", indent=6)
        if item.attribute.kind is None:
            one_of = "" if item.attribute.several else "One of: "
            self.line(capital(f"{one_of}{how_to_fill(item, self.system)}"), indent=6)
        for judged in item.judged:
            self.line(f"{capital(judged_words(judged, self.system))}", indent=6)
        told: dict[str, list[Line]] = {}
        for line in item.lines:
            told.setdefault(_said(line), []).append(line)
        for said, lines in told.items():
            where = f"{self.places(lines)}: " if len(told) > 1 else ""
            self.line(capital(f"{where}{said}") if said else "", indent=6)
        for row in _blanks(item.lines, _unit(item, self.system)):
            self.console.print(f"      {row}".rstrip(), soft_wrap=True)

    def places(self, lines: list[Line]) -> str:
        layout = self.sheet.build.layout
        selectors = [line.selector for line in lines]
        if all(selector.cylinder for selector in selectors):
            return group_name((Position(None, s.cylinder, s.side) for s in selectors), layout)
        return ", ".join(map(selector_words, selectors))

    def mind(self) -> None:
        titles = [str(self.sheet.knowledge.cautions[one].file.title) for one in self.cautions]
        if self.brief:
            self.console.print()
            if titles:
                self.line(f"Mind: {'; '.join(titles)}.")
            self.line(
                f"{counted(self.sheet.left_off or 0, 'more figure')}, the steps of measuring and "
                "the cautions in full: --all. The maker's instructions rule.",
                "dim",
            )
            return
        if titles:
            self.heading("Mind")
        for id_ in self.cautions:
            caution = self.sheet.knowledge.cautions[id_]
            self.labelled(f"{capital(str(caution.file.title))}:", str(caution.file.text), 0)
        self.console.print()
        self.line("The maker's instructions rule over every figure and step here.", "dim")


def _said(line: Line) -> str:
    told = {"claimed": line.claimed, "ordered": line.ordered, "measured before": line.measured}
    return ", ".join(f"{word} {text}" for word, text in told.items() if text)


def _blanks(lines: tuple[Line, ...], unit: str) -> Iterator[str]:
    """Blanks to write in: cylinders across and sides down, or place after place."""
    cylinders = list(dict.fromkeys(line.selector.cylinder for line in lines))
    if None in cylinders:
        places = [selector_words(line.selector) for line in lines]
        yield "   ".join(f"{place} ____________ {unit}".rstrip() for place in places)
        return
    asked = {(line.selector.cylinder, line.selector.side) for line in lines}
    sides = list(dict.fromkeys(line.selector.side for line in lines))
    for start in range(0, len(cylinders), ACROSS):
        across = cylinders[start : start + ACROSS]
        yield f"{'cylinder':>9} " + "".join(f"{number:^9}" for number in across)
        for side in sides:
            cells = ("________" if (number, side) in asked else "" for number in across)
            yield f"{side or '':>9} " + "".join(f"{cell:^9}" for cell in cells) + unit
