"""Where a command's text goes: to a file of the kind it is, or out."""

from __future__ import annotations

import argparse
from pathlib import Path

from fitcheck.cli.common import refuse


def output_option(parser: argparse.ArgumentParser, suffix: str) -> None:
    """The file that is written; only files that end so are written over."""
    parser.add_argument(
        "-o",
        "--output",
        type=Path,
        default=None,
        metavar=f"FILE{suffix}",
        help="the file to write (default: print it)",
    )
    parser.set_defaults(suffix=suffix)


def page_option(parser: argparse.ArgumentParser) -> None:
    """For commands that print text and can write a page instead."""
    parser.add_argument(
        "--page",
        type=Path,
        metavar="FILE.html",
        help="write a page to print and to send instead of the text",
    )


def write_page(text: str, path: Path) -> None:
    """Write a page to a file of its own."""
    _write(text, path, ".html")


def write_drawing(text: str, path: Path) -> None:
    """Write a drawing to a file of its own."""
    _write(text, path, ".svg")


def write_text(text: str, options: argparse.Namespace) -> None:
    """Write a text where the options say."""
    path: Path | None = options.output
    if path is None:
        print(text, end="")
    else:
        _write(text, path, options.suffix)


def _write(text: str, path: Path, suffix: str) -> None:
    if path.suffix.lower() != suffix:
        refuse(f"{path} does not end in {suffix}", f"give a name that ends in {suffix}")
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        refuse(f"{path} can't be written: {(error.strerror or str(error)).lower()}")
    print(f"{path} is written.")
