"""Open a local page to work in: parts and figures by hand, the answer as they change."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.cli.common import FITS, loaded, refuse
from fitcheck.cli.options import shared

if TYPE_CHECKING:
    from fitcheck.bench.asking import Bench
    from fitcheck.bench.guard import Entry
    from fitcheck.knowledge import Knowledge

HELP = "open a page of this machine to work in, on the desk and beside the engine"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument(
        "build",
        nargs="?",
        type=Path,
        default=None,
        metavar="FILE",
        help="a build file, or a folder of such files (default: this folder)",
    )
    parser.add_argument("--port", type=int, default=None, help="the port to listen at")
    parser.add_argument(
        "--no-browser", action="store_true", help="print the address and open no browser"
    )
    parser.add_argument(
        "--phone",
        default="",
        metavar="ADDRESS",
        help="an address of this machine at which a phone may ask to be let in, as 192.168.1.20",
    )
    shared(parser, "--rules", "--units")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.bench.guard import Entry  # noqa: PLC0415
    from fitcheck.bench.launch import (  # noqa: PLC0415
        LOCAL,
        USUAL_PORT,
        bound,
        hosts_of,
        serve,
    )

    given: Path = options.build or Path()
    if not given.exists():
        refuse(f"there is no {given}", "give a build file or a folder; 'fitcheck start' makes one")
    exactly = options.port is not None
    if exactly and not 0 <= options.port < 65536:
        refuse(f"{options.port} is no port", "give one from 1024 to 65535")
    sockets = [bound(LOCAL, options.port if exactly else USUAL_PORT, exactly=exactly)]
    port: int = sockets[0].getsockname()[1]
    phones: frozenset[str] = frozenset()
    if options.phone:
        sockets.append(bound(options.phone, port, exactly=True))
        phones = hosts_of(options.phone, port)
    entry = Entry(hosts_of(LOCAL, port), phones, port)
    make = partial(_bench, options, given)
    serve(make, sockets, entry, partial(print, flush=True), browse=not options.no_browser)
    print("The bench is shut.")
    return FITS


def _bench(options: argparse.Namespace, given: Path, entry: Entry) -> Bench:
    from fitcheck.bench.aside import Aside  # noqa: PLC0415
    from fitcheck.bench.asking import Bench  # noqa: PLC0415
    from fitcheck.bench.desk import Desk  # noqa: PLC0415
    from fitcheck.bench.folder import Folder  # noqa: PLC0415
    from fitcheck.bench.jobs import Jobs  # noqa: PLC0415

    knowledge = loaded(options)
    is_file = given.is_file()
    folder = Folder(given.parent if is_file else given, given if is_file else None)
    desk = Desk(folder, knowledge, options.units)
    if is_file:
        desk.open(given)
    given_too = [
        f"--{name.replace('_', '-')}={Path(value).resolve()}"
        for name in ("rules", "only_rules", "house")
        if (value := getattr(options, name)) is not None
    ]
    more = {"jobs": Jobs(given_too)}
    return Bench(desk, Aside(partial(_knowledge, options)), entry, more)


def _knowledge(options: argparse.Namespace) -> Knowledge:
    """The same knowledge in another process."""
    return loaded(options)
