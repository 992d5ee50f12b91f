"""The frame of every page: its looks, its stamp, and the words that a page is filled with."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Sequence
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

import fitcheck
from fitcheck.knowledge import Knowledge
from fitcheck.model import EngineBuild
from fitcheck.quantity import System
from fitcheck.report.drawings.palette import drawing_style, themes
from fitcheck.report.drawings.svg import Drawing
from fitcheck.report.phrases import capital, lower, ranges_in_words
from fitcheck.source import frozen

_HERE = Path(__file__).parent
# Shapes of the states at the size of letters; their words stand beside them.
_MARKS = {
    "clash": '<rect class="clash" x="1" y="1" width="14" height="14"/>'
    '<path class="cut" d="M4.5 4.5l7 7m0-7l-7 7"/>',
    "open": '<path class="open" d="M8 1.5L14.5 8 8 14.5 1.5 8z"/>',
    "fits": '<circle class="fits" cx="8" cy="8" r="6.5"/>',
}


class Typed(str):
    """What somebody typed, or the record of it: shown just so."""

    __slots__ = ()


@frozen
class Told:
    """A caution in full."""

    title: str
    text: str


@frozen
class Table:
    """A table with a caption; the first cell of a row names it."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@frozen
class Section:
    """A part of a page: a heading and what stands beneath."""

    title: str
    intro: str = ""
    tables: tuple[Table, ...] = ()
    drawings: tuple[Drawing, ...] = ()
    cautions: tuple[Told, ...] = ()

    @property
    def id(self) -> str:
        """What links name it by."""
        return "-".join(re.findall("[a-z]+", self.title.lower()))


def cautions(knowledge: Knowledge, ids: Iterable[object]) -> tuple[Told, ...]:
    """Cautions in full, each once."""
    found = [knowledge.cautions[id_].file for id_ in dict.fromkeys(map(str, ids))]
    return tuple(Told(capital(str(file.title)), str(file.text)) for file in found)


def input_digest(build: EngineBuild) -> str:
    """A short hash of the build file's text; empty for a build that was not read from one."""
    text = build.place.source.text if build.place is not None else ""
    return hashlib.sha256(text.encode()).hexdigest()[:12] if text else ""


def stamp(
    knowledge: Knowledge,
    system: System,
    day: date,
    *,
    build: EngineBuild | None = None,
    house: str = "",
    also: Sequence[tuple[str, str]] = (),
) -> list[tuple[str, str]]:
    """What a page rests on: day, knowledge, input, units, the house's decisions, what else holds.

    `house` says what became of those decisions, where a page knows.
    """
    rows = [
        ("Date", day.isoformat()),
        ("fitcheck", f"{fitcheck.__version__}, knowledge {knowledge.digest}"),
    ]
    if build is not None:
        digest = input_digest(build)
        rows.append(("Build file", f"hash {digest}" if digest else "not read from a file"))
    rows.append(("Units", "inch" if system == "inch" else "metric"))
    own = knowledge.house
    rows.append(
        ("House limits and waivers", house or (f"{own.title}: {own.counts}" if own else "none"))
    )
    return [*rows, *also]


@cache
def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(_HERE),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_ranges,
    )
    made.globals |= {
        "style": Markup(
            themes(":root") + drawing_style() + (_HERE / "page.css").read_text(encoding="utf-8")
        ),
        "mark": mark,
        "svg": lambda drawing: Markup(drawing.body),
        "capital": capital,
        "lower": lower,
        "typed": Typed,
        "css_words": css_words,
    }
    return made


def _ranges(value: object) -> object:
    """Text with its ranges in words: `0.050 to 0.060 in`. What was typed stays as it is."""
    if isinstance(value, str) and not isinstance(value, Markup | Typed):
        return ranges_in_words(value)
    return value


def css_words(text: str) -> Markup:
    """Text as a string of a style sheet: all but plain letters and digits by their numbers."""
    told = "".join(
        letter if letter.isascii() and letter.isalnum() else f"\\{ord(letter):06x}"
        for letter in text
    )
    return Markup(f'"{told}"')


def mark(state: str) -> Markup:
    """The shape of a state, for where its word stands beside it."""
    return Markup(f'<svg class="mark" viewBox="0 0 16 16" aria-hidden="true">{_MARKS[state]}</svg>')


def render(template: str, **words: Any) -> str:
    """A page from its template; everything in `words` is escaped there."""
    return _environment().get_template(f"{template}.html.j2").render(**words)
