"""Prices of a list or a pile that are written with their currency: one currency for all of them."""

from __future__ import annotations

from fitcheck.plan.prices import read_price
from fitcheck.source import Problem, Text


class Money:
    """Reads prices; the first one tells the currency, unless it is known before."""

    def __init__(self, currency: str = "") -> None:
        self.currency = currency

    def read(self, text: Text, problems: list[Problem]) -> float | None:
        """The amount of a price as in `85 EUR`; None after a problem."""
        found = read_price(text, problems)
        if found is None:
            return None
        amount, currency = found
        if self.currency not in ("", currency):
            what = f"the price '{text}' is in {currency}, others are in {self.currency}"
            problems.append(Problem(what, text.place, "keep one currency"))
            return None
        self.currency = currency
        return float(amount)

    def show(self, amount: float) -> str:
        """An amount with its currency."""
        return f"{amount:,.2f} {self.currency}".rstrip()
