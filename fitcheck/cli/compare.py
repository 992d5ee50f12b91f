"""Compare two builds, or a build before and after some changes."""

from __future__ import annotations

import argparse
from pathlib import Path

from fitcheck.cli.common import console, exit_code, print_data, refuse, with_build
from fitcheck.cli.options import shared

HELP = "compare two builds, or one before and after changes"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    parser.add_argument("other", nargs="?", type=Path, default=None, help="another build file")
    shared(parser, "--set", "--rules", "--units", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.check import check_build, read_build, recheck  # noqa: PLC0415
    from fitcheck.check.supposing import suppose_all  # noqa: PLC0415
    from fitcheck.report.compare import comparison_data, write_comparison  # noqa: PLC0415

    if options.other is None and not options.set:
        refuse("there is nothing to compare with", "name a second build file, or use --set")
    knowledge, build = with_build(options)
    before = check_build(build, knowledge)
    labels = "before", "after"
    if options.other is None:
        supposed = suppose_all(build, options.set, knowledge)
        after = recheck(before, supposed.build, supposed.changed)
    else:
        other = suppose_all(read_build(options.other, knowledge), options.set, knowledge).build
        after = check_build(other, knowledge)
        labels = "first", "second"
    if options.json:
        print_data(comparison_data(before, after, labels, options.units))
    else:
        write_comparison(before, after, labels, console(), options.units)
    return exit_code(after, after.findings)
