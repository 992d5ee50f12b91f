"""What is known of an attribute at a position, and how well."""

from __future__ import annotations

from dataclasses import field
from datetime import date
from enum import IntEnum
from fractions import Fraction

from fitcheck.model.classes import Attribute
from fitcheck.model.position import Selector
from fitcheck.quantity import Interval, Quantity
from fitcheck.source import Place, frozen

# Ranks of what is supposed, over all evidence, and of what nobody told, beneath it.
SUPPOSED, UNTOLD = -1, 5


class Evidence(IntEnum):
    """The kinds of evidence, the strongest first.

    A build file says three of them (measured, claimed, assumed; predicted, of what was ordered);
    usual is what the knowledge puts in the place of a figure that nobody gave.
    """

    MEASURED = 0
    PREDICTED = 1
    CLAIMED = 2
    USUAL = 3
    ASSUMED = 4

    @property
    def word(self) -> str:
        """The kind in a word."""
        return self.name.lower()


@frozen
class Origin:
    """Who says so, when, found with what."""

    by: str = ""
    when: date | None = None
    with_: str = ""

    def __str__(self) -> str:
        parts = [
            f"by {self.by}" if self.by else "",
            f"on {self.when}" if self.when else "",
            f"with {self.with_}" if self.with_ else "",
        ]
        return ", ".join(part for part in parts if part)


@frozen
class Statement:
    """One value as given in a file: for which positions, on what evidence."""

    attribute: Attribute
    selector: Selector
    evidence: Evidence
    value: Quantity | int | str
    origin: Origin
    place: Place | None = field(default=None, repr=False)
    supposed: bool = False
    weakest: Evidence | None = None  # of a prediction: the weakest figure it was reckoned from

    @property
    def strength(self) -> tuple[bool, int, date, int]:
        """Of two statements about one position the stronger holds; what is supposed, over all.

        Of equal evidence the latest date holds, undated counting as oldest, and of one date the
        one that points most exactly. Of two that are equal in all this the later in the file holds.
        """
        return self.supposed, -self.evidence, self.origin.when or date.min, self.selector.weight


@frozen(eq=False)
class Fact:
    """What holds for an attribute at the positions it was resolved for.

    A quantity has an interval; a choice has a mask of the options left open, a set of options
    a mask of those surely in it (`sure`) and of those possibly in it (`mask`). `given` is False
    where nothing was said and the class's range stands in. `rank` tells how good the evidence is
    beside that of other figures: the least is the best.
    """

    attribute: Attribute
    evidence: Evidence
    given: bool
    interval: Interval | None = None
    mask: int = 0
    sure: int = 0
    text: str = ""
    statement: Statement | None = None
    low: float = 0.0
    high: float = 0.0
    supposed: bool = False
    weakest: Evidence | None = None
    rank: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "rank", float(self._rank()))

    def _rank(self) -> int:
        said = self.statement
        if self.supposed or (said is not None and said.supposed):
            return SUPPOSED
        if not self.given and self.evidence is not Evidence.USUAL:
            return UNTOLD
        weakest = self.weakest if said is None else said.weakest
        return max(self.evidence, self.evidence if weakest is None else weakest)

    @classmethod
    def quantity(
        cls,
        attribute: Attribute,
        evidence: Evidence,
        interval: Interval,
        statement: Statement | None = None,
        text: str = "",
        *,
        supposed: bool = False,
        weakest: Evidence | None = None,
    ) -> Fact:
        """A fact about a quantity, with its ends as floats beside the exact ones."""
        return cls(
            attribute,
            evidence,
            statement is not None or bool(text),
            interval,
            text=text,
            statement=statement,
            low=float(interval.lower),
            high=float(interval.upper),
            supposed=supposed,
            weakest=weakest,
        )

    @classmethod
    def unknown(cls, attribute: Attribute) -> Fact:
        """The fact about an attribute of which nothing is said."""
        if attribute.plausible is not None:
            return cls.quantity(attribute, Evidence.ASSUMED, attribute.plausible)
        return cls(attribute, Evidence.ASSUMED, False, mask=(1 << len(attribute.options)) - 1)

    @property
    def word(self) -> str:
        """The kind of evidence in a word: what somebody only supposes is not measured."""
        supposed = self.statement is not None and self.statement.supposed
        return "supposed" if supposed else self.evidence.word

    def end(self, which: str) -> float | int:
        """An end as a float, or a mask, for the fast printing; or the rank."""
        if which == "rank":
            return self.rank
        if self.interval is not None:
            return self.low if which == "lower" else self.high
        return self.sure if which == "lower" else self.mask

    def exact_end(self, which: str) -> Fraction | float:
        """An end as it is."""
        if which == "rank":
            return self.rank
        if self.interval is not None:
            return self.interval.lower if which == "lower" else self.interval.upper
        return self.sure if which == "lower" else self.mask

    @property
    def open(self) -> bool:
        """Whether more than one value is still possible."""
        if self.interval is not None:
            return self.interval.width > 0
        return self.sure != self.mask if self.attribute.several else bool(self.mask & self.mask - 1)
