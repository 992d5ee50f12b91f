"""Reads the arguments, runs one command, and tells what is wrong with its input."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from fitcheck.cli import (
    audit,
    chance,
    check,
    compare,
    demo,
    draw,
    explain,
    history,
    measure,
    order,
    page,
    plan,
    reach,
    record,
    routes,
    rule,
    rules,
    samples,
    sheet,
    undo,
)
from fitcheck.cli.common import BAD_INPUT
from fitcheck.source import BadInput

COMMANDS = (
    check,
    explain,
    measure,
    compare,
    reach,
    order,
    chance,
    plan,
    routes,
    page,
    draw,
    sheet,
    record,
    samples,
    audit,
    history,
    undo,
    rule,
    rules,
    demo,
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    options = _parser().parse_args(arguments)
    try:
        code: int = options.run(options)
        sys.stdout.flush()
    except BadInput as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        count = len(error.problems)
        print(f"{count} problem{'s' if count != 1 else ''}; nothing was done.", file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:
        # The reader has gone; leave Python nothing to flush at exit.
        sys.stdout = open("/dev/null", "w", encoding="utf-8")  # noqa: SIM115, PTH123
        return BAD_INPUT
    return code


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="fitcheck",
        description="Checks whether the top-end parts of a pushrod engine work together.",
        epilog="Exit codes: 0 everything asked fits; 1 something clashes; 3 nothing clashes, but "
        "something cannot be told; 2 bad input, or a rule could not be computed.",
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for command in COMMANDS:
        name = command.__name__.rpartition(".")[2].replace("_", "-")
        own = commands.add_parser(name, help=command.HELP, description=command.__doc__)
        command.arguments(own)
        own.set_defaults(run=command.run)
    return parser
