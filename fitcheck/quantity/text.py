"""Reading what a machinist writes.

The grammar is closed and small, on purpose:

    quantity   number unit [tolerance] | number .. number unit | number to number unit
    number     0.550 | .550 | 5/16 | 1 3/8 | 1-3/8 | -0.010
    tolerance  +-0.002 | +-0.002 in | +-3 % | +0.003 -0.001

Where no tolerance is stated it follows from the digits typed: half of the last one. A fraction
counts to the nearest 1/64 (the finest division of an inch rule) or to its own finer division.
The kind of evidence may widen that (see `spread`), never narrow it.
"""

from __future__ import annotations

import re
from fractions import Fraction

from fitcheck.quantity.interval import Interval
from fitcheck.quantity.units import KINDS, Kind, Unit, find_unit, kinds_of_unit, unit_names
from fitcheck.source import frozen

MOST_CHARACTERS = 80
HALF_OF_ONE = Fraction(1, 2)
_NUMBER = (
    r"(?:(?P<{0}whole>[0-9]{{1,6}})[ -](?=[0-9]+/))?"
    r"(?P<{0}top>[0-9]{{1,6}})/(?P<{0}bottom>[0-9]{{1,6}})"
    r"|(?P<{0}decimal>[0-9]{{1,12}}(?:\.(?!\.)[0-9]{{0,12}})?|\.[0-9]{{1,12}})"
)
_VALUE = re.compile(rf"\s*(?P<sign>[+-]?)(?:{_NUMBER.format('')})")
# A ratio of 9.5 to 1 is no range.
_RANGE = re.compile(r"\s*(?:\.\.\s*|to\s+(?!1\s*(?:$|[+±])))")
# No unit has a plus in its name, so the first one after the value starts the tolerance.
_PLUS = re.compile(r"[+±]")
_PLUSMINUS = re.compile(rf"\s*(?:\+-|±|\+/-)\s*(?:{_NUMBER.format('')})")
_PLUS_THEN_MINUS = re.compile(
    rf"\+\s*(?:{_NUMBER.format('up_')})\s*-\s*(?:{_NUMBER.format('down_')})"
)


class QuantityError(ValueError):
    """A text that is no quantity of the kind wanted; `offset` and `width` say which part."""

    def __init__(self, what: str, mend: str = "", offset: int = 0, width: int = 1) -> None:
        super().__init__(what)
        self.what = what
        self.mend = mend
        self.offset = offset
        self.width = max(1, width)


@frozen
class Quantity:
    """An interval of one kind, in base units, with the text it was typed as.

    `stated` tells that the text itself gave the tolerance or the range; `step` is one in the
    last digit typed.
    """

    kind: Kind
    interval: Interval
    text: str = ""
    stated: bool = False
    step: Fraction = Fraction(0)

    @property
    def lower(self) -> Fraction:
        """Lower end in base units."""
        return self.interval.lower

    @property
    def upper(self) -> Fraction:
        """Upper end in base units."""
        return self.interval.upper


@frozen
class Tolerance:
    """A plus-minus: an amount in base units, or a share of the value.

    A `nominal` one alone counts where a whole number was typed, as a seller's `7 deg` or `4 in`:
    the digits of a nominal figure say nothing of its tolerance. One for the `name` of a size counts
    alone whatever was typed: a ratio of 1.5 is no 1.45.

    >>> Tolerance.read("+-0.010 in", KINDS["length"]).amount
    Fraction(127, 500)
    """

    amount: Fraction
    relative: bool = False
    nominal: bool = False
    name: bool = False

    @classmethod
    def read(cls, text: str, kind: Kind) -> Tolerance:
        """Read `+-0.010 in` or `+-3 %`; raises QuantityError."""
        match = _PLUSMINUS.match(text)
        if not match:
            raise QuantityError(
                "a tolerance starts with +-", "as in +-0.010 in or +-3 %", 0, len(text)
            )
        number, _ = _number(match, "")
        if _is_percent(text[match.end() :], kind):
            return cls(number / 100, relative=True)
        return cls(number * _unit_in(text, match.end(), len(text), kind).factor)

    def around(self, value: Fraction) -> Fraction:
        """The half-width that this tolerance gives at `value`."""
        return abs(value) * self.amount if self.relative else self.amount


EXACT = Tolerance(Fraction(0))


def read_quantity(text: str, kind: Kind, spread: Tolerance | None = None) -> Quantity:
    """Read a quantity of `kind`; raises QuantityError that says what to write instead.

    `spread` is the least half-width that the kind of evidence allows (an instrument's
    resolution, a seller's tolerance); EXACT takes the number as it stands, for limits.

    >>> q = read_quantity('.550"', KINDS["length"])
    >>> float(q.lower / Fraction(254, 10)), float(q.upper / Fraction(254, 10))
    (0.5495, 0.5505)
    >>> read_quantity("0.550", KINDS["length"])
    Traceback (most recent call last):
        ...
    fitcheck.quantity.text.QuantityError: '0.550' has no unit
    """
    if len(text) > MOST_CHARACTERS:
        raise QuantityError(
            f"longer than {MOST_CHARACTERS} characters: no quantity",
            f"write a number and one of: {', '.join(unit_names(kind))}",
            0,
            MOST_CHARACTERS,
        )
    match = _VALUE.match(text)
    if not match:
        raise QuantityError(
            f"'{text}' does not start with a number", _how_to_write(kind), 0, len(text)
        )
    _refuse_separators(text, kind)
    value, half_digit = _signed(match)
    at = match.end()
    if upto := _RANGE.match(text, at):
        return _read_range(text, kind, value, upto.end())
    if plus := _PLUS.search(text, at):
        return _read_stated(text, kind, match, plus.start())
    unit = _unit_in(text, at, len(text), kind)
    middle, half = _base(value, unit), half_digit * unit.factor
    if spread is not None and (spread.name or (spread.nominal and half_digit == HALF_OF_ONE)):
        half = spread.around(middle)
    elif spread is not None:
        half = max(half, spread.around(middle))
    if kind.name == "count" or spread == EXACT:
        half = Fraction(0)
    return _quantity(text, kind, middle - half, middle + half, 2 * half_digit * unit.factor)


