"""The pieces that reports of a check are made of: plain data, in words."""

from __future__ import annotations

from fitcheck.report.sums import Sum
from fitcheck.source import frozen


@frozen
class PlaceWords:
    """What is said at some places."""

    where: str
    message: str
    short: str


@frozen
class Remedy:
    """What mends a clash at its worst place."""

    text: str
    note: str
    enough: bool
    cautions: tuple[str, ...]

    @property
    def words(self) -> str:
        """The remedy with what is to be minded of it."""
        return f"{self.text} ({self.note})" if self.note else self.text


@frozen
class Clash:
    """One rule's clashes at all their places; `worst` is the one that may lack most."""

    rule: str
    severity: str
    title: str
    places: tuple[PlaceWords, ...]
    worst: PlaceWords
    why: str
    remedies: tuple[Remedy, ...]
    limits: tuple[str, ...]
    weakest: str
    cautions: tuple[str, ...]
    sum: Sum | None

    @property
    def remedy(self) -> Remedy | None:
        """The remedy to look at first: the first that is known to give enough."""
        return self.remedies[0] if self.remedies else None

    @property
    def at_work(self) -> tuple[str, ...]:
        """The cautions of the clash and of all that mends it."""
        mends = (caution for one in self.remedies for caution in one.cautions)
        return tuple(dict.fromkeys((*self.cautions, *mends)))


@frozen
class Undecided:
    """A question that known figures leave open, by its worst place."""

    rule: str
    subject: str
    where: str
    at: str
    figure: str
    weakest: str
    disputed: bool


@frozen
class Claimed:
    """What a seller says of the whole: whether this build is inside it, and whether that works."""

    subject: str
    inside: str
    outside: tuple[PlaceWords, ...]
    works: str
    good: bool
    fails: bool


@frozen
class Fit:
    """A rule that fits."""

    subject: str
    where: str
    margin: str


@frozen
class Family:
    """What fits of one family."""

    title: str
    fits: tuple[Fit, ...]

    @property
    def subjects(self) -> tuple[str, ...]:
        """What fits, each once."""
        return tuple(dict.fromkeys(one.subject for one in self.fits))


@frozen
class Minded:
    """A caution."""

    id: str
    title: str
    text: str
