"""Typographers' marks in a figure, made into those of a keyboard."""

from __future__ import annotations

import re
import unicodedata

_TIDY = str.maketrans(
    {
        "−": "-", "–": "-", "—": "-", "‐": "-", "‑": "-", "‒": "-",
        "“": '"', "”": '"', "„": '"', "‟": '"', "″": '"', "’": "'", "‘": "'", "′": "'",
        "\u00a0": " ", "\u2009": " ", "\u202f": " ", "⁄": "/", "×": "x",
    }
)  # fmt: skip
_VULGAR = re.compile(r"(\d?)([\u00bc-\u00be\u2150-\u215e])")


def tidied(text: str) -> str:
    """A figure with plain hyphens, quotes, blanks and fractions, and none of it in quotes.

    >>> tidied("“1½ in”"), tidied("0.550”"), tidied("1 −¼")
    ('1 1/2 in', '0.550"', '1 -1/4')
    """
    text = _VULGAR.sub(
        lambda found: (
            f"{found[1]}{' ' if found[1] else ''}"
            f"{unicodedata.normalize('NFKC', found[2]).replace(chr(0x2044), '/')}"
        ),
        text,
    ).translate(_TIDY)
    text = " ".join(text.split())
    if len(text) > 1 and text[0] == text[-1] and text[0] in "\"'":
        text = text[1:-1].strip()
    return text
