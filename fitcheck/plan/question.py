"""A question that a plan must leave answered, and how well it must be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from fitcheck.knowledge import Rule
from fitcheck.model import Position


class Goal(Enum):
    """What a plan must reach.

    MENDED: nothing clashes, and what clashed surely fits, or waits for a figure that its own
    remedy leaves to be measured; of a remark it is enough that it clashes no more.
    CLEAR: nothing known clashes any more.
    DECIDED: everything fits.
    """

    MENDED = "mended"
    CLEAR = "clear"
    DECIDED = "decided"


@dataclass(eq=False)
class Question:
    """A rule (or a figure, `name`) at places that the works change alike.

    `touching` are the stages that change a figure it reads, `acting` those that do so even when
    what is merely undone counts as it was. `must_fit` tells that it clashed, and that it is not
    enough that it clashes no more. `remedies` are the stages that the rule itself names, with the
    steps that it asks for.
    """

    rule: Rule | None
    name: str
    positions: tuple[Position, ...]
    clashed: bool
    must_fit: bool
    touching: tuple[int, ...]
    acting: tuple[int, ...]
    remedies: Mapping[int, int] = field(default_factory=dict)
    judged: dict[tuple[int, ...], bool] = field(default_factory=dict, repr=False)
    surely: dict[tuple[tuple[int, int], ...], bool] = field(default_factory=dict, repr=False)

    @property
    def title(self) -> str:
        """The rule, or the figure."""
        return self.rule.id if self.rule is not None else self.name

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Question) and self.key == other.key

    def __hash__(self) -> int:
        return hash(self.key)

    @property
    def key(self) -> tuple[str, tuple[Position, ...]]:
        """The same for the same question asked again."""
        return self.title, self.positions
