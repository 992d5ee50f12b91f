"""What the cells of a list say: each different text is read once, as strictly as a build."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from fitcheck.check.printed import Printing
from fitcheck.check.printed_one import Pieces
from fitcheck.check.values import ValueReader
from fitcheck.knowledge import Knowledge
from fitcheck.model import Attribute
from fitcheck.quantity import Quantity
from fitcheck.screen.loads import named_loads
from fitcheck.screen.mapping import Column, ListFormat
from fitcheck.screen.store import PLACE
from fitcheck.source import Problem, Sequence, Text

# Beyond this a cell is no figure and no word of a list.
MOST_CHARACTERS = 200
_HAS_UNIT = re.compile(r"[^\W\d_]|[\"″'%°µ]")
_CURRENCY = re.compile(r"^(?:[A-Z]{3}|[$€£¥])\s*|\s*(?:[A-Z]{3}|[$€£¥])$")
# Which currencies a sign may stand for; several share the dollar's.
_SIGNS = {
    "$": ("USD", "CAD", "AUD", "NZD", "MXN", "SGD", "HKD", "ARS", "CLP", "COP"),
    "€": ("EUR",),
    "£": ("GBP", "EGP", "LBP"),
    "¥": ("JPY", "CNY"),
}
_SIGN = re.compile("[$€£¥]")
_CODE = re.compile(r"^[A-Z]{3}|[A-Z]{3}$")
_SEVERAL = re.compile(r"@|(?<=\d)\D*/\s*\D?\.?\d")
_BETWEEN = re.compile(r"\s*[;,/]\s*(?=[^@]*@)")
_MOST_DIGITS = 4
_MOST_ZEROS = 30  # of a figure such as 1e9, written out
_TOO_LONG = f"longer than {MOST_CHARACTERS} characters"
_DIGITS = "figures are written with the digits 0 to 9"


@dataclass
class Read:
    """The cells of one column by their text: as read, or what is wrong.

    `rows` are (text, clean text, lower, upper, mask, what is wrong).
    """

    rows: list[tuple[Any, ...]] = field(default_factory=list)


class Cells:
    """Reads the cells of a list."""

    def __init__(self, knowledge: Knowledge, reading: ListFormat) -> None:
        self._knowledge = knowledge
        self._problems: list[Problem] = []
        self._values = ValueReader(knowledge, self._problems)
        self._printing = Printing(knowledge, bare=True)
        self._reading = reading
        marks = re.escape(reading.thousands) if reading.thousands else ""
        self._thousands = re.compile(rf"(?<=\d){marks}(?=\d{{3}}(?!\d))") if marks else None

    def figures(
        self, column: Column, attribute: Attribute, texts: Iterable[str], *, numbers: bool
    ) -> Read:
        """All the texts of a column that tells an attribute; `numbers`: they lost their zeros."""
        texts = list(texts)
        digits = column.digits
        if digits is None and numbers and attribute.kind is not None:
            digits = min(_MOST_DIGITS, max((_digits(text) for text in texts), default=0))
        read = Read()
        for text in texts:
            read.rows.append(self._figure(column, attribute, text, digits if numbers else None))
        return read

    def _figure(
        self, column: Column, attribute: Attribute, text: str, digits: int | None
    ) -> tuple[Any, ...]:
        clean = " ".join(text.split())
        if len(clean) > MOST_CHARACTERS:
            return text, None, None, None, None, _TOO_LONG
        clean = column.words.get(clean, clean)
        if attribute.kind is not None:
            if _odd_digits(clean):
                return text, None, None, None, None, f"'{clean}': {_DIGITS}"
            clean = self._with_unit(self.number(clean, digits), column.unit)
        node: Any = Text(clean, PLACE)
        if attribute.several:
            node = Sequence(
                [
                    Text(column.words.get(one, one), PLACE)
                    for one in re.split(r"[,;]\s*", clean)
                    if one
                ]
            )
            node.place = PLACE
            clean = ", ".join(node)
        self._problems.clear()
        value = self._values.value(attribute, node, self._reading.evidence)
        if value is None:
            why = "; ".join(p.what for p in self._problems)
            mend = "; ".join(p.mend for p in self._problems if p.mend)
            return text, None, None, None, None, f"{why}{f' ({mend})' if mend else ''}"
        if isinstance(value, Quantity):
            return text, clean, float(value.lower), float(value.upper), None, None
        return text, clean, None, None, value, None

    def apart(
        self, column: Column, attribute: Attribute, text: str, *, sided: bool = False
    ) -> Pieces:
        """A cell such as `125 @ 1.800`, a load and its height, or `2.02/1.60`, a figure of each
        side, as plain figures; nothing for one figure. Two such, as `125 @ 1.800, 330 @ 1.250`, are
        read one by one."""
        clean = " ".join(text.split())
        if not _SEVERAL.search(clean) or attribute.kind is None or len(text) > MOST_CHARACTERS:
            return ()
        if _odd_digits(clean):
            return ()
        some = _BETWEEN.split(clean) if clean.count("@") > 1 else [clean]
        if len(some) > 1:
            return self._loads(attribute, [self._told(column, one) for one in some])
        whole = self._told(column, clean)
        pieces = self._printing.pieces(attribute, whole, sided=sided, claimed=True)
        return pieces if len(pieces) > 1 else ()

    def _told(self, column: Column, text: str) -> str:
        """A figure with its unit, and what it is stated at behind it."""
        first, mark, rest = text.partition("@")
        first = self._with_unit(self.number(first.strip()), column.unit)
        return f"{first} @ {self.number(rest.strip())}" if mark else first

    def _loads(self, attribute: Attribute, texts: list[str]) -> Pieces:
        """Loads at their heights, the one at the greatest height first."""
        named = named_loads(attribute.slot, texts, self._knowledge)
        found = [
            self._printing.pieces(
                self._knowledge.attributes[f"{attribute.slot}.{own}"],
                text,
                sided=False,
                claimed=True,
            )
            for own, text in named
        ]
        return tuple(one for pieces in found for one in pieces) if len(named) == len(texts) else ()

    def number(self, text: str, digits: int | None = None) -> str:
        """A figure with a decimal point and without separators of thousands."""
        if self._thousands is not None:
            text = self._thousands.sub("", text)
        if self._reading.decimal == ",":
            text = re.sub(r"(?<=\d),(?=\d)", ".", text)
        if digits is not None or re.fullmatch(r"-?[\d.]+[eE][-+]?\d+", text):
            try:
                figure = Decimal(text)
            except ArithmeticError:
                return text
            if not figure.is_finite() or abs(figure.adjusted()) > _MOST_ZEROS:
                return text
            plain = format(figure, "f")
            whole, _, part = plain.partition(".")
            part = part.rstrip("0") if digits is not None else part
            text = whole + (f".{part:0<{digits or 0}}" if part or digits else "")
        return text

    @staticmethod
    def _with_unit(text: str, unit: str) -> str:
        return f"{text} {unit}" if unit and text and not _HAS_UNIT.search(text) else text

    def price(self, text: str, *, number: bool = False) -> tuple[float | None, str | None]:
        """A price, or what is wrong with it; a `number` of a spreadsheet has marks of its own."""
        if wrong := _no_number(text):
            return None, f"price {wrong}"
        code = _CODE.search(text.strip())
        if code and code[0] != self._reading.currency:
            return (
                None,
                f"price '{text}' is in {code[0]}, the list's are in {self._reading.currency}",
            )
        sign = _SIGN.search(text)
        if sign and self._reading.currency not in _SIGNS[sign[0]]:
            return None, f"price '{text}' is not in {self._reading.currency}, as the list's are"
        plain = _CURRENCY.sub("", text.strip())
        found = self.number(plain)
        if not found:
            return None, None
        either = not number and self._point_of_thousands(plain)
        if re.fullmatch(r"\d{1,9}(\.\d{1,4})?", found) and not either:
            return float(found) / self._reading.per, None
        if re.search(r"\d\s*(?:/|per|for|je|pro)\s*\d", found):
            return (
                None,
                f"price '{text}' is for several (write the price of one, or of a pack and the "
                "pieces in a column 'pack')",
            )
        if either or re.search(r"\d[,. ]\d{3}(?!\d)", found):
            return (
                None,
                f"price '{text}': the mark in it may mean thousands or decimals (write which one "
                'in the mapping file, as in thousands: "," or decimal: ".")',
            )
        return None, f"price '{text}' is no price (write a plain number)"

    def _point_of_thousands(self, price: str) -> bool:
        """Whether a point may part thousands in a price: no price has just three decimals."""
        if "." in (self._reading.decimal, self._reading.thousands):
            return False
        return re.fullmatch(r"[1-9]\d{0,2}\.\d{3}", price.strip()) is not None

    def pack(self, text: str) -> tuple[int | None, str | None]:
        """How many pieces a price is for, or what is wrong with it."""
        found, wrong = self.stock(text)
        if wrong is None and found == 0:
            wrong = "stock '0' is no pack"
        return found, wrong and wrong.replace("stock", "pack", 1)

    def stock(self, text: str) -> tuple[int | None, str | None]:
        """A number in stock, or what is wrong with it."""
        if wrong := _no_number(text):
            return None, f"stock {wrong}"
        found = self.number(text.strip())
        found = found.removesuffix(".0")
        if not found:
            return None, None
        if re.fullmatch(r"\d{1,9}", found):
            return int(found), None
        return None, f"stock '{text}' is no whole number"


def _odd_digits(text: str) -> bool:
    return not text.isascii() and any(one.isdecimal() and not one.isascii() for one in text)


def _no_number(text: str) -> str:
    if len(text) > MOST_CHARACTERS:
        return _TOO_LONG
    return f"'{text}': {_DIGITS}" if _odd_digits(text) else ""


def _digits(text: str) -> int:
    try:
        exponent = Decimal(text).normalize().as_tuple().exponent
    except ArithmeticError:
        return 0
    return max(0, -int(exponent)) if isinstance(exponent, int) else 0
