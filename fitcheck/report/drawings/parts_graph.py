"""The graph of parts: who meets whom, and where they clash. networkx lays it out."""

from __future__ import annotations

from collections.abc import Iterable

import networkx

from fitcheck.check import Finding
from fitcheck.model import Position
from fitcheck.report.drawings.numbers import Numbers, state
from fitcheck.report.drawings.svg import LINE, WIDTH, Drawing, Sheet, cannot, number, wrapped
from fitcheck.report.phrases import counted
from fitcheck.source import frozen

TITLE = "Parts and where they meet"
EACH = "engine"
ENGINE = "engine"  # the job that is built for: no part
READS: list[str] = []

_BOX = 128.0
_CHANNEL = WIDTH - 2 * (_BOX + 6)
_GAP = 9.0
_ROUNDS = 12
_WORST_FIRST = ("clash", "open", "fits")
Point = tuple[float, float]


@frozen
class Place:
    """A part's box: in the left column (-1) or the right one (1)."""

    side: int
    top: float
    height: float
    lines: tuple[str, ...]

    @property
    def left(self) -> float:
        """Its left edge."""
        return 6.0 if self.side < 0 else WIDTH - 6 - _BOX

    @property
    def port(self) -> Point:
        """Where lines leave it, towards the channel."""
        return (6 + _BOX if self.side < 0 else WIDTH - 6 - _BOX), self.top + self.height / 2


class _Graph:
    def __init__(self, numbers: Numbers) -> None:
        self.numbers = numbers
        check = numbers.check
        self.graph = networkx.Graph()
        clashing = {slot for finding in check.conflicts for slot in _slots(finding)}
        wanted = [
            slot
            for slot in numbers.knowledge.classes
            if (slot in check.build.parts or slot in clashing) and slot != ENGINE
        ]
        self.graph.add_nodes_from(wanted)
        self.edges: dict[tuple[str, str], str] = {}
        readers: dict[str, list[Finding]] = {}
        for finding in check.findings:
            for name in finding.rule.inputs:
                readers.setdefault(name, []).append(finding)
        for mate in numbers.knowledge.mates.values():
            one, other = sorted(map(str, mate.file.between))
            if one in self.graph and other in self.graph and one != other:
                self.graph.add_edge(one, other)
                found = self._state(mate.file.through, (one, other), readers)
                before = self.edges.get((one, other), "")
                self.edges[one, other] = min(found, before, key=_rank)
        self.titles = {slot: numbers.knowledge.classes[slot].title for slot in wanted}

    def _state(
        self, through: Iterable[object], ends: tuple[str, str], readers: dict[str, list[Finding]]
    ) -> str:
        """The worst of what the rules say that judge an interface; empty where none speaks.

        A rule judges it that reads one of its figures on each side.
        """
        sides: list[dict[int, Finding]] = [{}, {}]
        for name in map(str, through):
            slot = name.partition(".")[0]
            if slot in ends:
                sides[ends.index(slot)] |= {id(found): found for found in readers.get(name, ())}
        both = [found for key, found in sides[0].items() if key in sides[1]]
        return min((state(found) for found in both), key=_rank, default="")

    def columns(self) -> tuple[list[str], list[str]]:
        """The parts in two columns, near those that they meet.

        The layout's first axis gives the column, its second the row.
        """
        if len(self.graph) < 3:
            return list(self.graph), []
        layout = networkx.spectral_layout(self.graph)
        # An eigenvector's sign is free: the first part stands on the left.
        x0, y0 = layout[next(iter(self.graph))]
        at = {
            slot: (round(float(x if x0 < 0 else -x), 6), round(float(y if y0 < 0 else -y), 6))
            for slot, (x, y) in layout.items()
        }
        across = sorted(at, key=lambda slot: (at[slot], slot))
        half = (len(across) + 1) // 2
        columns = across[:half], across[half:]
        for _ in range(_ROUNDS):
            for column in columns:
                self._settle(column, columns)
        return columns

    def _settle(self, column: list[str], columns: tuple[list[str], list[str]]) -> None:
        """Sort a column so that each part stands near the middle of those that it meets."""
        row = {slot: i / max(1, len(one) - 1) for one in columns for i, slot in enumerate(one)}
        wanted = {
            slot: _mean([row[other] for other in self.graph.neighbors(slot)] or [row[slot]])
            for slot in column
        }
        column.sort(key=lambda slot: (round(wanted[slot], 6), slot))

    def places(self) -> tuple[dict[str, Place], float]:
        """Where each part's box stands, and how far down they reach."""
        places: dict[str, Place] = {}
        bottom = 0.0
        for side, column in zip((-1, 1), self.columns(), strict=True):
            y = 8.0
            for slot in column:
                lines = wrapped(self.titles[slot], _BOX - 12)
                height = len(lines) * LINE + 8
                places[slot] = Place(side, y, height, tuple(lines))
                y += height + _GAP
            bottom = max(bottom, y - _GAP)
        return places, bottom

    def draw(self) -> Drawing:
        sheet = Sheet("parts")
        places, bottom = self.places()
        marks: list[Point] = []
        for kind in _WORST_FIRST[::-1]:
            for ends, found in self.edges.items():
                if found == kind:
                    one, other = (places[slot] for slot in ends)
                    curve = _curve(one, other)
                    text = "M{} {}C{} {} {} {} {} {}".format(
                        *(number(value) for point in curve for value in point)
                    )
                    sheet.put("path", d=text, cls=f"edge-{kind}", data_of=" ".join(ends))
                    if kind == "clash":
                        marks.append(_free_place(curve, marks))
        for x, y in marks:
            sheet.mark("clash", x, y, 5)
        counts = self.clashes()
        for slot, place in places.items():
            listed = slot in self.numbers.check.build.parts
            look = "box-clash" if counts.get(slot) else "box"
            sheet.rect(
                place.left,
                place.top,
                _BOX,
                place.height,
                look if listed else f"{look} vague-box",
                slot,
            )
            for i, line in enumerate(place.lines):
                sheet.text(place.left + _BOX / 2, place.top + 14 + i * LINE, line, "", "middle")
        self.key(sheet, bottom + 22)
        return self.finished(sheet, counts)

    def clashes(self) -> dict[str, int]:
        """How many clashes touch each part."""
        counts: dict[str, int] = {}
        for finding in self.numbers.check.conflicts:
            for slot in _slots(finding):
                counts[slot] = counts.get(slot, 0) + 1
        return counts

    def key(self, sheet: Sheet, y: float) -> None:
        rows = (
            ("clash", "they clash where they meet"),
            ("open", "cannot be told yet"),
            ("fits", "they fit"),
        )
        for kind, words in rows:
            sheet.line(10, y - 4, 44, y - 4, f"edge-{kind}")
            if kind == "clash":
                sheet.mark("clash", 27, y - 4, 5)
            sheet.text(52, y, words)
            y += LINE + 2
        sheet.lines(
            8,
            y,
            "Heavy box: a clash has to do with this part. Dashed box: not listed, "
            "but a clash asks for it.",
            WIDTH - 16,
            "quiet small",
        )

    def finished(self, sheet: Sheet, counts: dict[str, int]) -> Drawing:
        titles = self.titles
        clashing = [
            f"{titles[one]} and {titles[other]}"
            for (one, other), found in self.edges.items()
            if found == "clash"
        ]
        touched = [
            f"{titles[slot]} {count}"
            for slot, count in sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))
        ]
        told = f"Clash where they meet: {', '.join(clashing)}. " if clashing else ""
        told += f"Clashes by part: {', '.join(touched)}." if touched else "No part clashes."
        return sheet.finished(
            "parts",
            TITLE,
            f"{counted(len(titles), 'part')} as boxes, with lines where they meet. {told}",
        )


