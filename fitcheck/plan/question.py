"""A question that a plan must leave answered, and how well it must be."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from enum import Enum, IntEnum
from functools import cached_property
from typing import Any

from fitcheck.knowledge import Rule
from fitcheck.model import Position


class Goal(Enum):
    """What a plan must reach.

    MENDED: nothing clashes at the figures aimed at that did not before, and what clashed surely
    fits, or waits for a figure that its own remedy leaves to be measured; of a remark it is enough
    that it does not surely clash any more.
    CLEAR: nothing known clashes any more.
    DECIDED: everything fits.
    """

    MENDED = "mended"
    CLEAR = "clear"
    DECIDED = "decided"


class Strictness(IntEnum):
    """What is asked of a rule after the work; each includes those before it.

    CLEAR: it does not surely clash. AIMED: nor does it at the figures that are aimed at, with what
    was measured or claimed at its middle. FITS: it fits, or waits for a figure that its own remedy
    leaves to be measured.
    """

    NOTHING = 0
    CLEAR = 1
    AIMED = 2
    FITS = 3


@dataclass(eq=False)
class Question:
    """A rule (or a figure, `name`) at places that the works change alike.

    `touching` are the stages that change a figure it reads, `acting` those that do so even when
    what is merely undone counts as it was. `clashed` tells that it clashes before any work.
    `remedies` are the stages that the rule itself names, with the steps that it asks for.
    """

    rule: Rule | None
    name: str
    positions: tuple[Position, ...]
    clashed: bool
    asks: Strictness
    touching: tuple[int, ...]
    acting: tuple[int, ...]
    remedies: Mapping[int, int] = field(default_factory=dict)
    doubtful: bool | None = None  # whether it clashes at the middle of what is known before
    by_aim: bool = False  # whether it last was refused only at the figures aimed at
    judged: dict[frozenset[tuple[int, int]], tuple[bool, bool]] = field(
        default_factory=dict, repr=False
    )
    surely: dict[tuple[object, ...], bool] = field(default_factory=dict, repr=False)
    # By the kind of walk, the amounts at which it was last asked, and the facts then.
    facts: dict[object, tuple[Mapping[int, object], dict[str, Any]]] = field(
        default_factory=dict, repr=False
    )

    @cached_property
    def reached(self) -> frozenset[int]:
        """The stages that touch it, for asking whether one does."""
        return frozenset(self.touching)

    @property
    def must_fit(self) -> bool:
        """Whether it is not enough that it clashes no more."""
        return self.asks is Strictness.FITS

    @property
    def is_remark(self) -> bool:
        """Whether a rule asks it that only advises."""
        return self.rule is not None and self.rule.severity == "advice"

    def ask(self, asks: Strictness) -> None:
        """Ask more or less of it from now on."""
        self.asks = asks
        self.judged.clear()
        self.surely.clear()

    @property
    def title(self) -> str:
        """The rule, or the figure."""
        return self.rule.id if self.rule is not None else self.name

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Question) and self.key == other.key

    def __hash__(self) -> int:
        return hash(self.key)

    def among(self, places: Collection[tuple[str, Position]]) -> bool:
        """Whether it is about one of some rules at places."""
        return any((self.title, position) in places for position in self.positions)

    @property
    def key(self) -> tuple[str, tuple[Position, ...]]:
        """The same for the same question asked again."""
        return self.title, self.positions
