"""Text on a console: headings, labelled lines, wrapping without blanks at the ends of lines."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text


class Writer:
    """Writes wrapped and indented text to a console."""

    def __init__(self, console: Console) -> None:
        self.console = console

    def line(self, text: str, style: str = "", indent: int = 0) -> None:
        if not text:
            return
        self.wrapped(Text(text, style), indent)

    def labelled(self, label: str, text: str, indent: int = 3) -> None:
        if text:
            self.wrapped(Text.assemble((f"{label} " if label else "", "bold"), text), indent)

    def wrapped(self, text: Text, indent: int = 0, hang: int = 0) -> None:
        """Print a text wrapped and indented, without blanks at the ends of lines."""
        width = max(30, self.console.width - indent - hang)
        for number, row in enumerate(text.wrap(self.console, width)):
            row.rstrip()
            pad = " " * (indent + (hang if number else 0))
            self.console.print(Text(pad).append_text(row), soft_wrap=True)

    def heading(self, text: str) -> None:
        self.console.print()
        self.line(text.upper(), "bold underline")
