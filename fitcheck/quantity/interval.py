"""An interval with exact endpoints: what is known of a quantity."""

from __future__ import annotations

from fractions import Fraction

from fitcheck.source import frozen


@frozen
class Interval:
    """All values from `lower` to `upper`, both included, in base units.

    >>> Interval(Fraction(1), Fraction(3)).width
    Fraction(2, 1)
    """

    lower: Fraction
    upper: Fraction

    def __post_init__(self) -> None:
        if self.lower > self.upper:
            raise ValueError(f"lower end {self.lower} is above upper end {self.upper}")

    @classmethod
    def point(cls, value: Fraction | int) -> Interval:
        """The interval that holds just `value`."""
        return cls(Fraction(value), Fraction(value))

    @property
    def width(self) -> Fraction:
        """Upper end less lower end."""
        return self.upper - self.lower

    @property
    def middle(self) -> Fraction:
        """The value half way."""
        return (self.lower + self.upper) / 2

    def within(self, other: Interval) -> bool:
        """Whether every value of this interval is in `other`."""
        return other.lower <= self.lower and self.upper <= other.upper

    def meets(self, other: Interval) -> bool:
        """Whether the two have a value in common."""
        return self.lower <= other.upper and other.lower <= self.upper

    def clipped(self, other: Interval) -> Interval:
        """The common part of two intervals that meet."""
        return Interval(max(self.lower, other.lower), min(self.upper, other.upper))
