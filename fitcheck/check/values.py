"""Reads what a file says of attributes: places, options, quantities within what is plausible."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from fitcheck.check.one_figure import with_units
from fitcheck.check.options import beside, chosen
from fitcheck.check.printed import Printing
from fitcheck.check.printed_one import PrintedFigure
from fitcheck.knowledge import Knowledge
from fitcheck.knowledge.words import MOST_CHARACTERS, Word
from fitcheck.model import EVERYWHERE, Attribute, Evidence, Layout, Selector
from fitcheck.quantity import EXACT, Quantity, QuantityError, Tolerance, read_quantity, show
from fitcheck.source import Node, Problem, Sequence, TellsProblems, Text, frozen

_AND = re.compile(r"\s*[,;/&+]\s*(?:(?:and|or)\s+)?|\s+(?:and|or)\s+")
_NOUGHT = re.compile(r"\s*0(?![\d.,/])")
_OR = re.compile(r"\s+or\s+")


@frozen
class Said:
    """One thing said: of which attribute, on which side, its value and its plain text."""

    attribute: Attribute
    value: Quantity | int | str
    text: str
    side: str = ""


class ValueReader(TellsProblems):
    """Reads values; each adds a problem and gives None where it can't."""

    def __init__(
        self, knowledge: Knowledge, problems: list[Problem], *, bare: bool = False
    ) -> None:
        self.knowledge = knowledge
        self.problems = problems
        self.printing = Printing(knowledge, bare=bare)

    def selector(self, text: Text, attribute: Attribute, layout: Layout | None) -> Selector | None:
        """The positions that a text names, where the attribute can differ between them.

        Without a layout, which is told elsewhere, any position may be.
        """
        selector = Selector.read(text)
        if selector is None:
            self.problem(
                text.place,
                f"'{text}' names no position",
                "write all, intake, exhaust, cylinder 3, 3 exhaust or bank left",
            )
            return None
        wanted = "valve" if selector.side else "cylinder" if selector.cylinder else "bank"
        levels = ("engine", "bank", "cylinder", "valve")
        if selector != EVERYWHERE and levels.index(attribute.each) < levels.index(wanted):
            self.problem(
                text.place,
                f"'{attribute.title}' is one figure for each "
                f"{attribute.each}, not for each {wanted}",
            )
            return None
        if layout is None:
            return selector
        if not any(selector.covers(position) for position in layout.positions(attribute.each)):
            self.problem(
                text.place,
                f"there is no position '{text}' in this engine",
                f"it has {layout.cylinders} cylinders"
                + (
                    f" in banks {', '.join(name for name, _ in layout.banks)}"
                    if layout.banks
                    else " and no banks told"
                ),
            )
            return None
        return selector

    def said(
        self, attribute: Attribute, node: Node, evidence: Evidence, *, sided: bool
    ) -> list[Said]:
        """All that a value says: itself, or the plain figures that a printed one is made of."""
        if attribute.kind is None or not isinstance(node, Text):
            if isinstance(node, Text) and (several := beside(attribute, node, self.knowledge)):
                return self._each(several, node, evidence)
            value = self.value(attribute, node, evidence)
            return [] if value is None else [Said(attribute, value, self._text(attribute, node))]
        before = len(self.problems)
        claimed = evidence in (Evidence.CLAIMED, Evidence.ASSUMED)
        plain = self._plain(attribute, node, evidence)
        if plain is not None and not (claimed and self.printing.is_name(attribute, node)):
            return [Said(attribute, plain, str(node))]
        wrong = self.problems[before:]
        del self.problems[before:]
        pieces = self.printing.pieces(attribute, node, sided=sided, claimed=claimed)
        figures = self._each(pieces, node, evidence)
        if not figures or len(figures) < len(pieces):
            stated = self.printing.stated_at(attribute, node)
            self.problems[before:] = (
                [Problem(stated[0], node.place, stated[1])] if stated else wrong
            )
            return []
        return figures

    def chosen(self, names: tuple[str, ...], node: Text) -> list[Said]:
        """The options that a text says of some choices of a part."""
        return [_option_said(one) for one in chosen(names, node, self.knowledge)]

    def _each(self, pieces: Iterable[PrintedFigure], node: Text, evidence: Evidence) -> list[Said]:
        return [
            Said(one.attribute, value, one.text, one.side)
            for one in pieces
            if (value := self._piece(one, node, evidence)) is not None
        ]

    def _piece(
        self, one: PrintedFigure, node: Text, evidence: Evidence
    ) -> Quantity | int | str | None:
        text = Text(one.text, node.place)
        if one.attribute.kind is not None:
            return self._plain(one.attribute, text, evidence)
        return self._options(one.attribute, text)

    def _text(self, attribute: Attribute, node: Node) -> str:
        """An option as it is called here, where it was understood from shortened words."""
        if not isinstance(node, Text) or not attribute.options:
            return str(node)
        word = self.knowledge.words.option(attribute, node)
        if word.either:
            return " or ".join(word.may)
        return word.name if word.name and word.short else str(node)

    def value(
        self, attribute: Attribute, node: Node, evidence: Evidence
    ) -> Quantity | int | str | None:
        """The value of an attribute: a quantity, the mask of its options, or a text."""
        if attribute.several:
            return self._options(attribute, node)
        if not isinstance(node, Text):
            self.problem(node.place, f"'{attribute.title}' is one value")
            return None
        if attribute.kind is not None:
            return self._quantity(attribute, node, evidence)
        return str(node) if attribute.text else self._options(attribute, node)

    def _options(self, attribute: Attribute, node: Node) -> int | None:
        """The mask of the options named; of a choice those that are left open, as in `a or b`."""
        mask = 0
        for text in node if isinstance(node, Sequence) else [node]:
            if not isinstance(text, Text):
                self.problem(text.place, f"'{attribute.title}' has no such options", "write words")
                return None
            options = self._named(attribute, text)
            if not options:
                self.problem(text.place, *self.knowledge.hints.option(attribute, text))
                return None
            for option in options:
                mask |= 1 << attribute.options.index(option)
        return mask

    def _named(self, attribute: Attribute, text: Text) -> list[str]:
        """The options that a text names, as one or parted; none where a part of it names none."""
        if text in attribute.options:
            return [str(text)]
        found = self.knowledge.words.option(attribute, text)
        if found.name or found.may or len(text) > MOST_CHARACTERS:
            return self._meant(attribute, found)
        parted = (_AND if attribute.several else _OR).split(text)
        every = [
            self._meant(attribute, self.knowledge.words.option(attribute, one)) for one in parted
        ]
        return [one for some in every for one in some] if len(parted) > 1 and all(every) else []

    @staticmethod
    def _meant(attribute: Attribute, word: Word) -> list[str]:
        """The option that a word means, or those that it leaves open; none where it is asked."""
        left_open = list(word.may) if word.either and not attribute.several else []
        return [word.name] if word.name else left_open

    def _quantity(self, attribute: Attribute, text: Text, evidence: Evidence) -> Quantity | None:
        """One figure, where no more can be said."""
        found = self.said(attribute, text, evidence, sided=True)
        if len(found) == 1 and found[0].attribute is attribute:
            value = found[0].value
            assert isinstance(value, Quantity)
            return value
        if found:
            said = ", ".join(f"{one.attribute.short_name} {one.text}" for one in found)
            self.problem(text.place, f"'{text}' says several things: {said}", "write each alone")
        return None

    def _plain(self, attribute: Attribute, text: Text, evidence: Evidence) -> Quantity | None:
        assert attribute.kind is not None and attribute.plausible is not None
        spread = self._spread(attribute, evidence)
        if _NOUGHT.match(text):  # none at all, not none to the nearest inch
            spread = replace(spread, nominal=True) if spread else EXACT
        try:
            figure = read_quantity(text, attribute.kind, spread)
        except QuantityError as error:
            self.problem(
                text.piece(error.offset, error.width),
                f"{attribute.title}: {error.what}",
                self._with_unit(attribute, text) or error.mend,
            )
            return None
        plausible = attribute.plausible
        inside = (
            figure.interval.within(plausible)
            if figure.stated
            else plausible.lower <= figure.interval.middle <= plausible.upper
        )
        if not inside:
            shown = show(plausible, attribute.kind)
            self.problem(
                text.place,
                f"{attribute.title} of {text} is outside {shown}, the range "
                f"that is plausible for it",
                "check the figure and its unit",
            )
            return None
        return Quantity(
            figure.kind, figure.interval.clipped(plausible), figure.text, figure.stated, figure.step
        )

    @staticmethod
    def _with_unit(attribute: Attribute, text: Text) -> str:
        """A bare figure with the units in which it is plausible."""
        figures = list(with_units(attribute, text))
        return f"write {' or '.join(figures)}" if figures else ""

    def _spread(self, attribute: Attribute, evidence: Evidence) -> Tolerance | None:
        """The least half-width that the kind of evidence allows."""
        if evidence in (Evidence.CLAIMED, Evidence.ASSUMED):
            claim = attribute.claim
            return claim and replace(claim, nominal=True, name=attribute.nominal)
        resolution = self.knowledge.resolution_of(attribute)
        return None if resolution is None else Tolerance(resolution / 2)


def _option_said(piece: PrintedFigure) -> Said:
    return Said(
        piece.attribute, 1 << piece.attribute.options.index(piece.text), piece.text, piece.side
    )


def selector_words(selector: Selector) -> str:
    """A selector as it is written in a file."""
    cylinder = str(selector.cylinder or "")
    if selector.cylinder and not selector.side:
        cylinder = f"cylinder {cylinder}"
    named = [f"bank {selector.bank}" if selector.bank else "", cylinder, selector.side or ""]
    return " ".join(piece for piece in named if piece) or "all"
