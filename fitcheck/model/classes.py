"""Part classes and their attributes: what can be said of a part, and within which range."""

from __future__ import annotations

from dataclasses import field

from fitcheck.model.position import Each
from fitcheck.quantity import Interval, Kind, Tolerance
from fitcheck.source import Place, frozen


@frozen
class Attribute:
    """One thing that can be said of a part of a class.

    Just one of these holds: `kind` (a quantity), `options` (a choice; with `several` a set of
    options), `text` (free text). `absent` is the value when an optional part is not fitted;
    `spread_of` names the attribute whose largest less smallest figure this is. An `identity` tells
    which engine or which kind of part it is: parts are bought for it.
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
    place: Place | None = field(default=None, repr=False)

    @property
    def slot(self) -> str:
        """The slot it belongs to, before the dot."""
        return self.name.partition(".")[0]

    @property
    def flag(self) -> bool:
        """Whether it is a yes-or-no."""
        return self.options == ("no", "yes")


@frozen
class PartClass:
    """A class of parts; the slot of a build that takes such a part bears its id."""

    id: str
    title: str
    about: str
    each: Each
    optional: bool
    attributes: dict[str, Attribute]
    place: Place | None = field(default=None, repr=False)
