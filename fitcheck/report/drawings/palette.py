"""The colours of pages and drawings, for light and for dark paper.

A colour never stands alone: each state has its own shape and its word. The colours were chosen so
that the three states and the ink stay apart for readers who lack one kind of cone, and so that
text in any of them can be read; `tests/report/test_palette.py` holds both.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

LIGHT = {
    "paper": "#ffffff",
    "tint": "#f0f2f5",
    "ink": "#18212b",
    "quiet": "#4a5663",
    "line": "#76828f",
    "metal": "#d3d9df",
    "clash": "#7d1504",
    "open": "#8a6606",
    "fits": "#1a6fc4",
}
DARK = {
    "paper": "#14191f",
    "tint": "#20272f",
    "ink": "#eef1f4",
    "quiet": "#b4bec8",
    "line": "#8793a0",
    "metal": "#39434d",
    "clash": "#ff6e4a",
    "open": "#eed66e",
    "fits": "#5aa9ff",
}
STATES = ("clash", "open", "fits")


def variables(colours: dict[str, str]) -> str:
    """The colours as style-sheet variables."""
    return " ".join(f"--{name}: {value};" for name, value in colours.items())


def themes(selector: str) -> str:
    """The rules that give `selector` its colours: by the reader's choice, and light on paper."""
    return (
        f"{selector} {{ color-scheme: light dark; {variables(LIGHT)} }}\n"
        f"@media (prefers-color-scheme: dark) {{ {selector} {{ {variables(DARK)} }} }}\n"
        f"@media print {{ {selector} {{ color-scheme: light; {variables(LIGHT)} }} }}\n"
    )


@cache
def drawing_style() -> str:
    """How the classes of a drawing look, once for a page or for a drawing on its own."""
    return Path(__file__).with_name("drawing.css").read_text(encoding="utf-8")
