"""Reads the arguments, runs one command, and tells what is wrong with its input."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module

from fitcheck.cli.common import BAD_INPUT, settle_units
from fitcheck.source import BadInput

# As shells count an end by the keyboard's interrupt: 128 and the signal's number.
STOPPED = 130
# Each is the name of a file beside this one, in the order that --help shows.
COMMANDS = (
    "start",
    "check",
    "explain",
    "measure",
    "compare",
    "reach",
    "order",
    "screen",
    "pile",
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
    "prove",
    "demo",
    "completion",
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    given = sys.argv[1:] if arguments is None else arguments
    if not given:
        parser().print_help()
        return BAD_INPUT
    options = parser(given[0]).parse_args(given)
    try:
        settle_units(options)
        code: int = options.run(options)
        sys.stdout.flush()
    except BadInput as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        count = len(error.problems)
        print(f"{count} problem{'s' if count != 1 else ''}; nothing was done.", file=sys.stderr)
        return BAD_INPUT
    except KeyboardInterrupt:
        print("Stopped. No file is left half changed.", file=sys.stderr)
        return STOPPED
    except BrokenPipeError:
        # The reader has gone; leave Python nothing to flush at exit.
        sys.stdout = open("/dev/null", "w", encoding="utf-8")  # noqa: SIM115, PTH123
        return BAD_INPUT
    return code


def parser(asked: str = "") -> argparse.ArgumentParser:
    """The arguments of the command that is asked for; of all, where none of them is."""
    made = argparse.ArgumentParser(
        prog="fitcheck",
        description="Checks whether the top-end parts of a pushrod engine work together.",
        epilog="Exit codes: 0 everything asked fits; 1 something clashes; 3 nothing clashes, but "
        "something cannot be told; 2 bad input, or a rule could not be computed.",
    )
    commands = made.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name in [asked] if asked in COMMANDS else COMMANDS:
        command = import_module(f"fitcheck.cli.{name}")
        own = commands.add_parser(name, help=command.HELP, description=command.__doc__)
        command.arguments(own)
        own.set_defaults(run=command.run)
    return made
