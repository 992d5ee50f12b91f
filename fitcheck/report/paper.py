"""Plain text for a file or a pipe, as rich would write it there without its colours.

Importing rich takes a sixth of a whole command, and most texts need nothing of it: words that the
standard library can wrap. Whatever is wider, longer or odder than that is handed to rich.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator
from textwrap import TextWrapper
from typing import TextIO

# Letters and signs that are one column wide each, with single words between blanks.
_USUAL = re.compile(r"[ -~\u00a1-\u00ac\u00ae-\u02ff−–…]*")
# By these the user asks for colours wherever the text goes.
_WISHES = ("FORCE_COLOR", "TTY_COMPATIBLE", "TTY_INTERACTIVE")


def plain_output() -> bool:
    """Whether the standard output takes plain text only."""
    return not sys.stdout.isatty() and not any(map(os.environ.get, _WISHES))


class Paper:
    """Where plain text is printed, so many columns wide."""

    def __init__(self, width: int, file: TextIO | None = None) -> None:
        self.width = width
        self._file = file

    def print(self, text: str = "", *, soft_wrap: bool = True) -> None:
        """Print a line as it is, as a rich console does with `soft_wrap`."""
        assert soft_wrap
        print(text, file=self._file or sys.stdout)

    @staticmethod
    def rows(text: str, width: int) -> Iterator[str]:
        """The text in rows of at most `width` columns, none with blanks at its end.

        >>> list(Paper.rows("cut the spring seat deeper", 12))
        ['cut the', 'spring seat', 'deeper']
        """
        if not _USUAL.fullmatch(text) or max(map(len, text.split()), default=0) > width:
            return _rows_by_rich(text, width)
        wrapper = TextWrapper(width, break_on_hyphens=False, break_long_words=False)
        wrapper.replace_whitespace = False
        return iter(wrapper.wrap(text) or [""])


def _rows_by_rich(text: str, width: int) -> Iterator[str]:
    from rich.console import Console  # noqa: PLC0415
    from rich.text import Text  # noqa: PLC0415

    for row in Text(text).wrap(Console(width=width), width):
        yield row.plain.rstrip()
