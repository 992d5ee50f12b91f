"""Where in an engine a value holds: everywhere, on a side, a bank, a cylinder, at one valve."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal, NamedTuple

from fitcheck.source import frozen

Each = Literal["engine", "bank", "cylinder", "valve"]
LEVELS: tuple[Each, ...] = ("engine", "bank", "cylinder", "valve")
SIDES = ("intake", "exhaust")
MOST_CYLINDERS = 24
# Read with a space after each word.
_SELECTOR = re.compile(
    r"all |(?:bank (?P<bank>[\w-]+) )?(?:(?:cylinder )?(?P<cylinder>[0-9]{1,2}) )?"
    r"(?:(?P<side>intake|exhaust)s? )?"
)


class Position(NamedTuple):
    """One place of an engine; what is None does not apply at that level."""

    bank: str | None = None
    cylinder: int | None = None
    side: str | None = None

    def order(self) -> tuple[str, int, bool]:
        """Where it comes among the positions of an engine."""
        return (
            "" if self.cylinder else self.bank or "",
            self.cylinder or 0,
            self.side == "exhaust",
        )

    def __str__(self) -> str:
        named = [
            f"bank {self.bank}" if self.bank and self.cylinder is None else "",
            f"cylinder {self.cylinder}" if self.cylinder else "",
            self.side or "",
        ]
        return " ".join(part for part in named if part) or "the engine"


@frozen
class Layout:
    """How many cylinders there are, and which bank each belongs to."""

    cylinders: int
    banks: tuple[tuple[str, tuple[int, ...]], ...] = ()

    def bank_of(self, cylinder: int) -> str | None:
        """The bank a cylinder belongs to; None where the banks are not told."""
        return next((name for name, members in self.banks if cylinder in members), None)

    def positions(self, each: Each) -> list[Position]:
        """All positions of a level, in order."""
        if each == "engine":
            return [Position()]
        if each == "bank":
            return [Position(bank=name) for name, _ in self.banks] or [Position()]
        numbers = range(1, self.cylinders + 1)
        if each == "cylinder":
            return [Position(self.bank_of(n), n) for n in numbers]
        return [Position(self.bank_of(n), n, side) for n in numbers for side in SIDES]


@frozen
class Selector:
    """The positions that a value is given for, as in `exhaust`, `cylinder 3`, `3 exhaust`.

    >>> Selector.read("3 exhaust").covers(Position("left", 3, "exhaust"))
    True
    >>> Selector.read("bank left intake").covers(Position("left", 3, "exhaust"))
    False
    """

    bank: str | None = None
    cylinder: int | None = None
    side: str | None = None

    @classmethod
    def read(cls, text: str) -> Selector | None:
        """Read a selector; None for what is none."""
        match = _SELECTOR.fullmatch(" ".join(text.split()) + " ")
        if not match:
            return None
        cylinder = match["cylinder"]
        return cls(match["bank"], int(cylinder) if cylinder else None, match["side"])

    @property
    def weight(self) -> int:
        """The more exactly a selector points, the heavier it is."""
        return (self.side is not None) + 2 * (self.bank is not None) + 4 * bool(self.cylinder)

    def covers(self, position: Position) -> bool:
        """Whether the position is one of those selected."""
        return (
            (self.bank is None or self.bank == position.bank)
            and (self.cylinder is None or self.cylinder == position.cylinder)
            and (self.side is None or self.side == position.side)
        )


EVERYWHERE = Selector()


def group_name(some: Iterable[Position], layout: Layout) -> str:
    """A group of positions in a few words.

    >>> layout = Layout(4)
    >>> group_name([p for p in layout.positions("valve") if p.side == "exhaust"], layout)
    'all exhausts'
    >>> group_name(layout.positions("valve")[:2], layout)
    'both valves of cylinder 1'
    """
    positions = list(some)
    if len(positions) == 1:
        return str(positions[0])
    if positions[0].cylinder is None:
        if len(positions) < len(layout.banks):
            return f"banks {_list(position.bank for position in positions)}"
        return "both banks" if len(positions) == 2 else "all banks"
    if positions[0].side is None:
        numbers = [position.cylinder for position in positions]
        whole = len(numbers) == layout.cylinders
        return "all cylinders" if whole else f"cylinders {_list(numbers)}"
    by_side = {side: [p.cylinder for p in positions if p.side == side] for side in SIDES}
    if by_side["intake"] == by_side["exhaust"]:
        numbers = by_side["intake"]
        if len(numbers) == layout.cylinders:
            return "all valves"
        plural = "s" if len(numbers) > 1 else ""
        return f"both valves of cylinder{plural} {_list(numbers)}"
    return " and ".join(
        _side_group(side, numbers, layout) for side, numbers in by_side.items() if numbers
    )


def _side_group(side: str, numbers: list[int | None], layout: Layout) -> str:
    if len(numbers) == layout.cylinders:
        return f"all {side}s"
    return f"{side}{'s' if len(numbers) > 1 else ''} of {_list(numbers)}"


def _list(names: Iterable[str | int | None]) -> str:
    return ", ".join(map(str, names))
