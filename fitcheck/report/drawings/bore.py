"""One bore from above: valves, reach of the chamber, gasket and bore line."""

from __future__ import annotations

from dataclasses import replace
from math import cos, hypot, radians, sin, sqrt

from fitcheck.model import SIDES, Position
from fitcheck.report.drawings.numbers import STATE_WORDS, DrawnFigure, Numbers, state
from fitcheck.report.drawings.svg import WIDTH, Drawing, Sheet, cannot, lacks_words

TITLE = "Bore from above"
EACH = "cylinder"
READS = ["block.bore", "head_gasket.bore", "head.chamber_reach", "head.valve_spacing"]

_MOST = 200.0  # units that the widest circle may take
_WORDS = 60.0  # units between the middles of the two valves' words
_BESIDE = 1.5  # how much smaller the heads are drawn for two of them to stand side by side
_NARROW = 0.5  # mm: a radius that is known better than this is drawn as a line
_CIRCLES = (
    ("block.bore", 0.5, "outline", "A"),
    ("head_gasket.bore", 0.5, "vague", "B"),
    ("head.chamber_reach", 1.0, "axis", "C"),
)
_LOOKS = {
    "A": "full line",
    "B": "dashed",
    "C": "chain line; the chamber stays inside",
}


class _Bore:
    def __init__(self, numbers: Numbers, at: Position) -> None:
        self.numbers, self.at = numbers, at
        self.bore = numbers.of("block.bore", at)
        self.rings = {name: numbers.of(name, at) for name, *_ in _CIRCLES}
        self.valves = [Position(at.bank, at.cylinder, side) for side in SIDES]
        self.heads = [numbers.of("valve.head_diameter", valve) for valve in self.valves]
        self.places = self._places()

    def _places(self) -> list[tuple[float, float]] | None:
        """Centres of the two valves, in mm from the bore's centre; None where not known.

        Two distances from the bore's centre and one between the valves make a triangle. It is
        turned so that the valves lie side by side, the intake on the left.
        """
        out = [self.numbers.of("head.valve_from_bore_centre", valve) for valve in self.valves]
        spacing = self.numbers.of("head.valve_spacing", self.at)
        if not all(number.known for number in (*out, spacing)):
            return None
        first, second, apart = out[0].middle, out[1].middle, spacing.middle
        along = (first**2 - second**2 + apart**2) / (2 * apart)
        beside = first**2 - along**2
        if beside < -0.01 * apart**2:
            return None  # the three contradict each other
        y = sqrt(max(0.0, beside))
        return [(-along, -y), (apart - along, -y)]

    def draw(self) -> Drawing:
        known = [
            number.high * factor
            for (name, factor, *_), number in zip(_CIRCLES, self.rings.values(), strict=True)
            if number.known
        ]
        reach = [
            hypot(*place) + head.high / 2
            for place, head in zip(self.places or [], self.heads, strict=False)
        ]
        if not self.places:
            reach = [head.high / 2 * _BESIDE for head in self.heads if head.known]
        widest = max([*known, *reach]) * 1.04
        self.scale = _MOST / 2 / widest
        self.sheet = Sheet(f"bore {self.at}")
        self.x, self.y = WIDTH / 2 - 16, 8 + _MOST / 2
        sheet = self.sheet
        for (name, factor, look, letter), number in zip(_CIRCLES, self.rings.values(), strict=True):
            if number.known:
                self.ring(number, factor, look, name)
                self.leader(number.middle * factor * self.scale, letter)
        bottom = self.in_place() if self.places else self.beside(8 + _MOST + 12)
        sheet.line(self.x - 8, self.y, self.x + 8, self.y, "thin")
        sheet.line(self.x, self.y - 8, self.x, self.y + 8, "thin")
        self.explain(bottom + 20)
        return self.finished()

    def ring(self, number: DrawnFigure, factor: float, look: str, name: str) -> None:
        low, high = number.low * factor * self.scale, number.high * factor * self.scale
        if high - low > _NARROW * self.scale:
            self.sheet.unknown_path(_annulus(self.x, self.y, low, high), name)
        else:
            self.sheet.circle(self.x, self.y, (low + high) / 2, look, name)

    def leader(self, radius: float, letter: str) -> None:
        """The ring's letter, beside the drawing."""
        turn = radians(-40 + 40 * "ABC".index(letter))
        x, y = self.x + radius * cos(turn), self.y + radius * sin(turn)
        end = self.x + _MOST / 2 + 28, self.y + (_MOST / 2) * sin(turn)
        self.sheet.line(x, y, *end, "thin")
        self.sheet.circle(x, y, 2, "head")
        self.sheet.tag(*end, letter)

    def in_place(self) -> float:
        assert self.places is not None
        intake, exhaust = self.places
        aside = (_WORDS - (exhaust[0] - intake[0]) * self.scale) / 2
        for valve, head, (x, y) in zip(self.valves, self.heads, self.places, strict=True):
            self.head(valve, head, self.x + x * self.scale, self.y + y * self.scale, aside)
        return 8 + _MOST

    def beside(self, top: float) -> float:
        """Valve heads of unknown place stand beneath the bore, at the same scale."""
        self.sheet.text(
            self.x,
            top + 10,
            "Where the valves stand is not known:",
            "quiet",
            "middle",
        )
        known = [head for head in self.heads if head.known]
        radius = max((head.middle / 2 * self.scale for head in known), default=30.0)
        for i, (valve, head) in enumerate(zip(self.valves, self.heads, strict=True)):
            x = self.x + (i - 0.5) * (2 * radius + 24)
            self.head(valve, head, x, top + 20 + radius, (_WORDS - 2 * radius - 24) / 2)
        return top + 20 + 2 * radius

    def head(self, valve: Position, head: DrawnFigure, x: float, y: float, aside: float) -> None:
        """A valve head; its words stand aside, outward, where the two are too near."""
        sheet = self.sheet
        letter = "DE"[SIDES.index(valve.side or "")]
        if head.known:
            sheet.circle(x, y, head.middle / 2 * self.scale, "thin", f"{valve.side} valve")
        else:
            sheet.unknown_path(_annulus(x, y, 12, 30), f"{valve.side} valve")
        words = x + max(0.0, aside) * (1 if valve.side == "exhaust" else -1)
        sheet.text(words, y - 12, valve.side or "", "", "middle")
        sheet.tag(words, y + 2, letter)

    def explain(self, y: float) -> None:
        sheet = self.sheet
        for (name, _, _, letter), number in zip(_CIRCLES, self.rings.values(), strict=True):
            y = self.row(y, letter, number, name, self.at, f"; {_LOOKS[letter]}")
        for valve, head in zip(self.valves, self.heads, strict=True):
            letter = "DE"[SIDES.index(valve.side or "")]
            y = self.row(y, letter, head, "valve.head_diameter", valve, "")
        missing = [] if self.places else self.lacking_places()
        if missing:
            y = sheet.lines(
                8, y, f"To place the valves: {', '.join(missing)}.", WIDTH - 16, "quiet"
            )
        sheet.lines(
            8,
            y,
            "Valve heads face on, not tilted; how the pair is turned in the bore is not told. "
            "Hatched: anywhere within.",
            WIDTH - 16,
            "quiet",
        )

    def row(
        self, y: float, letter: str, number: DrawnFigure, name: str, at: Position, look: str
    ) -> float:
        title = number.title[:1].upper() + number.title[1:]
        side = f", {at.side}" if at.side else ""
        self.sheet.tag(12, y - 4, letter)
        tail = look if number.known else ""
        return self.sheet.lines(26, y, f"{title}{side}: {number.shown}{tail}", WIDTH - 32) + 4

    def lacking_places(self) -> list[str]:
        out = [self.numbers.of("head.valve_from_bore_centre", valve) for valve in self.valves]
        spacing = self.numbers.of("head.valve_spacing", self.at)
        lacks = [title for number in (*out, spacing) for title in number.lacks]
        return list(dict.fromkeys(lacks)) or ["their distances contradict each other"]

    def clashes(self) -> list[str]:
        """What is known to clash around this bore."""
        found = []
        for name, where in (
            ("gasket_beside_bore", self.at),
            ("gasket_beside_chamber", self.at),
            ("chamber_overhang", self.at),
            ("valve_to_bore_at_best", self.valves[0]),
            ("valve_to_bore_at_best", self.valves[1]),
        ):
            finding = self.numbers.about(name, where)
            if finding is not None and state(finding) == "clash":
                found.append(f"{finding.rule.file.subject}: {STATE_WORDS['clash']}")
        return list(dict.fromkeys(found))

    def finished(self) -> Drawing:
        figures = [*self.rings.values(), *self.heads]
        told = "; ".join(f"{number.title} {number.shown}" for number in figures)
        clashes = self.clashes()
        made = self.sheet.finished(
            "bore",
            f"{TITLE}, {self.at}",
            f"Circles to scale around the bore's centre, with the two valve heads. {told}. "
            + ". ".join(clashes),
            self.scale,
            ". ".join(clashes),
        )
        # Two rings alone show nothing that their figures do not.
        lacks = "" if self.places or clashes else lacks_words(self.lacking_places())
        return replace(made, lacks=lacks)


def _annulus(x: float, y: float, low: float, high: float) -> str:
    rings = []
    for radius in (high, low):
        rings.append(
            f"M{x - radius:.2f} {y:.2f}a{radius:.2f} {radius:.2f} 0 1 0 {2 * radius:.2f} 0"
            f"a{radius:.2f} {radius:.2f} 0 1 0 {-2 * radius:.2f} 0Z"
        )
    return "".join(rings)


def draw(numbers: Numbers, at: Position) -> Drawing:
    """The drawing for one cylinder."""
    bore = _Bore(numbers, at)
    if not bore.bore.known:
        return cannot("bore", f"{TITLE}, {at}", list(bore.bore.lacks))
    return bore.draw()


def urgency(numbers: Numbers, at: Position) -> float:
    """How soon it wants to be looked at: bores with clashes first."""
    return -len(_Bore(numbers, at).clashes())
