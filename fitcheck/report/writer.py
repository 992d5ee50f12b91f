"""Text on a console: headings, labelled lines, wrapping without blanks at the ends of lines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fitcheck.report.paper import Paper

if TYPE_CHECKING:
    from rich.console import Console

    Output = Console | Paper

# Pieces of a text, those with a style beside it.
Pieces = Sequence[str | tuple[str, str]]


class Writer:
    """Writes wrapped and indented text to a console, or plainly to paper."""

    def __init__(self, console: Output) -> None:
        self.console = console

    def line(self, text: str, style: str = "", indent: int = 0) -> None:
        """A paragraph; an item of a list hangs under its own text. Nothing for an empty text."""
        if text:
            self.wrapped([(text, style)], indent, hang=2 if text.startswith("- ") else 0)

    def labelled(self, label: str, text: str, indent: int = 3, hang: int = 0) -> None:
        """A paragraph after a bold label; nothing for an empty text."""
        if text:
            self.wrapped([(f"{label} " if label else "", "bold"), text], indent, hang)

    def wrapped(self, pieces: Pieces, indent: int = 0, hang: int = 0) -> None:
        """Print a text wrapped and indented, without blanks at the ends of lines."""
        pad = " " * (indent + hang)
        self._rows(pieces, " " * indent, pad, max(30, self.console.width - len(pad)))

    def named(self, name: str, pieces: Pieces, column: int) -> None:
        """A text that starts at a column, with a name before its first row."""
        self._rows(pieces, name.ljust(column), " " * column, max(30, self.console.width - column))

    def _rows(self, pieces: Pieces, first: str, others: str, width: int) -> None:
        if isinstance(self.console, Paper):
            text = "".join(piece if isinstance(piece, str) else piece[0] for piece in pieces)
            for number, plain in enumerate(Paper.rows(text, width)):
                self.console.print((others if number else first) + plain)
            return
        from rich.text import Text  # noqa: PLC0415  not for paper

        for number, row in enumerate(Text.assemble(*pieces).wrap(self.console, width)):
            row.rstrip()
            self.console.print(Text(others if number else first).append_text(row), soft_wrap=True)

    def heading(self, text: str) -> None:
        """A heading after an empty line."""
        self.console.print()
        self.line(text.upper(), "bold underline")
