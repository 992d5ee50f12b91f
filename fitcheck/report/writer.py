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
        width = max(30, self.console.width - indent - hang)
        if isinstance(self.console, Paper):
            text = "".join(piece if isinstance(piece, str) else piece[0] for piece in pieces)
            for number, plain in enumerate(Paper.rows(text, width)):
                self.console.print(" " * (indent + (hang if number else 0)) + plain)
            return
        from rich.text import Text  # noqa: PLC0415  not for paper

        for number, row in enumerate(Text.assemble(*pieces).wrap(self.console, width)):
            row.rstrip()
            pad = " " * (indent + (hang if number else 0))
            self.console.print(Text(pad).append_text(row), soft_wrap=True)

    def heading(self, text: str) -> None:
        """A heading after an empty line."""
        self.console.print()
        self.line(text.upper(), "bold underline")
