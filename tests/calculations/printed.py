"""Compare a value with a figure as a source prints it: to its last printed digit."""

from decimal import Decimal

UNITS_OF_ROUNDING = Decimal("0.500000001")  # a half, and what a float may lose


def agrees(value: float, printed: str) -> bool:
    """True where `value` rounds to `printed`; a tie may have gone either way."""
    figure = Decimal(printed)
    last_digit = Decimal(1).scaleb(int(figure.as_tuple().exponent))
    return abs(Decimal(value) - figure) <= UNITS_OF_ROUNDING * last_digit
