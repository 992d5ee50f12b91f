"""Part classes and their attributes: what can be said of a part, and within which range."""

from __future__ import annotations

from dataclasses import field

from fitcheck.model.position import Each
from fitcheck.quantity import EXACT, Interval, Kind, Tolerance, read_quantity
from fitcheck.source import Place, frozen


@frozen
class Attribute:
    """One thing that can be said of a part of a class.

    Just one of these holds: `kind` (a quantity), `options` (a choice; with `several` a set of
    options), `text` (free text). `absent` is the value when an optional part is not fitted;
    `spread_of` names the attribute whose largest less smallest figure this is. An `identity` tells
    which engine or which kind of part it is: parts are bought for it. A `nominal` figure
    is the name of a size, not a reading; one `of_place` is decided by where the part goes, and
    stays where another part comes there. `brings` names the parts that come with this one where it
    is yes. `remembers` names a figure of a part that came inside this one: known still where
    another comes in its place.
    """

    name: str
    title: str
    each: Each
    kind: Kind | None = None
    plausible: Interval | None = None
    claim: Tolerance | None = None
    options: tuple[str, ...] = ()
    option_words: tuple[str, ...] = ()
    options_name: str = ""
    several: bool = False
    text: bool = False
    measure: str = ""
    absent: str = ""
    spread_of: str = ""
    identity: bool = False
    about: str = ""
    nominal: bool = False
    of_place: bool = False
    brings: tuple[str, ...] = ()
    remembers: str = ""
    place: Place | None = field(default=None, repr=False)

    @property
    def slot(self) -> str:
        """The slot it belongs to, before the dot."""
        return self.name.partition(".")[0]

    @property
    def short_name(self) -> str:
        """The name without its part, behind the dot."""
        return self.name.partition(".")[2]

    @property
    def without_part(self) -> Interval | int | None:
        """What it is where the part is not fitted: a figure, or the mask of an option."""
        if not self.absent:
            return None
        if self.kind is not None:
            return read_quantity(self.absent, self.kind, EXACT).interval
        return 1 << self.options.index(self.absent)

    @property
    def possible(self) -> Interval | None:
        """What a figure can be: what is plausible of the part, and what it is without it."""
        without = self.without_part
        if self.plausible is None or not isinstance(without, Interval):
            return self.plausible
        return Interval(
            min(self.plausible.lower, without.lower), max(self.plausible.upper, without.upper)
        )

    @property
    def flag(self) -> bool:
        """Whether it is a yes-or-no."""
        return self.options == ("no", "yes")


@frozen
class PartClass:
    """A class of parts; the slot of a build that takes such a part bears its id.

    `sits_with` names the part on whose list an optional one stands; of a `needed` one there is
    always one. `order_tells` names derived quantities that its place gives: an order tells them.
    """

    id: str
    title: str
    about: str
    each: Each
    optional: bool
    attributes: dict[str, Attribute]
    place: Place | None = field(default=None, repr=False)
    sits_with: str = ""
    needed: bool = False
    order_tells: tuple[str, ...] = ()
