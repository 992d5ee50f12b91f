"""Writes SVG: a sheet with shapes, text that is wrapped, dimensions, hatching for what is unknown.

Everything that comes from a file goes through `escape` here, and nowhere else.
"""

from __future__ import annotations

import re
import textwrap
from dataclasses import replace
from html import escape

from fitcheck.report.drawings.palette import drawing_style, themes
from fitcheck.report.phrases import ranges_in_words
from fitcheck.source import frozen

# A phone of 320 units shows a sheet of this width at its own size, so no letter gets too small.
WIDTH = 288.0
LINE = 15.0
# Widest usual advance of a sans-serif letter at the drawings' size, with something to spare.
ADVANCE = 6.7
STRONG = 1.12  # how much wider bold letters run
# What XML forbids even as a reference.
_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@frozen
class Drawing:
    """A finished drawing. `body` is an `<svg>` element that takes its looks from the page."""

    name: str
    title: str
    description: str
    body: str
    caption: str = ""
    lacks: str = ""  # what it would have to know to show what it is for

    def alone(self) -> str:
        """The drawing as a file of its own, which brings its looks along."""
        style = f"<style>{themes('.drawing')}{drawing_style()}</style>"
        return self.body.replace("<defs>", f"{style}<defs>", 1) + "\n"


def safe(text: object) -> str:
    """Text as it may stand in XML."""
    return escape(_FORBIDDEN.sub("\ufffd", str(text)))


def number(value: float) -> str:
    """A coordinate, to a hundredth of a unit."""
    return f"{value:.2f}".rstrip("0").rstrip(".") if value else "0"


def wrapped(text: str, width: float) -> list[str]:
    """The text in lines that surely fit a width."""
    return textwrap.wrap(ranges_in_words(text), max(4, int(width / ADVANCE))) or [""]


