"""Write a page that shows a build, as one HTML file to print and to send."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from urllib.parse import quote

from fitcheck.cli.common import checked, exit_code, refuse
from fitcheck.cli.options import output_option, shared
from fitcheck.cli.output import write_out
from fitcheck.report.html import PAGES

HELP = "a page to print and to send, with drawings"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    kinds = "; ".join(f"{name}: {kind.help}" for name, kind in PAGES.items())
    parser.add_argument("--kind", choices=[*PAGES], default="check", help=f"which page. {kinds}")
    parser.add_argument(
        "--all",
        action="store_true",
        help="of the inspection sheet: all figures, not a page of those that decide most",
    )
    parser.add_argument(
        "--handbook",
        type=Path,
        default=None,
        metavar="FOLDER",
        help="link what is found to the handbook in this folder ('fitcheck handbook' writes it)",
    )
    output_option(parser, ".html")
    shared(parser, "--rules", "--units")


def _address(options: argparse.Namespace) -> str:
    """Where the handbook lies, as seen from the page."""
    folder: Path | None = options.handbook
    if folder is None:
        return ""
    if not (folder / "index.html").is_file():
        refuse(f"{folder} holds no handbook", f"'fitcheck handbook {folder}' writes one")
    page = options.output.parent if options.output else Path()
    try:
        return quote(Path(os.path.relpath(folder.resolve(), page.resolve())).as_posix())
    except ValueError:  # on another drive
        return folder.resolve().as_uri()


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from datetime import date  # noqa: PLC0415

    handbook = _address(options)
    check = checked(options)
    more = {"everything": options.all} if options.kind == "sheet" else {}
    kind = PAGES[options.kind]
    write_out(kind.make(check, options.units, date.today(), handbook, **more), options)
    return exit_code(check, check.findings)
