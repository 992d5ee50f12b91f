"""Text on a console: headings, labelled lines, wrapping without blanks at the ends of lines."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text


class Writer:
    """Writes wrapped and indented text to a console."""

    def __init__(self, console: Console) -> None:
        self.console = console

    def line(self, text: str, style: str = "", indent: int = 0) -> None:
        """A paragraph; an item of a list hangs under its own text. Nothing for an empty text."""
        if text:
            self.wrapped(Text(text, style), indent, hang=2 if text.startswith("- ") else 0)

    def labelled(self, label: str, text: str, indent: int = 3, hang: int = 0) -> None:
        """A paragraph after a bold label; nothing for an empty text."""
        if text:
            self.wrapped(Text.assemble((f"{label} " if label else "", "bold"), text), indent, hang)

    def wrapped(self, text: Text, indent: int = 0, hang: int = 0) -> None:
        """Print a text wrapped and indented, without blanks at the ends of lines."""
        width = max(30, self.console.width - indent - hang)
        for number, row in enumerate(text.wrap(self.console, width)):
            row.rstrip()
            pad = " " * (indent + (hang if number else 0))
            self.console.print(Text(pad).append_text(row), soft_wrap=True)

    def heading(self, text: str) -> None:
        """A heading after an empty line."""
        self.console.print()
        self.line(text.upper(), "bold underline")
