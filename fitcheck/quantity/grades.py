"""Sizes with a standard tolerance, as drawings print them: 8 H7 for a hole, 8 g6 for a shaft.

ISO 286-1:2010, "ISO code system for tolerances on linear sizes", tables of standard tolerance
grades and of fundamental deviations, typed in from memory; the tests hold them to printed examples
and to a package of others. In micrometres, for sizes in millimetres up to 250 (s up to 50).
"""

from __future__ import annotations

import re
from fractions import Fraction

_UP_TO = (3, 6, 10, 18, 30, 40, 50, 80, 120, 180, 250)
_GRADES = {
    5: (4, 5, 6, 8, 9, 11, 11, 13, 15, 18, 20),
    6: (6, 8, 9, 11, 13, 16, 16, 19, 22, 25, 29),
    7: (10, 12, 15, 18, 21, 25, 25, 30, 35, 40, 46),
    8: (14, 18, 22, 27, 33, 39, 39, 46, 54, 63, 72),
    9: (25, 30, 36, 43, 52, 62, 62, 74, 87, 100, 115),
    10: (40, 48, 58, 70, 84, 100, 100, 120, 140, 160, 185),
    11: (60, 75, 90, 110, 130, 160, 160, 190, 220, 250, 290),
}
# How far the nearer limit of a shaft lies below its size, and of a hole above it.
_CLEAR = {
    "d": (20, 30, 40, 50, 65, 80, 80, 100, 120, 145, 170),
    "e": (14, 20, 25, 32, 40, 50, 50, 60, 72, 85, 100),
    "f": (6, 10, 13, 16, 20, 25, 25, 30, 36, 43, 50),
    "g": (2, 4, 5, 6, 7, 9, 9, 10, 12, 14, 15),
    "h": (0,) * 11,
}
# How far the nearer limit of a shaft lies above its size.
_TIGHT = {
    "k": (0, 1, 1, 1, 2, 2, 2, 2, 3, 3, 4),
    "m": (2, 4, 6, 7, 8, 9, 9, 11, 13, 15, 17),
    "n": (4, 8, 10, 12, 15, 17, 17, 20, 23, 27, 31),
    "p": (6, 12, 15, 18, 22, 26, 26, 32, 37, 43, 50),
    "s": (14, 19, 23, 28, 35, 43, 43),
}
_MOST_OF_K = 7  # in coarser grades k starts at the size itself
_PRINTED = re.compile(
    r"[⌀ø]?\s*(\d{1,3}(?:\.\d{1,3})?)\s*(?:mm)?\s*([A-Za-z]{1,2})\s?(\d{1,2})\s*(?:mm)?"
)


def graded_size(text: str) -> tuple[Fraction, Fraction] | None:
    """The limits of a size in millimetres; None where the text is no size with a grade.

    >>> low, high = graded_size("8.00 H7")
    >>> float(low), float(high)
    (8.0, 8.015)
    >>> graded_size("8 mm")
    """
    match = _PRINTED.fullmatch(text.strip())
    if match is None:
        return None
    size, letter = Fraction(match[1]), match[2]
    column = next((i for i, most in enumerate(_UP_TO) if 0 < size <= most), None)
    grade = _GRADES.get(int(match[3]))
    if column is None or grade is None:
        return None
    found = _deviations(letter, int(match[3]), column, grade[column])
    return None if found is None else (size + found[0] / 1000, size + found[1] / 1000)


def _deviations(
    letter: str, grade: int, column: int, width: int
) -> tuple[Fraction, Fraction] | None:
    """The lower and the upper limit off the size, in micrometres."""
    if letter in ("js", "JS"):
        return Fraction(-width, 2), Fraction(width, 2)
    if letter in _CLEAR:
        near = Fraction(-_CLEAR[letter][column])
        return near - width, near
    if letter.lower() in _CLEAR and letter.isupper():
        near = Fraction(_CLEAR[letter.lower()][column])
        return near, near + width
    if letter in _TIGHT and column < len(_TIGHT[letter]):
        near = Fraction(0 if letter == "k" and grade > _MOST_OF_K else _TIGHT[letter][column])
        return near, near + width
    return None
