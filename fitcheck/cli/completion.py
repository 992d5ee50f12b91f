"""Print a script by which a shell completes the commands and their options."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import FITS, refuse

HELP = "print a script by which a shell completes commands and options"
SHELLS = ("bash", "zsh", "tcsh")


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument(
        "shell", choices=SHELLS, help='for bash: eval "$(fitcheck completion bash)"'
    )


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.cli.main import parser  # noqa: PLC0415  main imports this

    try:
        import shtab  # noqa: PLC0415
    except ImportError:
        refuse("completion needs the package shtab", "pip install 'fitcheck[completion]'")
    print(shtab.complete(parser(), options.shell))
    return FITS