class Sheet:
    """A sheet that shapes are put on, in its own units from the upper left corner."""

    def __init__(self, key: str) -> None:
        self.key = "".join(letter if letter.isalnum() else "-" for letter in key)
        self.parts: list[str] = []
        self.height = 0.0
        self.hatched = False

    def put(self, tag: str, content: str = "", **attributes: object) -> None:
        """Add an element; `cls` is its class, an underscore stands for a hyphen."""
        told = "".join(
            f' {"class" if name == "cls" else name.replace("_", "-")}="'
            f'{number(value) if isinstance(value, float) else safe(value)}"'
            for name, value in attributes.items()
            if value != ""
        )
        self.parts.append(f"<{tag}{told}>{content}</{tag}>" if content else f"<{tag}{told}/>")

    def grow(self, bottom: float) -> None:
        """Make the sheet reach at least this far down."""
        self.height = max(self.height, bottom)

    def line(self, x1: float, y1: float, x2: float, y2: float, cls: str, of: str = "") -> None:
        """A straight line; `of` names what its length stands for."""
        self.put("line", x1=x1, y1=y1, x2=x2, y2=y2, cls=cls, data_of=of)

    def rect(self, x: float, y: float, width: float, height: float, cls: str, of: str = "") -> None:
        """A rectangle."""
        self.put(
            "rect", x=x, y=y, width=max(0.0, width), height=max(0.0, height), cls=cls, data_of=of
        )

    def circle(self, x: float, y: float, radius: float, cls: str, of: str = "") -> None:
        """A circle."""
        self.put("circle", cx=x, cy=y, r=max(0.0, radius), cls=cls, data_of=of)

    def path(
        self, points: list[tuple[float, float]], cls: str, of: str = "", closed: bool = False
    ) -> None:
        """A line through points."""
        text = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + "Z" * closed
        self.put("path", d=text, cls=cls, data_of=of)

    def text(self, x: float, y: float, text: str, cls: str = "", anchor: str = "") -> None:
        """One line of text, its foot at `y`; `anchor` is middle or end."""
        self.put("text", safe(ranges_in_words(text)) or " ", x=x, y=y, cls=cls, text_anchor=anchor)

    def lines(self, x: float, y: float, text: str, width: float, cls: str = "") -> float:
        """Wrapped text from `y` down; gives where the next line's foot may stand."""
        for row in wrapped(text, width / (STRONG if "strong" in cls else 1)):
            self.text(x, y, row, cls)
            y += LINE
        self.grow(y - LINE + 5)
        return y

    def unknown(self, x: float, y: float, width: float, height: float, of: str = "") -> None:
        """A hatched field: somewhere in it, nobody knows where."""
        self.hatched = True
        self.put(
            "rect",
            x=x,
            y=y,
            width=max(0.0, width),
            height=max(0.0, height),
            cls="unknown",
            fill=f"url(#{self.key}-hatch)",
            data_of=of,
        )

    def unknown_path(self, outline: str, of: str = "") -> None:
        """A hatched field of any outline."""
        self.hatched = True
        self.put(
            "path",
            d=outline,
            cls="unknown",
            fill=f"url(#{self.key}-hatch)",
            fill_rule="evenodd",
            data_of=of,
        )

    def mark(self, state: str, x: float, y: float, size: float = 6.0) -> None:
        """The shape of a state: a crossed square clashes, a hollow diamond is open, a disc fits."""
        if state == "clash":
            self.rect(x - size, y - size, 2 * size, 2 * size, "clash")
            arm = size * 0.55
            for sign in (1, -1):
                self.put(
                    "line",
                    x1=x - arm,
                    y1=y - sign * arm,
                    x2=x + arm,
                    y2=y + sign * arm,
                    stroke="var(--paper)",
                    stroke_width=1.8,
                )
        elif state == "open":
            self.path(
                [(x, y - size), (x + size, y), (x, y + size), (x - size, y)], "open", closed=True
            )
        else:
            self.circle(x, y, size * 0.85, "fits")

    def tag(self, x: float, y: float, letter: str, look: str = "") -> None:
        """A letter in a ring, which the key beneath explains.

        In a heavy ring for what is `tight`, in a filled red square for what is a `clash`.
        """
        if look == "clash":
            self.rect(x - 8, y - 8, 16, 16, "tag-clash")
        else:
            self.circle(x, y, 8, "tag tag-tight" if look else "tag")
        self.text(x, y + 4, letter, "on-clash" if look == "clash" else "", "middle")

    def arrow(self, x: float, y: float, way: int, across: bool = False) -> None:
        """An arrow head with its tip at a point; `way` 1 points down or right, -1 up or left."""
        if across:
            points = [(x, y), (x - 5 * way, y - 2.5), (x - 5 * way, y + 2.5)]
        else:
            points = [(x, y), (x - 2.5, y - 5 * way), (x + 2.5, y - 5 * way)]
        self.path(points, "head", closed=True)

    def finished(
        self,
        name: str,
        title: str,
        description: str,
        scale: float = 0.0,
        caption: str = "",
        width: float = WIDTH,
    ) -> Drawing:
        """The drawing; `scale` is how many of its units one millimetre takes."""
        key = self.key
        height = self.height + 4
        hatch = (
            f'<pattern id="{key}-hatch" width="6" height="6" patternUnits="userSpaceOnUse" '
            f'patternTransform="rotate(45)"><rect class="hatch-back" width="6" height="6"/>'
            f'<line class="hatch" x1="0" y1="0" x2="0" y2="6"/></pattern>'
            if self.hatched
            else ""
        )
        scaled = f' data-scale="{scale:.9g}"' if scale else ""
        body = (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img" '
            f'data-made-by="fitcheck" viewBox="0 0 {number(width)} {number(height)}" '
            f'width="{number(width)}" height="{number(height)}" '
            f'aria-labelledby="{key}-title {key}-desc"{scaled}>'
            f'<title id="{key}-title">{safe(title)}</title>'
            f'<desc id="{key}-desc">{safe(description)}</desc><defs>{hatch}</defs>'
            f'<rect class="paper" width="{number(width)}" height="{number(height)}"/>'
            f"{''.join(self.parts)}</svg>"
        )
        return Drawing(name, title, description, body, caption)


def cannot(name: str, title: str, lacks: list[str]) -> Drawing:
    """What stands in for a drawing that lacks too much."""
    words = lacks_words(lacks)
    told = f"Not drawn: {words}"
    sheet = Sheet(f"{name}-lacks")
    bottom = sheet.lines(16, 28, told, WIDTH - 32)
    sheet.parts.insert(
        0,
        f'<rect x="3" y="3" width="{number(WIDTH - 6)}" '
        f'height="{number(bottom - 4)}" class="vague"/>',
    )
    sheet.grow(bottom)
    return replace(sheet.finished(name, title, told), lacks=words)


def lacks_words(lacks: list[str], most: int = 8) -> str:
    """What is not known, in a sentence."""
    named = ", ".join(lacks[:most])
    more = f" and {len(lacks) - most} more" if len(lacks) > most else ""
    return f"not known {'is' if len(lacks) == 1 else 'are'} {named}{more}."