def _rank(kind: str) -> int:
    return _WORST_FIRST.index(kind) if kind else len(_WORST_FIRST)


def _slots(finding: Finding) -> list[str]:
    """The parts that a finding has to do with: those whose figures it rests on."""
    return list(
        dict.fromkeys(
            fact.attribute.slot
            for name, fact in finding.cited.items()
            if "." in name and fact.attribute.slot != ENGINE
        )
    )


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)


def _curve(one: Place, other: Place) -> tuple[Point, Point, Point, Point]:
    """A line through the channel between the columns, as a cubic curve."""
    start, end = one.port, other.port
    if one.side != other.side:
        reach = _CHANNEL * 0.45
    else:
        reach = min(_CHANNEL * 1.1, 18 + abs(start[1] - end[1]) * 0.35)
    return (
        start,
        (start[0] - one.side * reach, start[1]),
        (end[0] - other.side * reach, end[1]),
        end,
    )


def _free_place(curve: tuple[Point, Point, Point, Point], taken: list[Point]) -> Point:
    """A point on the curve that is clear of the marks set before."""
    found = [_on(curve, share / 40) for share in sorted(range(5, 36), key=lambda i: abs(i - 20))]
    clear = [
        point
        for point in found
        if all(abs(point[0] - x) > 12 or abs(point[1] - y) > 12 for x, y in taken)
    ]
    return (clear or found)[0]


def _on(curve: tuple[Point, Point, Point, Point], share: float) -> Point:
    rest = 1 - share
    weights = (rest**3, 3 * rest**2 * share, 3 * rest * share**2, share**3)
    x, y = (
        sum(w * point[axis] for w, point in zip(weights, curve, strict=True)) for axis in (0, 1)
    )
    return x, y


def draw(numbers: Numbers, at: Position) -> Drawing:
    """The graph of the parts that are listed or that a clash asks for."""
    graph = _Graph(numbers)
    if not graph.titles:
        return cannot("parts", TITLE, ["any part: none is listed"])
    return graph.draw()


def urgency(numbers: Numbers, at: Position) -> float:
    """One drawing for the whole engine."""
    return 0.0
