"""The spring stack of one valve in section: its left half closed, its right half at full lift.

Both halves stand on one seat and to one scale, so that the lift can be seen between them. Each gap
is drawn as wide as it is stated; what else is not known is hatched.
"""

from __future__ import annotations

from fitcheck.model import Position
from fitcheck.report.drawings.numbers import STATE_WORDS, DrawnFigure, Numbers, state
from fitcheck.report.drawings.stack_parts import ABOVE, BELOW, CLOSED, OPEN, Half, StackParts
from fitcheck.report.drawings.svg import WIDTH, Drawing, Sheet, cannot
from fitcheck.report.phrases import capital
from fitcheck.source import frozen

TITLE = "Spring stack in section"
EACH = "valve"
READS = [
    "fitted_height",
    "open_height",
    "valve_lift",
    "coil_bind_clearance",
    "retainer_clearance",
    "spring.outside_diameter",
    "spring.wire_diameter",
    "retainer.underside_drop",
    "guide.protrusion",
    "seal.height",
    "valve.stem_diameter",
]
GAPS = ("coil_bind_clearance", "retainer_clearance")

_TOP = 20.0
_MOST_HIGH = 250.0
_ROOM = 64.0  # units kept free on each side of the section for dimensions
_TAG = 18.0  # how far apart letters stand
_SMALL = 26.0  # units: a dimension shorter than this takes its arrows from outside


@frozen
class Dimension:
    """A dimension in the key: its letter, its figure, what is remarked, how it is drawn."""

    letter: str
    number: DrawnFigure
    note: str
    look: str


