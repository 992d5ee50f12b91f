"""The parts of a spring stack in section, each as far as its own figures are known."""

from __future__ import annotations

from functools import cached_property

from fitcheck.model import Position
from fitcheck.report.drawings.numbers import DrawnFigure, Numbers
from fitcheck.report.drawings.svg import WIDTH, Sheet
from fitcheck.source import frozen

BELOW = 7.0  # mm of casting shown under the spring seat
ABOVE = 9.0  # mm shown above the spring
NARROW = 0.5  # mm: an edge that is known better than this is drawn as a line
CLOSED, OPEN = -1, 1  # the side of the axis on which the valve is shown so

_RIM = 3.2  # mm of retainer shown above its step
_COILS = 6  # shown where nobody counted them


@frozen
class Half:
    """One half of the section: which side, how high the spring stands, the gap to the seal."""

    sign: int
    height: DrawnFigure
    gap: DrawnFigure


class StackParts:
    """Draws the parts; heights are in mm above the bare spring seat, across from the valve's axis.

    Whoever draws sets `scale`, `seat_y` and `sheet` first.
    """

    scale: float
    seat_y: float
    sheet: Sheet
    x = WIDTH / 2

    def __init__(self, numbers: Numbers, at: Position) -> None:
        self.numbers, self.at = numbers, at
        self.closed = numbers.of("fitted_height", at)
        self.open = numbers.of("open_height", at)
        self.lift = numbers.of("valve_lift", at)
        self.gap = numbers.of("retainer_gap", at)
        self.outside = numbers.of("spring.outside_diameter", at)
        self.stem = numbers.of("valve.stem_diameter", at)
        self.across = self.outside.high if self.outside.known else 0.8 * self.closed.middle
        wide = map(self.known, ("spring.top_outside_diameter", "retainer.outside_diameter"))
        self.widest = max([self.across, *(number.middle for number in wide if number)])
        self.base = sum(
            numbers.of(f"{slot}.thickness", at).middle
            for slot in ("locator", "shim")
            if numbers.fitted(slot, at)
        )

    def known(self, name: str) -> DrawnFigure | None:
        """A figure at this valve, where it rests on given figures alone."""
        number = self.numbers.of(name, self.at)
        return number if number.known else None

    def y(self, millimetres: float) -> float:
        """Where a height stands on the sheet."""
        return self.seat_y - millimetres * self.scale

    @property
    def stem_half(self) -> float:
        """Half the stem, on the sheet."""
        return self.stem.middle / 2 * self.scale

    @property
    def wall(self) -> float:
        """How wide guide and seal are drawn; nobody measures it."""
        return max(5.0, self.stem_half * 0.8)

    # Seal top, gap and the retainer's drop make up the height: what is stated places the rest.

    @cached_property
    def stands(self) -> float | None:
        """The top of the seal above the bare seat, by the heights of guide and seal."""
        protrusion, seal = self.known("guide.protrusion"), self.known("seal.height")
        return protrusion.middle + seal.middle if protrusion and seal else None

    @cached_property
    def drop_drawn(self) -> float | None:
        """How far the retainer reaches below its step; None where nothing tells."""
        own = self.known("retainer.underside_drop")
        if own:
            return own.middle
        if self.gap.known and self.stands is not None:
            return self.base + self.closed.middle - self.gap.middle - self.stands
        return None

    def underside(self, half: Half) -> float:
        """Where the retainer's lowest point is drawn; anywhere sensible where nothing tells."""
        drop = self.drop_drawn
        if drop is None:
            room = self.base + self.closed.middle - (self.gap.middle if self.gap.known else 0.0)
            drop = min(self.closed.middle / 6, max(0.0, room / 2))
            if self.stands is not None and not half.gap.known:  # no collision that nobody told
                return max(self.base + half.height.middle - drop, self.stands)
        return self.base + half.height.middle - drop

    def seal_top(self, half: Half) -> float:
        """Where the top of seal or guide is drawn: beneath the retainer by the gap."""
        if half.gap.known:
            return self.underside(half) - half.gap.middle
        return self.stands if self.stands is not None else self.underside(half)

    # The parts.

    def parts(self, closed: Half, opened: Half) -> None:
        """All parts, both halves."""
        self.head()
        self.valve_stem(closed, opened)
        for half in (closed, opened):
            self.guide(half)
            self.spring(half)
            self.retainer(half)
            top = self.base + half.height.middle
            spread = (half.height.high - half.height.low) / 2
            side = self.across / 2 * self.scale * half.sign
            self.edge(self.x, self.x + side, top - spread, top + spread, "step of the retainer")
        self.solid()
        foot = self.seat_y + BELOW * self.scale
        self.sheet.line(
            self.x, self.y(self.base + self.closed.middle + ABOVE), self.x, foot, "axis"
        )

    def head(self) -> None:
        """The casting, cut at the edge, with locator and shims on it."""
        sheet, side = self.sheet, self.across / 2 * self.scale + 4
        sheet.rect(8, self.seat_y, WIDTH - 16, BELOW * self.scale, "part", "head")
        sheet.grow(self.seat_y + BELOW * self.scale)
        y = 0.0
        for slot in ("shim", "locator"):
            name = f"{slot}.thickness"
            number = self.numbers.of(name, self.at)
            if not self.numbers.fitted(slot, self.at):
                continue
            y += number.middle
            place = self.x - side, self.y(y), 2 * side, number.middle * self.scale
            if number.known:
                sheet.rect(*place, "bare", name)
            else:
                sheet.unknown(*place, name)

    def valve_stem(self, closed: Half, opened: Half) -> None:
        """The stem: to its height at full lift, and on the left as far as it stands closed."""
        look = "bare" if self.stem.known else "vague"
        foot = self.seat_y + BELOW * self.scale
        tops = [self.y(self.base + half.height.middle + ABOVE - 1.5) for half in (opened, closed)]
        half = self.stem_half
        self.sheet.rect(
            self.x - half, tops[0], 2 * half, foot - tops[0], look, "valve.stem_diameter"
        )
        self.sheet.rect(self.x - half, tops[1], half, tops[0] - tops[1], look)

    def guide(self, half: Half) -> None:
        """Guide and seal: solid where it is known how high they stand, else hatched."""
        left = self.x + (self.stem_half if half.sign > 0 else -self.stem_half - self.wall)
        top, what = self.seal_top(half), "guide and seal"
        told = self.stands is not None or (half.gap.known and self.drop_drawn is not None)
        down = max(top, 1.0) * self.scale  # one that ends below the seat is seen to end there
        if not told:
            self.sheet.unknown(left, self.y(top), self.wall, down, what)
            if half.gap.known:
                self.sheet.line(left, self.y(top), left + self.wall, self.y(top), "outline")
            return
        self.sheet.rect(left, self.y(top), self.wall, down, "part", what)
        protrusion, seal = self.known("guide.protrusion"), self.known("seal.height")
        if protrusion and seal and seal.middle:
            joint = self.y(top - seal.middle)
            self.sheet.line(left, joint, left + self.wall, joint, "thin", "guide.protrusion")

    def spring(self, half: Half) -> None:
        """The outer spring, cut: its coils evenly spaced; dashed where nobody measured them."""
        sheet, scale, height = self.sheet, self.scale, half.height.middle
        if not self.outside.known:
            side = self.across / 2 * scale
            left = self.x + (side * 0.6 if half.sign > 0 else -side)
            what = "spring.outside_diameter"
            sheet.unknown(left, self.y(self.base + height), side * 0.4, height * scale, what)
            return
        self.outline(half)
        wire, coils = self.known("spring.wire_diameter"), self.known("active_coils")
        bind = self.known("bind_height")
        counted = wire is not None and coils is not None
        count = max(2, round(coils.middle) + 2) if counted and coils else _COILS
        if wire:
            thick = wire.middle
            count = count if counted or not bind else max(2, round(bind.middle / thick - 0.5))
        else:  # of such a thickness that they touch where the spring goes solid
            thick = (bind.middle if bind else height * 0.6) / (count + 0.5)
        width = (self.known("spring.wire_width") or wire) if wire else None
        wide = (width.middle if width else thick) * scale
        pitch = (height - thick) / (count - 0.5)
        for i in range(count):
            at = thick / 2 + pitch * (i + (0.5 if half.sign > 0 else 0))
            sheet.put(
                "ellipse",
                cx=self.x + half.sign * (self.half_at(at / height) * scale - wide / 2),
                cy=self.y(self.base + at),
                rx=wide / 2,
                ry=thick * scale / 2,
                cls="part" if wire else "vague",
                data_of="spring.wire_diameter" if wire else "",
            )

    def half_at(self, share: float) -> float:
        """Half the spring's outside diameter at a share of its height, [mm]."""
        top = self.known("spring.top_outside_diameter")
        upper = top.middle if top else self.across
        return (self.across + (upper - self.across) * share) / 2

    def outline(self, half: Half) -> None:
        """The side of the spring, from seat to retainer."""
        foot, top = (self.half_at(share) * self.scale * half.sign for share in (0.0, 1.0))
        upper = self.y(self.base + half.height.middle)
        points = [(self.x + foot, self.y(self.base)), (self.x + top, upper)]
        self.sheet.path(points, "faint")

    def retainer(self, half: Half) -> None:
        """The retainer; how thick it is nobody measures, so its top is dashed."""
        own = self.known("retainer.outside_diameter")
        side = (own.middle if own else self.across) / 2 * self.scale * half.sign
        top = self.base + half.height.middle
        step, up, low = self.y(top), self.y(top + _RIM), self.y(self.underside(half))
        x = self.x
        self.sheet.path([(x, up), (x + side * 0.9, up), (x + side, step)], "vague")
        inner = half.sign * (self.stem_half + self.wall * 1.5)
        points = [(x + inner, step), (x + inner * 0.85, low), (x + half.sign * self.stem_half, low)]
        if self.drop_drawn is not None:
            drop = self.known("retainer.underside_drop")
            self.sheet.path(points, "outline" if drop else "vague", "retainer.underside_drop")
        else:
            left, right = sorted((x + half.sign * self.stem_half, x + inner))
            self.sheet.unknown(left, step, right - left, low - step, "retainer.underside_drop")
            if half.gap.known:
                self.sheet.line(left, low, right, low, "outline")

    def solid(self) -> None:
        """Where the spring's top would be with its coils solid, on the side at full lift."""
        bind = self.numbers.of("bind_height", self.at)
        side = self.across / 2 * self.scale
        if bind.known:
            low, high = self.base + bind.low, self.base + bind.high
            self.edge(self.x + side * 0.55, self.x + side, low, high, "bind_height")
            return
        low, high = self.base + bind.low, self.base + min(bind.high, self.open.middle)
        height = max(0.0, high - low) * self.scale
        place = self.x + side * 0.7, self.y(high), side * 0.3, height
        self.sheet.unknown(*place, "bind_height")

    def edge(self, left: float, right: float, low: float, high: float, of: str) -> None:
        """A level: a line where it is known, a hatched band where it is not."""
        left, right = sorted((left, right))
        if high - low > NARROW:
            self.sheet.unknown(left, self.y(high), right - left, (high - low) * self.scale, of)
        else:
            middle = self.y((low + high) / 2)
            look = "vague" if of == "bind_height" else "outline"
            self.sheet.line(left, middle, right, middle, look, of)