def _read_range(text: str, kind: Kind, low: Fraction, at: int) -> Quantity:
    match = _VALUE.match(text, at)
    if not match:
        raise QuantityError(
            "a range needs a number after ..", "as in 1.880..1.900 in", at, len(text) - at
        )
    high, half_digit = _signed(match)
    unit = _unit_in(text, match.end(), len(text), kind)
    if low > high:
        raise QuantityError(
            "the range runs backwards", "write the smaller figure first", 0, len(text)
        )
    return _quantity(
        text, kind, _base(low, unit), _base(high, unit), 2 * half_digit * unit.factor, stated=True
    )


def _read_stated(text: str, kind: Kind, match: re.Match[str], plus: int) -> Quantity:
    """0.550 in +-0.002, 0.550 +-0.002 in, 0.550 in +-0.05 mm, 0.550 in +-3 %."""
    tolerance = _PLUSMINUS.match(text, plus) or _PLUS_THEN_MINUS.match(text, plus)
    if not tolerance:
        raise QuantityError(
            f"'{text[plus:].strip()}' is not understood here",
            "write a tolerance as +-0.002, or +0.003 -0.001",
            plus,
            len(text) - plus,
        )
    before, after = (match.end(), plus), (tolerance.end(), len(text))
    percent = _is_percent(text[slice(*after)], kind)
    # One unit serves both the value and its tolerance.
    if not text[slice(*after)].strip():
        after = before
    elif not text[slice(*before)].strip() and not percent:
        before = after
    unit = _unit_in(text, *before, kind)
    value, half_digit = _signed(match)
    scale = abs(value) * unit.factor / 100 if percent else _unit_in(text, *after, kind).factor
    sides = ("up_", "down_") if "up_top" in tolerance.groupdict() else ("", "")
    up, down = (_number(tolerance, side)[0] * scale for side in sides)
    middle = _base(value, unit)
    return _quantity(
        text, kind, middle - down, middle + up, 2 * half_digit * unit.factor, stated=True
    )


def _quantity(
    text: str, kind: Kind, lower: Fraction, upper: Fraction, step: Fraction, *, stated: bool = False
) -> Quantity:
    if kind.name == "count" and not lower.denominator == upper.denominator == 1:
        raise QuantityError(
            f"'{text.strip()}' is no whole number", "write a whole number", 0, len(text)
        )
    return Quantity(kind, Interval(lower, upper), text, stated, step)


def _base(number: Fraction, unit: Unit) -> Fraction:
    return (number + unit.offset) * unit.factor


def _signed(match: re.Match[str]) -> tuple[Fraction, Fraction]:
    value, half_digit = _number(match, "")
    return (-value if match["sign"] == "-" else value), half_digit


def _number(match: re.Match[str], prefix: str) -> tuple[Fraction, Fraction]:
    """The number matched and half of its last digit or division."""
    if decimal := match[prefix + "decimal"]:
        digits = len(decimal.partition(".")[2])
        return Fraction(decimal), Fraction(1, 2 * 10**digits)
    bottom = int(match[prefix + "bottom"])
    if bottom == 0:
        raise QuantityError("a fraction over zero", "", match.start(), len(match[0]))
    whole = int(match[prefix + "whole"] or 0)
    return whole + Fraction(int(match[prefix + "top"]), bottom), Fraction(1, 2 * max(bottom, 64))


def _refuse_separators(text: str, kind: Kind) -> None:
    comma = re.match(r"\s*[+-]?[0-9]+,[0-9]+", text)
    if comma:
        raise QuantityError(
            f"the comma in '{comma[0].strip()}' may mean a decimal point or thousands",
            f"write a point and no separators: {_how_to_write(kind)}",
            0,
            comma.end(),
        )


def _is_percent(text: str, kind: Kind) -> bool:
    """Whether a tolerance is a share of the value; of a share it is in the value's own unit."""
    return text.strip() == "%" and find_unit("%", kind) is None


def _unit_in(text: str, start: int, end: int, kind: Kind) -> Unit:
    """The unit that stands in a stretch of the text; raises QuantityError that marks it."""
    piece = text[start:end].strip()
    name = re.sub(r"\s+", " ", piece.rstrip("."))
    unit = find_unit(name, kind)
    if unit is not None:
        return unit
    if not name:
        raise QuantityError(f"'{text.strip()}' has no unit", _how_to_write(kind), 0, len(text))
    others = kinds_of_unit(name)
    what = (
        f"'{name}' is a unit of {others[0].replace('_', ' ')}, "
        f"and {kind.name.replace('_', ' ')} is wanted here"
        if others
        else f"the unit '{name}' is not known"
    )
    raise QuantityError(what, _how_to_write(kind), text.index(piece, start), len(piece))


def _how_to_write(kind: Kind) -> str:
    names = unit_names(kind)
    return f"write a number and one of: {', '.join(names)}" if names else "write a plain number"


def kind_of(text: str) -> Kind | None:
    """The kind a quantity is of, by its unit alone; None where no kind has that unit.

    >>> kind_of("345 lbf/in").name, kind_of("1.5").name
    ('rate', 'number')
    """
    for kind in KINDS.values():
        try:
            read_quantity(text, kind)
        except QuantityError:
            continue
        return kind
    return None
