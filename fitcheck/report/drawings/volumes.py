"""Where the clearance volume comes from: each of its parts as a bar, to one scale."""

from __future__ import annotations

from fitcheck.language import Node, Step
from fitcheck.language.tree import Apply
from fitcheck.model import Position
from fitcheck.report.drawings.numbers import DrawnFigure, Numbers
from fitcheck.report.drawings.svg import LINE, WIDTH, Drawing, Sheet, cannot, wrapped

TITLE = "Where the clearance volume comes from"
EACH = "cylinder"
WHOLE = "clearance_volume"
READS = [WHOLE, "static_compression"]

_LEFT, _RIGHT = 14.0, WIDTH - 14
_BAR = 16.0
_NARROW = 0.004  # of the scale's length: an end known better than this is drawn as a line


def terms(node: Node) -> list[Node]:
    """What a sum is made of."""
    if isinstance(node, Apply) and node.op == "+":
        return [term for part in node.args for term in terms(part)]
    return [node]


class _Bars:
    def __init__(self, numbers: Numbers, at: Position) -> None:
        self.numbers, self.at = numbers, at
        whole = numbers.knowledge.derived[WHOLE].node
        assert isinstance(whole, Step)
        nodes = terms(whole.inner)
        found = numbers.all_of(WHOLE, [*nodes, whole], at)
        self.parts, self.whole = found[:-1], found[-1]

    def draw(self) -> Drawing:
        self.sheet = Sheet(f"volumes {self.at}")
        shown = [number for number in (*self.parts, self.whole) if number.known]
        low = min(0.0, *(number.low for number in shown))
        high = max(1.0, *(number.high for number in shown))
        self.scale = (_RIGHT - _LEFT) / ((high - low) * 1.02)
        self.zero = _LEFT - low * self.scale
        y = 8.0
        for number in self.parts:
            y = self.row(y, number, "bar")
        self.sheet.line(_LEFT, y - 2, _RIGHT, y - 2, "outline")
        y = self.row(y + 6, self.whole, "bar")
        ratio = self.numbers.of("static_compression", self.at)
        y = self.sheet.lines(
            8, y + 6, f"Static compression ratio: {ratio.shown}.", WIDTH - 16, "strong"
        )
        self.sheet.lines(
            8,
            y,
            "Bars from nought to one scale; a part to the left takes volume "
            "away. Hatched: anywhere within.",
            WIDTH - 16,
            "quiet",
        )
        told = "; ".join(f"{number.title} {number.shown}" for number in (*self.parts, self.whole))
        return self.sheet.finished(
            "volumes",
            f"{TITLE}, {self.at}",
            f"Bars for the parts of the volume above the piston "
            f"at top dead centre, and for their sum. {told}. Static compression ratio "
            f"{ratio.shown}.",
            self.scale,
        )

    def row(self, y: float, number: DrawnFigure, look: str) -> float:
        sheet = self.sheet
        title = number.title[:1].upper() + number.title[1:]
        for line in wrapped(f"{title}: {number.shown}", WIDTH - 24):
            sheet.text(8, y + 10, line)
            y += LINE
        if not number.known:
            sheet.unknown(_LEFT, y, _RIGHT - _LEFT, _BAR, number.title)
        else:
            self.bar(y, number, look)
            sheet.line(self.zero, y - 3, self.zero, y + _BAR + 3, "outline")
        return y + _BAR + 10

    def bar(self, y: float, number: DrawnFigure, look: str) -> None:
        """Sure from nought to the nearer end, hatched from there to the farther one."""
        near, far = sorted((number.low, number.high), key=abs)
        if number.low < 0 < number.high:
            near = 0.0
        wide = number.high - number.low > _NARROW * (_RIGHT - _LEFT) / self.scale
        end = near if wide else number.middle
        x, width = sorted((self.zero, self.zero + end * self.scale))
        self.sheet.rect(x, y, width - x, _BAR, look, number.title)
        if wide:
            low = number.low if near == 0.0 else min(near, far)
            high = number.high if near == 0.0 else max(near, far)
            self.sheet.unknown(
                self.zero + low * self.scale,
                y,
                (high - low) * self.scale,
                _BAR,
                f"{number.title}, left open",
            )


def draw(numbers: Numbers, at: Position) -> Drawing:
    """The drawing for one cylinder."""
    bars = _Bars(numbers, at)
    if not any(number.known for number in bars.parts):
        return cannot("volumes", f"{TITLE}, {at}", list(bars.whole.lacks))
    return bars.draw()


def urgency(numbers: Numbers, at: Position) -> float:
    """How soon it wants to be looked at: the smallest volume first."""
    return numbers.of(WHOLE, at).low
