"""Reads the arguments, runs one command, and tells what is wrong with its input."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import TYPE_CHECKING, NoReturn

from fitcheck.cli.common import BAD_INPUT, settle_units
from fitcheck.cli.ending import ended
from fitcheck.source.place import shown_safely

if TYPE_CHECKING:
    from _typeshed import SupportsWrite

# Each is the name of a file beside this one, in the order that --help shows.
COMMANDS = (
    "start",
    "bench",
    "check",
    "explain",
    "measure",
    "compare",
    "reach",
    "order",
    "screen",
    "pile",
    "identify",
    "catalog",
    "chance",
    "plan",
    "routes",
    "page",
    "draw",
    "sheet",
    "record",
    "samples",
    "audit",
    "history",
    "undo",
    "parts",
    "schema",
    "rule",
    "rules",
    "handbook",
    "prove",
    "demo",
    "completion",
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    given = sys.argv[1:] if arguments is None else arguments
    return ended(lambda: _command(given), given)


def _command(given: Sequence[str]) -> int:
    if not given:
        parser().print_help()
        return BAD_INPUT
    asked = parser(given[0])
    options, more = asked.parse_known_args(given)
    last = getattr(options, "more", "")
    if more and last and not any(one.startswith("-") for one in more):
        # What stands behind an option belongs to the list before it.
        getattr(options, last).extend(more)
    elif more:
        asked.error(f"unrecognized arguments: {' '.join(more)}")
    settle_units(options)
    code: int = options.run(options)
    return code


class _Arguments(argparse.ArgumentParser):
    """Tells what is wrong with the arguments without letting them command a terminal."""

    def error(self, message: str) -> NoReturn:
        super().error(shown_safely(message))

    def _print_message(self, message: str, file: SupportsWrite[str] | None = None) -> None:
        # Without swallowing that it could not be printed.
        print(message, file=file or sys.stderr, end="")


def parser(asked: str = "") -> argparse.ArgumentParser:
    """The arguments of the command that is asked for; of all, where none of them is."""
    made = _Arguments(
        prog="fitcheck",
        description="Checks whether the top-end parts of a pushrod engine work together.",
        epilog="Exit codes: 0 everything asked fits; 1 something clashes; 3 nothing clashes, but "
        "something cannot be told; 2 bad input, a rule that could not be computed, or a fault.",
    )
    commands = made.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name in [asked] if asked in COMMANDS else COMMANDS:
        command = import_module(f"fitcheck.cli.{name}")
        own = commands.add_parser(name, help=command.HELP, description=command.__doc__)
        command.arguments(own)
        own.set_defaults(run=command.run)
    return made