class Stack(StackParts):
    """The section with its dimensions, and the key to them."""

    when = "at full lift"

    def __init__(self, numbers: Numbers, at: Position) -> None:
        super().__init__(numbers, at)
        self.findings = {name: numbers.about(name, at) for name in GAPS}
        self.gaps = {name: numbers.of(name, at) for name in GAPS}
        self.key: list[Dimension] = []
        self.tagged: list[tuple[float, float]] = []
        self.tight = self._tight()

    def _tight(self) -> str:
        """The gap with the least to spare over what is wanted of it, as far as it is known."""
        told = {
            name: finding
            for name, finding in self.findings.items()
            if finding is not None and finding.margin is not None and self.gaps[name].known
        }
        return min(told, key=lambda name: told[name].margin.lower, default="")  # type: ignore[union-attr]

    def state_of(self, name: str, number: DrawnFigure) -> str:
        """The state in which a gap is drawn; empty where nothing is asked of it."""
        finding = self.findings.get(name)
        return state(finding) if finding is not None and number.known else ""

    def lacks(self) -> list[str]:
        """What is not known and would be needed to draw it."""
        return list(dict.fromkeys([*self.closed.lacks, *self.lift.lacks]))

    # Geometry: heights in mm above the bare spring seat, across from the valve's axis.

    def draw(self) -> Drawing:
        """The drawing, whole."""
        high = BELOW + self.base + self.closed.middle + ABOVE
        self.scale = min((WIDTH - 2 * _ROOM) / self.widest, _MOST_HIGH / high)
        self.seat_y = _TOP + (high - BELOW) * self.scale
        self.sheet = Sheet(f"stack {self.at}")
        self.key, self.tagged = [], []
        self.sheet.text(self.x / 2, 14, "valve closed", "strong", "middle")
        self.sheet.text(self.x * 1.5, 14, self.when, "strong", "middle")
        closed = Half(CLOSED, self.closed, self.gap)
        opened = Half(OPEN, self.open, self.gaps["retainer_clearance"])
        self.parts(closed, opened)
        self.dimensions(closed, opened)
        self.explain(self.seat_y + BELOW * self.scale + 20)
        return self.finished()

    def dimensions(self, closed: Half, opened: Half) -> None:
        """The dimensions of both halves."""
        side = self.across / 2 * self.scale
        top = self.base + closed.height.middle
        self.vertical(self.x - side - 38, self.base, top, "fitted_height", self.closed, -side)
        self.seal_gap(closed, "retainer_gap", self.x - side - 14)
        top = self.base + opened.height.middle
        self.vertical(self.x + side + 48, self.base, top, "open_height", self.open, side)
        bind = self.gaps["coil_bind_clearance"]
        x = self.x + side + 12
        self.vertical(x, top - bind.middle, top, "coil_bind_clearance", bind, side)
        self.seal_gap(opened, "retainer_clearance", x + 14)

    def seal_gap(self, half: Half, name: str, aside: float) -> None:
        """The gap itself, between seal and retainer; its letter stands aside on a leader."""
        entry, sheet = self.entry(name, half.gap), self.sheet
        x = self.x + half.sign * (self.stem_half + self.wall / 2)
        low, high = self.seal_top(half), self.underside(half)
        if half.gap.known:
            self.arrowed(x, low, high, name, entry)
        middle = self.y((low + high) / 2)
        y = self.free(aside, middle)
        sheet.path([(x, middle), (aside - half.sign * 8, y)], "thin")
        sheet.tag(aside, y, entry.letter, entry.look)

    # Dimensions and their key.

    def entry(self, name: str, number: DrawnFigure) -> Dimension:
        """A dimension put in the key."""
        found = self.state_of(name, number)
        notes = [STATE_WORDS[found]] if found else []
        if name == self.tight:
            notes.append("the tight one")
        look = "clash" if found == "clash" else "tight" if name == self.tight else ""
        entry = Dimension("ABCDEFGH"[len(self.key)], number, ", ".join(notes), look)
        self.key.append(entry)
        return entry

    def vertical(
        self, x: float, low: float, high: float, name: str, number: DrawnFigure, side: float
    ) -> None:
        """A lettered dimension between two levels, which lines bring out from the spring's side."""
        entry, sheet = self.entry(name, number), self.sheet
        if not number.known:
            self.tag(x, self.y((low + high) / 2), entry)
            return
        for height in (low, high):
            sheet.line(x, self.y(height), self.x + side, self.y(height), "grid")
        self.arrowed(x, low, high, name, entry)
        small = abs(high - low) * self.scale < _SMALL
        self.tag(x + (14 if side > 0 else -14) * small, self.y((low + high) / 2), entry)

    def arrowed(self, x: float, low: float, high: float, name: str, entry: Dimension) -> None:
        """A line from level to level with arrows, from outside where it is small."""
        sheet = self.sheet
        upper, lower = sorted((self.y(low), self.y(high)))
        look = {"": "measure", "tight": "tight", "clash": "tight clashing"}[entry.look]
        sheet.line(x, self.y(low), x, self.y(high), look, name)
        way = -1
        if lower - upper < _SMALL:
            way = 1
            sheet.line(x, upper - 10, x, upper, "measure")
            sheet.line(x, lower, x, lower + 10, "measure")
        sheet.arrow(x, upper, way)
        sheet.arrow(x, lower, -way)

    def tag(self, x: float, y: float, entry: Dimension) -> None:
        """The letter of a dimension, where there is room for it."""
        self.sheet.tag(x, self.free(x, y), entry.letter, entry.look)

    def free(self, x: float, y: float) -> float:
        """A place for a letter, moved up or down past those already there."""
        near = [other for left, other in self.tagged if abs(left - x) < _TAG]
        way = 1 if not near or y >= min(near, key=lambda other: abs(other - y)) else -1
        while any(abs(other - y) < _TAG for other in near):
            y += way
        self.tagged.append((x, y))
        return y

    def explain(self, y: float) -> None:
        """The key beneath the section."""
        sheet = self.sheet
        for entry in self.key:
            sheet.tag(12, y - 4, entry.letter, entry.look)
            note = f" ({entry.note})" if entry.note else ""
            words = f"{capital(entry.number.title)}: {entry.number.shown}{note}"
            y = sheet.lines(26, y, words, WIDTH - 32, "strong" if entry.look else "") + 4
        told = f"Valve lift: {self.lift.shown}. Hatched: anywhere within; dashed: not measured."
        if self.gap.known and self.drop_drawn is None:
            told += " Seal and retainer stand as far apart as measured, how high is not known."
        sheet.lines(4, y, told, WIDTH - 8, "quiet")

    def finished(self) -> Drawing:
        """The sheet with all that it says in words."""
        told = "; ".join(
            f"{entry.number.title} {entry.number.shown}" + (f", {entry.note}" if entry.note else "")
            for entry in self.key
        )
        return self.sheet.finished(
            "stack",
            f"{TITLE}, {self.at}",
            f"Section to scale of the valve spring between its seat and the retainer, the left "
            f"half with the valve closed, the right half {self.when}. {told}.",
            self.scale,
        )


def _stack(numbers: Numbers, at: Position) -> Stack:
    key = "stack", at
    if key not in numbers.kept:
        numbers.kept[key] = Stack(numbers, at)
    stack: Stack = numbers.kept[key]
    return stack


def draw(numbers: Numbers, at: Position) -> Drawing:
    """The drawing for one valve."""
    stack = _stack(numbers, at)
    lacks = stack.lacks()
    return cannot("stack", f"{TITLE}, {at}", lacks) if lacks else stack.draw()


def urgency(numbers: Numbers, at: Position) -> float:
    """How soon it wants to be looked at: the least margin of its gaps, in mm."""
    stack = _stack(numbers, at)
    finding = stack.findings.get(stack.tight)
    return float(finding.margin.lower) if finding and finding.margin else 1e9
