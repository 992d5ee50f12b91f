"""A round of readings at the engine: what is to be taken, in which order, what became of each."""

from __future__ import annotations

from collections import OrderedDict

from fitcheck.bench.asking import Visit, slow
from fitcheck.bench.desk import Desk
from fitcheck.bench.fields import field_id, options_of, unit_of
from fitcheck.check.records.sheet import Item, Line, make_sheet
from fitcheck.model import Selector
from fitcheck.report.html.frame import cautions
from fitcheck.report.phrases import capital
from fitcheck.report.sheet import resolution_words
from fitcheck.source import frozen

ANYWHERE = "Anywhere"  # of a figure that is one for the whole engine


@frozen
class Take:
    """One reading to take: a figure at a place, and how it is taken. It tells no claim."""

    key: str
    part: str
    figure: str
    where: str
    about: str
    unit: str
    setup: str
    tool: str
    read_to: str
    steps: tuple[str, ...]
    careful: str
    options: tuple[tuple[str, str], ...]
    several: bool
    cautions: tuple[tuple[str, str], ...]


class Round:
    """The readings of one round at the engine, as it was begun; what became of each."""

    def __init__(self, name: str, takes: list[Take], *, whole: bool) -> None:
        self.name = name
        self.takes = {one.key: one for one in takes}
        self.whole = whole
        self.done: dict[str, str] = {}
        self.out_of_reach: set[str] = set()
        self.known: OrderedDict[str, str] = OrderedDict()  # readings by their own number

    def next_after(self, key: str) -> str:
        """The next reading that is neither taken nor out of reach; empty where none is."""
        keys = list(self.takes)
        start = keys.index(key) + 1 if key in self.takes else 0
        left = [one for one in (*keys[start:], *keys[:start]) if self.state(one) == "open"]
        return left[0] if left and left[0] != key else ""

    def state(self, key: str) -> str:
        """What became of a reading: taken, out of reach, or open."""
        return "taken" if key in self.done else "out" if key in self.out_of_reach else "open"


def round_of(visit: Visit, *, whole: bool | None = None) -> Round:
    """The round that is under way; a new one for another file, or where `whole` asks for one."""
    desk, kept = visit.bench.desk, visit.bench.more
    found: Round | None = kept.get("round")
    if found is None or found.name != desk.name or (whole is not None and whole != found.whole):
        found = kept["round"] = Round(
            desk.name, _takes(visit, whole=bool(whole)), whole=bool(whole)
        )
    return found


def _takes(visit: Visit, *, whole: bool) -> list[Take]:
    """What is to be taken, by set-up and tool: what decides most, or all that is not measured."""
    desk = visit.bench.desk
    sheet = make_sheet(desk.build, desk.knowledge)
    wanted: set[str] | None = None
    if not whole:
        found = slow(visit, wait=True)
        wanted = {*found.take} if found else set()
        sheet = make_sheet(desk.build, desk.knowledge, again=True)
    return [
        take
        for item in sheet.items
        for line in item.lines
        if wanted is None or field_id(item.attribute, line.selector) in wanted
        for take in [_take(desk, item, line)]
    ]


def _take(desk: Desk, item: Item, line: Line) -> Take:
    attribute, file = item.attribute, item.procedure.file
    return Take(
        field_id(attribute, line.selector),
        capital(desk.knowledge.classes[attribute.slot].title),
        attribute.title,
        _where_words(line.selector),
        attribute.about,
        unit_of(attribute, desk.system),
        str(file.setup),
        str(file.tool),
        resolution_words(item, desk.system),
        tuple(map(str, file.steps)),
        str(file.careful or ""),
        options_of(attribute),
        attribute.several,
        tuple((one.title, one.text) for one in cautions(desk.knowledge, file.cautions)),
    )


def _where_words(selector: Selector) -> str:
    """The place in large letters, as somebody says it aloud."""
    if selector.cylinder and selector.side:
        return f"Cylinder {selector.cylinder}, {selector.side}"
    if selector.cylinder:
        return f"Cylinder {selector.cylinder}"
    if selector.bank:
        return f"Bank {selector.bank}"
    return f"All {selector.side}s" if selector.side else ANYWHERE
