"""Which parts each clash has to do with: a line from each part to the clash, which is named."""

from __future__ import annotations

from fitcheck.check import RuleFinding
from fitcheck.model import Position
from fitcheck.report.drawings.numbers import Numbers
from fitcheck.report.drawings.svg import LINE, WIDTH, Drawing, Sheet, cannot, wrapped
from fitcheck.report.phrases import capital, counted
from fitcheck.report.story import clashing
from fitcheck.source import frozen

TITLE = "Parts that clash"
EACH = "engine"
READS: list[str] = []
ENGINE = "engine"  # the job that is built for: no part

_BOX = 100.0
_CHANNEL = WIDTH - 2 * _BOX - 8
_GAP = 8.0


@frozen
class GraphNode:
    """A box in one of the two columns."""

    left: float
    top: float
    height: float
    lines: tuple[str, ...]

    @property
    def middle(self) -> float:
        """Half way down."""
        return self.top + self.height / 2


class _Graph:
    def __init__(self, numbers: Numbers) -> None:
        self.numbers = numbers
        found = clashing(numbers.check)
        self.clashes = {findings[0].rule.id: _slots(findings) for findings in found}
        self.subjects = {one[0].rule.id: str(one[0].rule.file.subject) for one in found}
        # A part stands in order of the first clash that it has to do with: fewest lines cross.
        self.parts = list(dict.fromkeys(slot for slots in self.clashes.values() for slot in slots))
        titles = numbers.knowledge.classes
        self.titles = {slot: titles[slot].title for slot in self.parts}

    def draw(self) -> Drawing:
        sheet = Sheet("parts")
        listed = self.numbers.check.build.parts
        named = {
            rule_id: f"{number}. {capital(subject)}"
            for number, (rule_id, subject) in enumerate(self.subjects.items(), 1)
        }
        parts = _column(self.titles, 4)
        clashes = _column(named, WIDTH - _BOX - 4)
        for rule_id, slots in self.clashes.items():
            end = clashes[rule_id]
            for slot in slots:
                start = parts[slot]
                x = start.left + _BOX
                bend = _CHANNEL * (0.25 + 0.5 * self.parts.index(slot) / len(self.parts))
                points = [(x, start.middle), (x + bend, start.middle)]
                points += [(x + bend, end.middle), (end.left, end.middle)]
                sheet.path(points, "edge-clash", f"{slot} {rule_id}")
        for slot, place in parts.items():
            _box(sheet, place, "box" if slot in listed else "box vague-box", slot)
        for rule_id, place in clashes.items():
            _box(sheet, place, "box-clash", rule_id)
            sheet.mark("clash", place.left - 6, place.middle, 5)
        self.key(sheet)
        return self.finished(sheet)

    def key(self, sheet: Sheet) -> None:
        rest = [slot for slot in self.numbers.check.build.parts if slot not in self.titles]
        told = "Left: parts that a clash has to do with; dashed where none is listed."
        if rest:
            told += f" {capital(counted(len(rest), 'other part'))} listed: in no clash."
        sheet.lines(4, sheet.height + 18, told, WIDTH - 8, "quiet")

    def finished(self, sheet: Sheet) -> Drawing:
        told = "; ".join(
            f"{self.subjects[rule_id]}: {', '.join(self.titles[slot] for slot in slots)}"
            for rule_id, slots in self.clashes.items()
        )
        return sheet.finished(
            "parts", TITLE, f"Each clash with the parts that it has to do with. {told}."
        )


def _column(titles: dict[str, str], left: float) -> dict[str, GraphNode]:
    places = {}
    y = 6.0
    for key, title in titles.items():
        lines = wrapped(title, _BOX - 8)
        height = len(lines) * LINE + 8
        places[key] = GraphNode(left, y, height, tuple(lines))
        y += height + _GAP
    return places


def _box(sheet: Sheet, place: GraphNode, look: str, of: str) -> None:
    sheet.rect(place.left, place.top, _BOX, place.height, look, of)
    for i, line in enumerate(place.lines):
        sheet.text(place.left + _BOX / 2, place.top + 15 + i * LINE, line, "", "middle")
    sheet.grow(place.top + place.height)


def _slots(findings: list[RuleFinding]) -> list[str]:
    """The parts that a clash has to do with: those whose figures it rests on."""
    return list(
        dict.fromkeys(
            fact.attribute.slot
            for finding in findings
            for name, fact in finding.cited.items()
            if "." in name and fact.attribute.slot != ENGINE
        )
    )


def draw(numbers: Numbers, at: Position) -> Drawing:
    """The clashes with their parts."""
    graph = _Graph(numbers)
    if not graph.clashes:
        return cannot("parts", TITLE, ["any clash: nothing known clashes"])
    return graph.draw()


def urgency(numbers: Numbers, at: Position) -> float:
    """One drawing for the whole engine."""
    return 0.0
