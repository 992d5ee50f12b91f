"""What the whole order of a part costs: so many pieces, spares among them, in packs of so many."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from fitcheck.knowledge import Knowledge
from fitcheck.model import EngineBuild
from fitcheck.screen.opening import Opening


@dataclass(frozen=True, slots=True)
class Need:
    """How many pieces are wanted: one for each place, and spares."""

    places: int
    spares: int = 0

    @property
    def pieces(self) -> int:
        """All that is ordered for."""
        return self.places + self.spares

    def packs(self, pack: int | None) -> int:
        """How many of what a price is for: packs, or single pieces.

        >>> Need(16, 2).packs(8), Need(16).packs(None)
        (3, 16)
        """
        return ceil(self.pieces / (pack or 1))

    @property
    def sql(self) -> str:
        """The price of the order over a table of candidates."""
        return f"price * ceil({self.pieces}e0 / coalesce(pack, 1))"


def need_of(build: EngineBuild, knowledge: Knowledge, opening: Opening, spares: int = 0) -> Need:
    """What a build needs for an open slot."""
    each = knowledge.classes[opening.slot].each
    places = [p for p in build.layout.positions(each) if opening.selector.covers(p)]
    return Need(len(places), spares)
