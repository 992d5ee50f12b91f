"""One printed figure, oddly written: fractions, commas, ranges, units that are left out."""

from __future__ import annotations

import re
from collections.abc import Iterator

from fitcheck.check.one_figure import NUMBER, ONE, UNIT, bare_units, fits, one_sided, units
from fitcheck.knowledge import Knowledge
from fitcheck.knowledge.word_lists import Forms
from fitcheck.model import Attribute
from fitcheck.quantity.grades import graded_size
from fitcheck.source import frozen

_FRACTION = re.compile(r"(?:\d+[ -])?\d+/\d+")
_SPAN = re.compile(rf"({NUMBER})\s*({UNIT})?\s*-\s*({NUMBER})\s*({UNIT})?")
_UNTIL = re.compile(r"\s*\bto\b\s*")
_GROUPED = re.compile(r"(?<=\d),(?=\d{3}(?!\d))")


@frozen
class PrintedFigure:
    """One plain figure or option out of a text: what it is of, on which side, as plain text."""

    attribute: Attribute
    text: str
    side: str = ""


Pieces = tuple[PrintedFigure, ...]


class OnePrinted:
    """Reads one figure of an attribute; nothing where it can be meant in two ways or none."""

    def __init__(self, knowledge: Knowledge, *, bare: bool = False) -> None:
        self.knowledge = knowledge
        self.bare = bare

    def _whole(self, attribute: Attribute, text: str) -> list[Pieces]:
        """One figure, however written."""
        plain = [one for one in self._plain(attribute, text) if fits(attribute, one)]
        return [(PrintedFigure(attribute, one),) for one in dict.fromkeys(plain)]

    def forms(self, attribute: Attribute) -> Forms:
        """The forms of the figures of a part."""
        return self.knowledge.word_lists.forms.get(attribute.slot, Forms())

    def _plain(self, attribute: Attribute, text: str) -> Iterator[str]:
        """The ways in which one figure could be meant, plausible or not."""
        if "," in text:
            if text.count(",") == 1 or "." not in text:
                yield from self._plain(attribute, text.replace(",", "."))
            if _GROUPED.search(text):
                yield from self._plain(attribute, _GROUPED.sub("", text))
            return
        yield text
        yield from one_sided(attribute, text)
        yield from self._graded(attribute, text)
        if _FRACTION.fullmatch(text):
            yield f"{text} in"
        elif self.bare and (one := ONE.fullmatch(text)) and not one[2]:
            yield from (f"{text} {unit}" for unit in bare_units(attribute, text) if unit)
        span = _SPAN.fullmatch(_UNTIL.sub(" - ", text))
        if span and not _FRACTION.fullmatch(text):
            low, first, high, second = span.groups()
            alike = ("/" in low) == ("/" in high)
            if alike and (first is None or second is None or first == second):
                for unit in units(attribute, first or second, low, high):
                    yield f"{low} .. {high} {unit}".strip()

    def _graded(self, attribute: Attribute, text: str) -> Iterator[str]:
        """8.00 H7: a size with a standard tolerance, in millimetres."""
        assert attribute.kind is not None
        ends = graded_size(text) if attribute.kind.name == "length" else None
        if ends is not None:
            yield f"{float(ends[0]):.4f} .. {float(ends[1]):.4f} mm"

    def _one(self, attribute: Attribute, text: str) -> Pieces:
        """One plain figure, its unit left out where only one is plausible."""
        match = ONE.fullmatch(text.strip())
        if match is None:
            return ()
        found = [
            figure
            for unit in units(attribute, match[2], match[1])
            if fits(attribute, figure := f"{match[1]} {unit}".strip())
        ]
        return (PrintedFigure(attribute, found[0]),) if len(found) == 1 else ()

    def _of(self, attribute: Attribute, name: str) -> Attribute:
        return self.knowledge.attributes[f"{attribute.slot}.{name}"]
