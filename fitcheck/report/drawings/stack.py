"""The spring stack of one valve in section, closed and at full lift, each gap dimensioned."""

from __future__ import annotations

from fitcheck.model import Position
from fitcheck.report.drawings.numbers import STATE_WORDS, Number, Numbers, state
from fitcheck.report.drawings.stack_parts import ABOVE, BELOW, NARROW, PANEL, StackParts
from fitcheck.report.drawings.svg import WIDTH, Drawing, Sheet, cannot
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

_TOP = 34.0
_MOST_HIGH = 270.0
_ROOM = 46.0  # units kept free on each side of a section for dimensions
_TAG = 18.0  # how far apart letters stand


@frozen
class _Entry:
    letter: str
    number: Number
    note: str
    tight: bool


class _Stack(StackParts):
    def __init__(self, numbers: Numbers, at: Position) -> None:
        super().__init__(numbers, at)
        self.open = numbers.of("open_height", at)
        self.lift = numbers.of("valve_lift", at)
        self.gaps = {name: numbers.of(name, at) for name in GAPS}
        self.findings = {name: numbers.about(name, at) for name in GAPS}
        self.key: list[_Entry] = []
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

    def lacks(self) -> list[str]:
        return list(dict.fromkeys([*self.closed.lacks, *self.lift.lacks]))

    # Geometry: heights in mm above the bare spring seat, across from the valve's axis.

    def draw(self) -> Drawing:
        high = BELOW + self.base + self.closed.middle + ABOVE
        self.scale = min((PANEL - 2 * _ROOM) / self.widest, _MOST_HIGH / high)
        self.seat_y = _TOP + (high - BELOW) * self.scale
        self.sheet = Sheet(f"stack {self.at}")
        self.key, self.tagged = [], []
        self.section(PANEL / 2, "valve closed", self.closed, is_open=False)
        self.section(1.5 * PANEL, "at full lift", self.open, is_open=True)
        self.sheet.line(PANEL, 8, PANEL, self.seat_y + BELOW * self.scale, "grid")
        self.explain(self.seat_y + BELOW * self.scale + 22)
        return self.finished()

    def section(self, x: float, title: str, height: Number, *, is_open: bool) -> None:
        self.sheet.text(x, 14, title, "strong", "middle")
        top = self.base + height.middle
        half = self.across / 2 * self.scale
        self.head(x, half)
        self.stem(x, top)
        self.guide(x, top, is_open)
        self.spring(x, half, height.middle)
        self.retainer(x, top)
        self.edge(x, half, self.base + height.low, self.base + height.high, "step of the retainer")
        if is_open:
            self.solid(x, half, top)
            self.vertical(x - half - 26, self.base, top, "open_height", self.open)
            self.vertical(
                x - half - 8,
                self.y_of_solid,
                top,
                "coil_bind_clearance",
                self.gaps["coil_bind_clearance"],
                across_to=x,
            )
        else:
            self.vertical(x - half - 26, self.base, top, "fitted_height", self.closed)
        self.seal_gap(x, half, top, is_open)
        self.sheet.line(x, self.y(top + ABOVE), x, self.seat_y + BELOW * self.scale, "axis")

    def solid(self, x: float, half: float, top: float) -> None:
        """Where the spring's top would be with its coils solid."""
        bind = self.numbers.of("spring.coil_bind_height", self.at)
        self.y_of_solid = self.base + min(bind.middle, self.closed.middle)
        low, high = self.base + bind.low, min(self.base + bind.high, top)
        if high <= low:
            high = low + 2 * NARROW
        if bind.known and high - low <= NARROW:
            middle = self.y(self.y_of_solid)
            self.sheet.line(x - half, middle, x + half, middle, "vague", "spring.coil_bind_height")
        else:
            for left in (x - half, x + half * 0.7):
                self.sheet.unknown(
                    left,
                    self.y(high),
                    half * 0.3,
                    (high - low) * self.scale,
                    "spring.coil_bind_height",
                )

    def seal_gap(self, x: float, half: float, top: float, is_open: bool) -> None:
        reach, drop = self.reach_of_guide(), self.known("retainer.underside_drop")
        name = "retainer_clearance" if is_open else "retainer.gap_to_seal"
        number = self.gaps["retainer_clearance"] if is_open else self.closed_seal_gap()
        if reach is not None and drop and number.known:
            self.vertical(x + half + 12, reach, top - drop.middle, name, number, across_to=x)
        elif number.known:
            # The gap is known, the heights that it lies between are not.
            y = self.y(self.base + self.open.middle * 0.5)
            self.sheet.line(x + half + 12, y, x, y, "grid")
            entry = self.entry(name, number)
            self.tag(x + half + 12, y, entry)
        else:
            self.entry(name, number)

    def closed_seal_gap(self) -> Number:
        own = self.numbers.of("retainer.gap_to_seal", self.at)
        return own if own.known else self.numbers.of("retainer_gap_by_stack", self.at)

    # Dimensions and their key.

    def entry(self, name: str, number: Number) -> _Entry:
        finding = self.findings.get(name)
        notes = [f"{STATE_WORDS[state(finding)]}"] if finding is not None and number.known else []
        if name == self.tight:
            notes.append("the tight one")
        entry = _Entry("ABCDEFGH"[len(self.key)], number, ", ".join(notes), name == self.tight)
        self.key.append(entry)
        return entry

    def vertical(
        self,
        x: float,
        low: float,
        high: float,
        name: str,
        number: Number,
        across_to: float | None = None,
    ) -> None:
        """A lettered dimension between two levels; arrows from outside where it is small."""
        entry, sheet = self.entry(name, number), self.sheet
        if not number.known:
            self.tag(x, self.y((low + high) / 2), entry)
            return
        upper, lower = sorted((self.y(low), self.y(high)))
        tight = name == self.tight
        if across_to is not None:
            for y in (upper, lower):
                sheet.line(x, y, across_to, y, "grid")
        sheet.line(x, upper, x, lower, "tight" if tight else "measure", name)
        small = lower - upper < 26
        if small:
            sheet.line(x, upper - 14, x, upper, "measure")
            sheet.line(x, lower, x, lower + 14, "measure")
            sheet.arrow(x, upper, 1)
            sheet.arrow(x, lower, -1)
        else:
            sheet.arrow(x, upper, -1)
            sheet.arrow(x, lower, 1)
        beside = x + (13 if across_to is not None and x > across_to else -13)
        self.tag(beside if small or tight else x, (upper + lower) / 2, entry)

    def tag(self, x: float, y: float, entry: _Entry) -> None:
        """A letter, moved up or down past those already there."""
        near = [other for left, other in self.tagged if abs(left - x) < _TAG]
        way = 1 if not near or y >= min(near, key=lambda other: abs(other - y)) else -1
        while any(abs(other - y) < _TAG for other in near):
            y += way
        self.tagged.append((x, y))
        self.sheet.tag(x, y, entry.letter, entry.tight)

    def explain(self, y: float) -> None:
        sheet = self.sheet
        for entry in self.key:
            title = entry.number.title[:1].upper() + entry.number.title[1:]
            sheet.tag(16, y - 4, entry.letter, entry.tight)
            note = f" ({entry.note})" if entry.note else ""
            y = (
                sheet.lines(
                    32,
                    y,
                    f"{title}: {entry.number.shown}{note}",
                    WIDTH - 40,
                    "strong" if entry.tight else "",
                )
                + 5
            )
        y = sheet.lines(8, y, f"Valve lift: {self.lift.shown}.", WIDTH - 16, "quiet")
        sheet.lines(
            8,
            y,
            "Dashed: not measured, or solid coils. Hatched: anywhere within. Heights "
            "from the bare spring seat, to scale; coils evenly spaced.",
            WIDTH - 16,
            "quiet small",
        )

    def finished(self) -> Drawing:
        told = "; ".join(
            f"{entry.number.title} {entry.number.shown}" + (f", {entry.note}" if entry.note else "")
            for entry in self.key
        )
        return self.sheet.finished(
            "stack",
            f"{TITLE}, {self.at}",
            f"Two sections to scale of the valve spring between its seat and the retainer, with "
            f"the valve closed and at full lift. {told}.",
            self.scale,
        )


def _stack(numbers: Numbers, at: Position) -> _Stack:
    key = "stack", at
    if key not in numbers.kept:
        numbers.kept[key] = _Stack(numbers, at)
    stack: _Stack = numbers.kept[key]
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
