"""A build: the parts in its slots and everything said of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import field, replace

from fitcheck.model.evidence import Statement
from fitcheck.model.position import Layout
from fitcheck.quantity import Quantity
from fitcheck.source import Place, frozen


@frozen
class MakerLimit:
    """What the maker of a part (or of the engine) asks for instead of a rule's limit.

    `values` holds it by the options that the limit depends on; `by` says who says so.
    """

    slot: str
    rule: str
    limit: str
    values: dict[str, Quantity]
    by: str
    place: Place = field(repr=False, compare=False)


@frozen
class Part:
    """A part as listed; `holder` is the slot of the part it came inside."""

    slot: str
    name: str
    seller: str
    statements: tuple[Statement, ...]
    holder: str = ""
    place: Place | None = field(default=None, repr=False)
    asked: tuple[MakerLimit, ...] = ()


@frozen
class UnderstoodText:
    """What was understood from a text that is no plain name and figure: as typed, as read.

    `bare` tells that only its unit was left out.
    """

    typed: str
    understood: str
    place: Place | None = field(default=None, repr=False, compare=False)
    bare: bool = False


@frozen
class EngineBuild:
    """What somebody means to put together.

    `parts` holds the part (or one for each side) of every filled slot; `absent` the slots said
    to be empty for good; `readings` what was understood from figures as they are printed.
    """

    title: str
    about: str
    layout: Layout
    parts: dict[str, tuple[Part, ...]]
    absent: frozenset[str]
    place: Place | None = field(default=None, repr=False)
    readings: tuple[UnderstoodText, ...] = field(default=(), compare=False)

    def supposing(self, statements: Iterable[Statement]) -> EngineBuild:
        """This build with further statements, which hold over those it has.

        Each is marked as supposed and goes to the part in its slot; an empty slot gets a part.
        """
        parts = dict(self.parts)
        for statement in statements:
            slot = statement.attribute.slot
            first, *others = parts.get(slot) or (Part(slot, "", "", ()),)
            said = (*first.statements, replace(statement, supposed=True))
            parts[slot] = (replace(first, statements=said), *others)
        return replace(self, parts=parts, absent=self.absent - set(parts))

    @property
    def asked(self) -> tuple[MakerLimit, ...]:
        """What the makers of its parts ask for instead of limits."""
        return tuple(one for parts in self.parts.values() for part in parts for one in part.asked)

    def statements(self) -> list[Statement]:
        """Everything said, in file order."""
        return [
            statement
            for parts in self.parts.values()
            for part in parts
            for statement in part.statements
        ]
