"""One plain figure of an attribute: the units it may be in, and whether it is plausible."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

from fitcheck.model import Attribute
from fitcheck.quantity import Interval, Quantity, QuantityError, read_quantity, show, tidied
from fitcheck.quantity.showing import system_of

NUMBER = r"[+-]?(?:\d+[ -]\d+/\d+|\d+/\d+|\d+\.?\d*|\.\d+)"
# Each letter can be read in one way only: what is no unit is refused at once, however long it is.
UNIT = r"[^\W\d_][^\W_]*(?:[/ .^-][^\W_]+)*\.?|[\"'°%#](?:/in)?"
ONE = re.compile(rf"({NUMBER})\s*({UNIT})?")


_COMMA = re.compile(r"(?<![\d,])(\d+),(\d+)(?![\d,])")
_MOST = ("at most", "no more than", "not over", "up to", "max", "maximum", "<", "<=", "\u2264")
_LEAST = ("at least", "no less than", "min", "minimum", ">", ">=", "\u2265")
_LIMIT = re.compile(rf"({'|'.join((*_MOST, *_LEAST))})\.?\s*(?=[\d.])(.+)", re.IGNORECASE)


def units(attribute: Attribute, typed: str | None, *numbers: str) -> tuple[str, ...]:
    """The unit typed, else those that such numbers are written in.

    A number that starts with its point is in inches: on drawings a zero stands before the point of
    millimetres below one, and none before that of inches (ASME Y14.5, "Dimensioning"; from memory).
    """
    if typed:
        return (typed,)
    assert attribute.kind is not None
    if attribute.kind.inch[0] == "in" and any(one.lstrip("+-").startswith(".") for one in numbers):
        return ("in",)
    return tuple(dict.fromkeys((attribute.kind.inch[0], attribute.kind.metric[0])))


def bare_units(attribute: Attribute, number: str) -> tuple[str, ...]:
    """The units that a bare figure may be in: a short length in thousandths too."""
    found = units(attribute, None, number)
    assert attribute.kind is not None
    thou = attribute.kind.name == "length" and len(found) > 1
    return (*found, "thou") if thou else found


def fits(attribute: Attribute, text: str) -> bool:
    """Whether a plain text is a figure that is plausible for the attribute."""
    return plain(attribute, text) is not None


def with_units(attribute: Attribute, text: str) -> Iterator[str]:
    """A bare figure with each unit in which it is plausible."""
    match = ONE.fullmatch(tidied(text))
    if match is not None and not match[2]:
        for unit in bare_units(attribute, match[1]):
            if unit and fits(attribute, figure := f"{match[1]} {unit}"):
                yield figure


def plain(attribute: Attribute, text: str) -> Quantity | None:
    """The figure a plain text says, if it is plausible."""
    assert attribute.kind is not None and attribute.plausible is not None
    try:
        found = read_quantity(text, attribute.kind)
    except QuantityError:
        return None
    span = attribute.plausible
    return found if span.lower <= found.interval.middle <= span.upper else None


def same_length(text: str, stated: str) -> bool:
    """Whether `.050` and `0.050 in` name one length."""
    match = ONE.fullmatch(text.strip())
    wanted = ONE.fullmatch(stated)
    if match is None or wanted is None:
        return False
    same_unit = match[2] is None or tidied(match[2]) == wanted[2]
    return same_unit and Fraction(match[1]) == Fraction(wanted[1])


def one_sided(attribute: Attribute, text: str) -> Iterator[str]:
    """At most 0.076 in: from the least that is plausible up to it; at least: up from it."""
    match = _LIMIT.fullmatch(text)
    if match is None or attribute.kind is None or attribute.plausible is None:
        return
    figures = [match[2]] if fits(attribute, match[2]) else list(with_units(attribute, match[2]))
    found = plain(attribute, figures[0]) if len(figures) == 1 else None
    if found is None or found.stated:
        return
    ends = [attribute.plausible.lower, found.interval.middle, attribute.plausible.upper]
    low, high = ends[:2] if match[1].casefold() in _MOST else ends[1:]
    yield show(Interval(low, high), attribute.kind, system_of(found.text), finer=1)


def with_points(text: str) -> str:
    """Several figures with decimal commas as if with points; nothing where one may part thousands.

    >>> with_points("7,2 / 7,0 mm"), with_points("1,200 / 1,300 mm"), with_points("7.2, 7.0")
    ('7.2 / 7.0 mm', '', '')
    """
    commas = _COMMA.findall(text)
    thousands = any(len(behind) == 3 and before != "0" for before, behind in commas)
    return _COMMA.sub(r"\1.\2", text) if commas and "." not in text and not thousands else ""
