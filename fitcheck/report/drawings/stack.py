"""The spring stack of one valve in section, closed and at full lift, each gap dimensioned."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.model import Position
from fitcheck.report.drawings.numbers import STATE_WORDS, Number, Numbers, state
from fitcheck.report.drawings.svg import WIDTH, Drawing, Sheet, cannot

TITLE = "Spring stack in section"
HELP = "the spring stack in section, closed and at full lift"
EACH = "valve"
READS = ["fitted_height", "open_height", "valve_lift", "coil_bind_clearance", "retainer_clearance",
         "spring.outside_diameter", "spring.wire_diameter", "retainer.underside_drop",
         "guide.protrusion", "seal.height", "valve.stem_diameter"]  # fmt: skip
GAPS = ("coil_bind_clearance", "retainer_clearance")

_PANEL = WIDTH / 2
_TOP = 34.0
_BELOW = 9.0  # mm of casting shown under the spring seat
_ABOVE = 9.0  # mm shown above the spring
_MOST_HIGH = 270.0
_ROOM = 46.0  # units kept free on each side of a section for dimensions
_NARROW = 0.5  # mm: an edge that is known better than this is drawn as a line


@dataclass(frozen=True, slots=True)
class _Entry:
    letter: str
    number: Number
    note: str


class _Stack:
    def __init__(self, numbers: Numbers, at: Position) -> None:
        self.numbers, self.at = numbers, at
        self.closed = numbers.of("fitted_height", at)
        self.open = numbers.of("open_height", at)
        self.lift = numbers.of("valve_lift", at)
        self.gaps = {name: numbers.of(name, at) for name in GAPS}
        self.findings = {name: numbers.about(name, at) for name in GAPS}
        self.base = sum(numbers.of(f"{slot}.thickness", at).middle
                        for slot in ("locator", "shim") if numbers.fitted(slot, at))  # fmt: skip
        self.key: list[_Entry] = []
        self.tight = self._tight()

    def _tight(self) -> str:
        """The gap with the least to spare over what is wanted of it, as far as it is known."""
        told = {name: finding for name, finding in self.findings.items()
                if finding is not None and finding.margin is not None and self.gaps[name].known}  # fmt: skip
        return min(told, key=lambda name: told[name].margin.lower, default="")  # type: ignore[union-attr]

    def known(self, name: str) -> Number | None:
        number = self.numbers.of(name, self.at)
        return number if number.known else None

    def lacks(self) -> list[str]:
        return list(dict.fromkeys([*self.closed.lacks, *self.lift.lacks]))

    # Geometry: heights in mm above the bare spring seat, across from the valve's axis.

    def draw(self) -> Drawing:
        numbers = self.numbers
        outside = numbers.of("spring.outside_diameter", self.at)
        across = outside.high if outside.known else 2.4 * self.closed.middle / 2
        self.across = across
        high = _BELOW + self.base + self.closed.middle + _ABOVE
        self.scale = min((_PANEL - 2 * _ROOM) / across, _MOST_HIGH / high)
        self.seat_y = _TOP + (high - _BELOW) * self.scale
        self.sheet = Sheet(f"stack {self.at}")
        self.outside = outside
        self.section(_PANEL / 2, "valve closed", self.closed, is_open=False)
        self.section(1.5 * _PANEL, "at full lift", self.open, is_open=True)
        self.sheet.line(_PANEL, 8, _PANEL, self.seat_y + _BELOW * self.scale, "grid")
        self.explain(self.seat_y + _BELOW * self.scale + 22)
        return self.finished()

    def y(self, millimetres: float) -> float:
        return self.seat_y - millimetres * self.scale

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
            self.vertical(x - half - 8, self.y_of_solid, top, "coil_bind_clearance",
                          self.gaps["coil_bind_clearance"], across_to=x)  # fmt: skip
        else:
            self.vertical(x - half - 26, self.base, top, "fitted_height", self.closed)
        self.seal_gap(x, half, top, is_open)
        self.sheet.line(x, self.y(top + _ABOVE), x, self.seat_y + _BELOW * self.scale, "axis")

    def head(self, x: float, half: float) -> None:
        """The casting, cut at the edge of the panel, with locator and shims on it."""
        sheet, depth = self.sheet, _BELOW * self.scale
        sheet.rect(x - _PANEL / 2 + 12, self.seat_y, _PANEL - 24, depth, "part", "head")
        y = 0.0
        for slot in ("shim", "locator"):
            number = self.numbers.of(f"{slot}.thickness", self.at)
            if self.numbers.fitted(slot, self.at) and number.known:
                sheet.rect(x - half - 4, self.y(y + number.middle), 2 * half + 8,
                           number.middle * self.scale, "bare", f"{slot}.thickness")  # fmt: skip
                y += number.middle
            elif self.numbers.fitted(slot, self.at):
                sheet.unknown(x - half - 4, self.y(y + number.middle), 2 * half + 8,
                              number.middle * self.scale, f"{slot}.thickness")  # fmt: skip
                y += number.middle

    def stem(self, x: float, top: float) -> None:
        stem = self.numbers.of("valve.stem_diameter", self.at)
        half = stem.middle / 2 * self.scale
        upper = self.y(top + _ABOVE - 1.5)
        low = self.seat_y + _BELOW * self.scale
        self.sheet.rect(x - half, upper, 2 * half, low - upper, "bare" if stem.known else "vague",
                        "valve.stem_diameter")  # fmt: skip

    def guide(self, x: float, top: float, is_open: bool) -> None:
        """Guide and seal beside the stem; hatched up to where they can reach when not known."""
        protrusion = self.numbers.of("guide.protrusion", self.at)
        seal = self.numbers.of("seal.height", self.at)
        stem = self.numbers.of("valve.stem_diameter", self.at).middle / 2 * self.scale
        wide = max(4.0, stem * 0.7)
        lacking = [number for number in (protrusion, seal) if not number.known]
        reach = self.reach_of_guide()
        for sign in (-1, 1):
            left = x + sign * stem if sign > 0 else x - stem - wide
            if reach is not None:
                self.sheet.rect(left, self.y(reach), wide, reach * self.scale, "part",
                                "guide and seal")  # fmt: skip
                if protrusion.known and seal.known and seal.middle:
                    self.sheet.line(left, self.y(protrusion.middle), left + wide,
                                    self.y(protrusion.middle), "thin", "guide.protrusion")  # fmt: skip
            elif lacking:
                most = min(self.closed.middle * 0.75, protrusion.high)
                self.sheet.unknown(left, self.y(most), wide, most * self.scale, "guide and seal")

    def reach_of_guide(self) -> float | None:
        """The top of guide and seal above the bare seat, by their heights or by the gap."""
        protrusion, seal = self.known("guide.protrusion"), self.known("seal.height")
        if protrusion and seal:
            return protrusion.middle + seal.middle
        gap, drop = self.known("retainer.gap_to_seal"), self.known("retainer.underside_drop")
        if gap and drop:
            return self.base + self.closed.middle - drop.middle - gap.middle
        return None

    def spring(self, x: float, half: float, height: float) -> None:
        """The outer spring: its wire where wire and coils are known, else its outline only."""
        sheet, scale = self.sheet, self.scale
        top = self.known("spring.top_outside_diameter")
        upper = (top.middle if top else self.across) / 2 * scale
        if self.outside.known:
            edges = [(x + sign * half, self.y(self.base)) for sign in (-1, 1)]
            sheet.path([edges[0], (x - upper, self.y(self.base + height)),
                        (x + upper, self.y(self.base + height)), edges[1]], "faint",
                       "spring.outside_diameter", closed=True)  # fmt: skip
        else:
            for left in (x - half, x + half * 0.6):
                sheet.unknown(left, self.y(self.base + height), half * 0.4, height * scale,
                              "spring.outside_diameter")  # fmt: skip
        wire, coils = self.known("spring.wire_diameter"), self.known("spring.active_coils")
        if not (wire and coils and self.outside.known):
            return
        width = (self.known("spring.wire_width") or wire).middle * scale
        count = max(2, round(coils.middle) + 2)
        pitch = (height - wire.middle) / (count - 0.5)
        for sign in (-1, 1):
            for i in range(count):
                at = wire.middle / 2 + pitch * (i + (0.5 if sign > 0 else 0))
                wall = (half + (upper - half) * at / height) - width / 2
                sheet.put("ellipse", cx=x + sign * wall, cy=self.y(self.base + at), rx=width / 2,
                          ry=wire.middle * scale / 2, cls="part", data_of="spring.wire_diameter")  # fmt: skip

    def retainer(self, x: float, top: float) -> None:
        """The retainer above its step; how thick it is nobody measures, so its top is dashed."""
        own = self.known("retainer.outside_diameter")
        half = (own.middle if own else self.across) / 2 * self.scale
        up = self.y(top + 3.2)
        self.sheet.path([(x - half, self.y(top)), (x - half * 0.9, up), (x + half * 0.9, up),
                         (x + half, self.y(top))], "vague")  # fmt: skip
        drop = self.known("retainer.underside_drop")
        if drop:
            inner = half * 0.55
            self.sheet.path([(x - inner, self.y(top)), (x - inner * 0.8, self.y(top - drop.middle)),
                             (x + inner * 0.8, self.y(top - drop.middle)), (x + inner, self.y(top))],
                            "outline", "retainer.underside_drop")  # fmt: skip

    def edge(self, x: float, half: float, low: float, high: float, of: str) -> None:
        """A level: a line where it is known, a hatched band where it is not."""
        if high - low > _NARROW:
            self.sheet.unknown(x - half, self.y(high), 2 * half, (high - low) * self.scale, of)
        else:
            middle = self.y((low + high) / 2)
            self.sheet.line(x - half, middle, x + half, middle, "outline", of)

    def solid(self, x: float, half: float, top: float) -> None:
        """Where the spring's top would be with its coils solid."""
        bind = self.numbers.of("spring.coil_bind_height", self.at)
        self.y_of_solid = self.base + min(bind.middle, self.closed.middle)
        low, high = self.base + bind.low, min(self.base + bind.high, top)
        if high <= low:
            high = low + 2 * _NARROW
        if bind.known and high - low <= _NARROW:
            middle = self.y(self.y_of_solid)
            self.sheet.line(x - half, middle, x + half, middle, "vague", "spring.coil_bind_height")
        else:
            for left in (x - half, x + half * 0.7):
                self.sheet.unknown(left, self.y(high), half * 0.3, (high - low) * self.scale,
                                   "spring.coil_bind_height")  # fmt: skip

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
            self.sheet.tag(x + half + 12, y, entry.letter, name == self.tight)
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
        entry = _Entry("ABCDEFGH"[len(self.key)], number, ", ".join(notes))
        self.key.append(entry)
        return entry

    def vertical(self, x: float, low: float, high: float, name: str, number: Number,
                 across_to: float | None = None) -> None:  # fmt: skip
        """A dimension from one level to another, lettered; arrows from outside where it is small."""
        entry, sheet = self.entry(name, number), self.sheet
        if not number.known:
            sheet.tag(x, self.y((low + high) / 2), entry.letter)
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
        if small or tight:
            sheet.tag(beside, (upper + lower) / 2, entry.letter, tight)
        else:
            sheet.tag(x, (upper + lower) / 2, entry.letter)

    def explain(self, y: float) -> None:
        sheet = self.sheet
        for entry in self.key:
            title = entry.number.title[:1].upper() + entry.number.title[1:]
            tight = "the tight one" in entry.note
            sheet.tag(16, y - 4, entry.letter, tight)
            note = f" ({entry.note})" if entry.note else ""
            y = sheet.lines(32, y, f"{title}: {entry.number.shown}{note}", WIDTH - 40,
                            "strong" if tight else "") + 5  # fmt: skip
        y = sheet.lines(8, y, f"Valve lift: {self.lift.shown}.", WIDTH - 16, "quiet")
        sheet.lines(8, y, "Dashed: not measured, or solid coils. Hatched: anywhere within. Heights "
                    "from the bare spring seat, to scale; coils evenly spaced.", WIDTH - 16,
                    "quiet small")  # fmt: skip

    def finished(self) -> Drawing:
        told = "; ".join(f"{entry.number.title} {entry.number.shown}"
                         + (f", {entry.note}" if entry.note else "") for entry in self.key)  # fmt: skip
        return self.sheet.finished(
            "stack", f"{TITLE}, {self.at}",
            f"Two sections to scale of the valve spring between its seat and the retainer, with "
            f"the valve closed and at full lift. {told}.", self.scale)  # fmt: skip


def draw(numbers: Numbers, at: Position) -> Drawing:
    """The drawing for one valve."""
    stack = _Stack(numbers, at)
    lacks = stack.lacks()
    return cannot("stack", f"{TITLE}, {at}", lacks) if lacks else stack.draw()


def urgency(numbers: Numbers, at: Position) -> float:
    """How soon it wants to be looked at: the least margin of its gaps, in mm."""
    stack = _Stack(numbers, at)
    finding = stack.findings.get(stack.tight)
    return float(finding.margin.lower) if finding and finding.margin else 1e9


