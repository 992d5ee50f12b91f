"""Reading the scalars of a file: each reader adds a problem and gives None where it can't."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

from fitcheck.quantity import (
    EXACT,
    KINDS,
    Kind,
    Quantity,
    QuantityError,
    Tolerance,
    kind_of,
    read_quantity,
)
from fitcheck.source import Problem, Text, nearest

T = TypeVar("T", bound=str)


class Reader:
    """Reads scalars and collects what is wrong with them."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = problems
        self.broken: set[str] = set()  # names that stand in a file, but were refused there

    def told(self, name: str) -> bool:
        """Whether a name, or the part class before its dot, was refused where it stands."""
        return not self.broken.isdisjoint((name, name.partition(".")[0]))

    def problem(self, text: Text, what: str, mend: str = "") -> None:
        """Add a problem at a scalar."""
        self.problems.append(Problem(what, text.place, mend))

    def quantity(self, text: Text, kind: Kind, spread: Tolerance | None = EXACT) -> Quantity | None:
        """A quantity of a kind."""
        try:
            return read_quantity(text, kind, spread)
        except QuantityError as error:
            self.misread(text, error)
            return None

    def misread(self, text: Text, error: QuantityError) -> None:
        """Add what is wrong with a quantity, at its piece of the scalar."""
        self.problems.append(Problem(error.what, text.piece(error.offset, error.width), error.mend))

    def any_quantity(self, text: Text, kind_name: Text | None) -> Quantity | None:
        """A quantity of the named kind, else of the kind its unit tells."""
        if kind_name is not None:
            kind = self.kind(kind_name)
            return self.quantity(text, kind) if kind else None
        kind = kind_of(text)
        if kind is None:
            self.no_quantity(text)
            return None
        return self.quantity(text, kind)

    def no_quantity(self, text: Text) -> None:
        """Add why a text is no quantity of any kind."""
        try:
            read_quantity(text, KINDS["number"])
        except QuantityError as error:
            self.misread(
                text,
                QuantityError(
                    error.what, "write it as in 0.060 in or 85 lbf", error.offset, error.width
                ),
            )

    def tolerance(self, text: Text, kind: Kind) -> Tolerance | None:
        """A plus-minus."""
        try:
            return Tolerance.read(text, kind)
        except QuantityError as error:
            self.misread(text, error)
            return None

    def kind(self, text: Text) -> Kind | None:
        """A kind of quantity by its name."""
        return KINDS.get(self.one_of(text, KINDS, "kind of quantity") or "")

    def one_of(self, text: Text, known: Iterable[T], what: str) -> T | None:
        """The name among those known."""
        names = list(known)
        for name in names:
            if name == text:
                return name
        if not self.told(text):
            self.problem(text, f"'{text}' is no {what}", nearest(text, names))
        return None

    def count(self, text: Text) -> int:
        """A whole number; 0 after a problem."""
        if not (text.isascii() and text.isdigit() and len(text) < 7):
            self.problem(text, f"'{text}' is no whole number")
            return 0
        return int(text)

    def yes(self, text: Text | None) -> bool:
        """A yes or no; nothing is no."""
        return text is not None and self.one_of(text, ("yes", "no"), "yes or no") == "yes"
