"""A shop's price file: what its hour, its operations and the parts it offers cost.

    prices: Prices of an invented shop
    hour: 85 EUR
    operations: {mill_deck: 95 EUR}      # for each place, parts included; the others by the hour
    parts:
      - fits: spring
        price: 168 EUR                   # for all places, or those of its side
        keeps: [installed_height]        # found on the head, not on the part; or as it was
        undoes: [retainer.gap_to_seal]   # found with the old part fitted, beside all that such
                                         # parts are known to decide
        shifts: {spring.seat_load: -2 lbf}
        part: {name: …, claimed: {…}}

What has no price is said to have none; nothing is guessed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

from fitcheck.check.naming import Naming
from fitcheck.check.read import read_part
from fitcheck.knowledge import Knowledge, Operation
from fitcheck.model import SIDES, Layout, shape, shaped
from fitcheck.plan.work import Swap, fits_part
from fitcheck.quantity import Interval, QuantityError, read_quantity
from fitcheck.source import BadInput, Problem, Problems, Text, read_yaml

# An amount and a currency's code as in ISO 4217.
_PRICE = re.compile(r"(?P<amount>[0-9]{1,9}(?:\.[0-9]{1,2})?) (?P<currency>[A-Z]{3})")
_BARE = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,2})?")
_SECONDS = 3600
_HOW = "write an amount and the currency's code, as in 85 EUR"


@shape
class OfferFile:
    """A part that a price file offers."""

    fits: Text
    side: Text | None = None
    price: Text | None = None
    keeps: list[Text] = field(default_factory=list)
    undoes: list[Text] = field(default_factory=list)
    shifts: dict[Text, Text] = field(default_factory=dict)
    part: Any


@shape
class PriceFile:
    """A price file."""

    prices: Text
    hour: Text | None = None
    operations: dict[Text, Text] = field(default_factory=dict)
    parts: list[OfferFile] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Offer:
    """A part on offer; `price` is None where none is given."""

    swap: Swap
    price: Fraction | None


@dataclass(frozen=True, slots=True)
class Prices:
    """What a shop charges."""

    title: str
    currency: str
    hour: Fraction | None
    operations: dict[str, Fraction]
    offers: tuple[Offer, ...]

    def of(self, operation: Operation) -> Fraction | None:
        """What an operation costs at one place; None where that is not told.

        The hour pays for work alone: what puts a part in has a price of its own, or none.
        """
        fixed = self.operations.get(operation.id)
        if fixed is not None or fits_part(operation) or self.hour is None:
            return fixed
        return self.hour * hours_of(operation)

    def show(self, amount: Fraction) -> str:
        """An amount with its currency.

        >>> Prices("", "EUR", None, {}, ()).show(Fraction(169, 2))
        '84.50 EUR'
        """
        return f"{round(amount * 100) / 100:.2f} {self.currency}".strip()


NO_PRICES = Prices("no price file", "", None, {}, ())


def hours_of(operation: Operation) -> Fraction:
    """The hours that an operation takes at one place."""
    return operation.hours.interval.middle / _SECONDS


def read_price(text: Text, problems: list[Problem]) -> tuple[Fraction, str] | None:
    """An amount and its currency; None after a problem."""
    match = _PRICE.fullmatch(text.strip())
    if match:
        return Fraction(match["amount"]), match["currency"]
    bare = _BARE.fullmatch(text.strip())
    what = f"the price '{text}' has no currency" if bare else f"'{text}' is no price"
    problems.append(Problem(what, text.place, _HOW))
    return None


def read_prices(
    path: Path | str, knowledge: Knowledge, layout: Layout, text: str | None = None
) -> Prices:
    """The prices in a file (or in `text`, named by `path`); raises BadInput."""
    problems = Problems()
    node = read_yaml(path, problems, text)
    file = shaped(PriceFile, node, problems) if node is not None else None
    if file is None:
        raise BadInput(problems)
    reader = _Reader(knowledge, layout, problems)
    prices = reader.prices(file)
    if problems:
        raise BadInput(problems)
    return prices


class _Reader:
    def __init__(self, knowledge: Knowledge, layout: Layout, problems: list[Problem]) -> None:
        self.knowledge = knowledge
        self.layout = layout
        self.problems = problems
        self.naming = Naming(knowledge, problems)
        self.currency: Text | None = None
        self.code = ""

    def prices(self, file: PriceFile) -> Prices:
        hour = self.price(file.hour) if file.hour is not None else None
        operations = {}
        first: dict[str, Text] = {}
        for typed, text in file.operations.items():
            name = self.knowledge.named_operations.find(typed)
            if not name:
                self.problem(typed, *self.knowledge.named_operations.told(typed))
            elif first.setdefault(name, typed) is not typed:
                self.problem(typed, f"'{typed}' and '{first[name]}' are the same: {name}")
            amount = self.price(text)
            if amount is not None and name:
                operations[name] = amount
        offers = [offer for one in file.parts for offer in [self.offer(one)] if offer is not None]
        return Prices(str(file.prices), self.code, hour, operations, tuple(offers))

    def price(self, text: Text) -> Fraction | None:
        price = read_price(text, self.problems)
        if price is None:
            return None
        if self.currency is None:
            self.currency, self.code = text, price[1]
        elif price[1] != self.code:
            self.problems.append(
                Problem(
                    f"'{text}' is in another currency than '{self.currency}' at "
                    f"{self.currency.place}",
                    text.place,
                    "keep one currency in a price file",
                )
            )
        return price[0]

    def problem(self, text: Text, what: str, mend: str = "keep one of them") -> None:
        self.problems.append(Problem(what, text.place, mend))

    def offer(self, file: OfferFile) -> Offer | None:
        slot = self.naming.part(file.fits)
        if slot is None:
            return None
        part_class = self.knowledge.classes[slot]
        if file.side is not None and (file.side not in SIDES or part_class.each != "valve"):
            self.problems.append(
                Problem(
                    f"'{file.side}' is no side that a {part_class.title} has",
                    file.side.place,
                    "write intake or exhaust",
                )
            )
            return None
        keeps = [self.kept(slot, name) for name in file.keeps]
        undoes = [self.naming.figure(name) for name in file.undoes]
        side = str(file.side or "")
        part = read_part(slot, file.part, side, self.layout, self.knowledge, self.problems)
        price = self.price(file.price) if file.price is not None else None
        if part is None:
            return None
        swap = Swap(
            str(slot),
            side,
            part.name,
            part.seller,
            part.statements,
            frozenset(filter(None, keeps)),
            frozenset(undoes),
            self.shifts(file),
            file.fits.place,
        )
        return Offer(swap, price)

    def kept(self, slot: str, name: Text) -> str:
        """A figure by its full name, or an attribute of the part itself; empty after a problem."""
        if "." in name:
            return self.naming.figure(name)
        word = self.naming.attribute(slot, name, name)
        return word.name if word is not None else ""

    def shifts(self, file: OfferFile) -> dict[str, Interval]:
        shifts = {}
        for typed, text in file.shifts.items():
            name = self.naming.figure(typed)
            if not name:
                continue
            kind = self.knowledge.attributes[name].kind
            if kind is None:
                self.problems.append(
                    Problem(
                        f"'{typed}' is no figure that can shift",
                        typed.place,
                        "list it under 'undoes'",
                    )
                )
                continue
            try:
                shifts[name] = read_quantity(text, kind).interval
            except QuantityError as error:
                self.problems.append(Problem(error.what, text.place, error.mend))
        return shifts
