"""Where a command's text goes: to a file of the kind it is, or out."""

from __future__ import annotations

import argparse
from pathlib import Path

from fitcheck.cli.common import refuse, tell
from fitcheck.source.writing import check_new, write_whole


def check_outputs(options: argparse.Namespace, *names: str) -> None:
    """Refuse a file's name before the work that is to be written there."""
    for name in names:
        path: Path | None = getattr(options, name)
        if name == "page" and path is not None:
            _check_suffix(path, ".html")
        check_new(path, force=options.force)


def write_page(text: str, options: argparse.Namespace) -> None:
    """Write the page that is asked for to a file of its own."""
    _write(text, options.page, ".html", force=options.force)


def write_drawing(text: str, path: Path, options: argparse.Namespace) -> None:
    """Write a drawing to a file of its own."""
    _write(text, path, ".svg", force=options.force)


def write_out(text: str, options: argparse.Namespace) -> None:
    """Write a text where the options say."""
    path: Path | None = options.output
    if path is None:
        print(text, end="")
    else:
        _write(text, path, options.suffix, force=options.force)


def _write(text: str, path: Path, suffix: str, *, force: bool) -> None:
    _check_suffix(path, suffix)
    write_whole(path, text, force=force)
    tell(f"{path} is written.")


def _check_suffix(path: Path, suffix: str) -> None:
    if path.suffix.lower() != suffix:
        refuse(f"{path} does not end in {suffix}", f"give a name that ends in {suffix}")
