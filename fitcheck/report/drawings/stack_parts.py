"""The parts of a spring stack in section, each as far as its own figures are known."""

from __future__ import annotations

from fitcheck.model import Position
from fitcheck.report.drawings.numbers import Number, Numbers
from fitcheck.report.drawings.svg import WIDTH, Sheet

PANEL = WIDTH / 2
BELOW = 9.0  # mm of casting shown under the spring seat
ABOVE = 9.0  # mm shown above the spring
NARROW = 0.5  # mm: an edge that is known better than this is drawn as a line


class StackParts:
    """Draws the parts; heights are in mm above the bare spring seat, across from the valve's axis.

    Whoever draws sets `scale`, `seat_y` and `sheet` first.
    """

    scale: float
    seat_y: float
    sheet: Sheet

    def __init__(self, numbers: Numbers, at: Position) -> None:
        self.numbers, self.at = numbers, at
        self.closed = numbers.of("fitted_height", at)
        self.outside = numbers.of("spring.outside_diameter", at)
        self.across = self.outside.high if self.outside.known else 1.2 * self.closed.middle
        wide = map(self.known, ("spring.top_outside_diameter", "retainer.outside_diameter"))
        self.widest = max([self.across, *(number.middle for number in wide if number)])
        self.base = sum(
            numbers.of(f"{slot}.thickness", at).middle
            for slot in ("locator", "shim")
            if numbers.fitted(slot, at)
        )

    def known(self, name: str) -> Number | None:
        """A figure at this valve, where it rests on given figures alone."""
        number = self.numbers.of(name, self.at)
        return number if number.known else None

    def y(self, millimetres: float) -> float:
        """Where a height stands on the sheet."""
        return self.seat_y - millimetres * self.scale

    def head(self, x: float, half: float) -> None:
        """The casting, cut at the edge of the panel, with locator and shims on it."""
        sheet, depth = self.sheet, BELOW * self.scale
        sheet.rect(x - PANEL / 2 + 12, self.seat_y, PANEL - 24, depth, "part", "head")
        y = 0.0
        for slot in ("shim", "locator"):
            number = self.numbers.of(f"{slot}.thickness", self.at)
            if self.numbers.fitted(slot, self.at) and number.known:
                sheet.rect(
                    x - half - 4,
                    self.y(y + number.middle),
                    2 * half + 8,
                    number.middle * self.scale,
                    "bare",
                    f"{slot}.thickness",
                )
                y += number.middle
            elif self.numbers.fitted(slot, self.at):
                sheet.unknown(
                    x - half - 4,
                    self.y(y + number.middle),
                    2 * half + 8,
                    number.middle * self.scale,
                    f"{slot}.thickness",
                )
                y += number.middle

    def stem(self, x: float, top: float) -> None:
        """The valve stem, from below the seat to above the retainer."""
        stem = self.numbers.of("valve.stem_diameter", self.at)
        half = stem.middle / 2 * self.scale
        upper = self.y(top + ABOVE - 1.5)
        low = self.seat_y + BELOW * self.scale
        self.sheet.rect(
            x - half,
            upper,
            2 * half,
            low - upper,
            "bare" if stem.known else "vague",
            "valve.stem_diameter",
        )

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
                self.sheet.rect(
                    left, self.y(reach), wide, reach * self.scale, "part", "guide and seal"
                )
                if protrusion.known and seal.known and seal.middle:
                    self.sheet.line(
                        left,
                        self.y(protrusion.middle),
                        left + wide,
                        self.y(protrusion.middle),
                        "thin",
                        "guide.protrusion",
                    )
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
            sheet.path(
                [
                    edges[0],
                    (x - upper, self.y(self.base + height)),
                    (x + upper, self.y(self.base + height)),
                    edges[1],
                ],
                "faint",
                "spring.outside_diameter",
                closed=True,
            )
        else:
            for left in (x - half, x + half * 0.6):
                sheet.unknown(
                    left,
                    self.y(self.base + height),
                    half * 0.4,
                    height * scale,
                    "spring.outside_diameter",
                )
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
                sheet.put(
                    "ellipse",
                    cx=x + sign * wall,
                    cy=self.y(self.base + at),
                    rx=width / 2,
                    ry=wire.middle * scale / 2,
                    cls="part",
                    data_of="spring.wire_diameter",
                )

    def retainer(self, x: float, top: float) -> None:
        """The retainer above its step; how thick it is nobody measures, so its top is dashed."""
        own = self.known("retainer.outside_diameter")
        half = (own.middle if own else self.across) / 2 * self.scale
        up = self.y(top + 3.2)
        self.sheet.path(
            [
                (x - half, self.y(top)),
                (x - half * 0.9, up),
                (x + half * 0.9, up),
                (x + half, self.y(top)),
            ],
            "vague",
        )
        drop = self.known("retainer.underside_drop")
        if drop:
            inner = half * 0.55
            self.sheet.path(
                [
                    (x - inner, self.y(top)),
                    (x - inner * 0.8, self.y(top - drop.middle)),
                    (x + inner * 0.8, self.y(top - drop.middle)),
                    (x + inner, self.y(top)),
                ],
                "outline",
                "retainer.underside_drop",
            )

    def edge(self, x: float, half: float, low: float, high: float, of: str) -> None:
        """A level: a line where it is known, a hatched band where it is not."""
        if high - low > NARROW:
            self.sheet.unknown(x - half, self.y(high), 2 * half, (high - low) * self.scale, of)
        else:
            middle = self.y((low + high) / 2)
            self.sheet.line(x - half, middle, x + half, middle, "outline", of)
