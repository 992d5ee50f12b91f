"""Reads what a file says of attributes: places, options, quantities within what is plausible."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.knowledge import Knowledge
from fitcheck.model import EVERYWHERE, Attribute, Evidence, Layout, Selector
from fitcheck.quantity import Quantity, QuantityError, Tolerance, read_quantity, show
from fitcheck.source import Node, Place, Problem, Sequence, Text


class Values:
    """Reads values; each adds a problem and gives None where it can't."""

    def __init__(self, knowledge: Knowledge, problems: list[Problem]) -> None:
        self.knowledge = knowledge
        self.problems = problems

    def problem(self, place: Place | None, what: str, mend: str = "") -> None:
        """Add a problem."""
        self.problems.append(Problem(what, place, mend))

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
        """The mask of the options named."""
        mask = 0
        for text in node if isinstance(node, Sequence) else [node]:
            if not isinstance(text, Text):
                self.problem(text.place, f"'{attribute.title}' has no such options", "write words")
                return None
            option = text if text in attribute.options else self._option(attribute, text)
            if not option:
                self.problem(text.place, *self.knowledge.hints.option(attribute, text))
                return None
            mask |= 1 << attribute.options.index(str(option))
        return mask

    def _option(self, attribute: Attribute, text: Text) -> str:
        return self.knowledge.words.option(attribute, text).name

    def _quantity(self, attribute: Attribute, text: Text, evidence: Evidence) -> Quantity | None:
        assert attribute.kind is not None and attribute.plausible is not None
        try:
            found = read_quantity(text, attribute.kind, self._spread(attribute, evidence))
        except QuantityError as error:
            self.problem(
                text.piece(error.offset, error.width),
                f"{attribute.title}: {error.what}",
                error.mend,
            )
            return None
        plausible = attribute.plausible
        inside = (
            found.interval.within(plausible)
            if found.stated
            else plausible.lower <= found.interval.middle <= plausible.upper
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
            found.kind, found.interval.clipped(plausible), found.text, found.stated, found.step
        )

    def _spread(self, attribute: Attribute, evidence: Evidence) -> Tolerance | None:
        """The least half-width that the kind of evidence allows."""
        if evidence in (Evidence.CLAIMED, Evidence.ASSUMED):
            return attribute.claim and replace(attribute.claim, nominal=True)
        procedure = self.knowledge.procedures.get(attribute.measure)
        resolution = procedure.resolution if procedure else None
        if (
            resolution is None
            or attribute.kind is None
            or resolution.kind.dimension != attribute.kind.dimension
        ):
            return None
        return Tolerance(resolution.interval.middle / 2)


def selector_words(selector: Selector) -> str:
    """A selector as it is written in a file."""
    cylinder = str(selector.cylinder or "")
    if selector.cylinder and not selector.side:
        cylinder = f"cylinder {cylinder}"
    named = [f"bank {selector.bank}" if selector.bank else "", cylinder, selector.side or ""]
    return " ".join(piece for piece in named if piece) or "all"
