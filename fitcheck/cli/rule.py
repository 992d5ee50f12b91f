"""Show the page of one rule: what goes wrong, why, the figures, what mends it."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import FITS, console, loaded, rule_of
from fitcheck.cli.options import shared

HELP = "show the page of one rule"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("rule", help="the rule's name")
    shared(parser, "--rules", "--units")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.report.rulepage import write_rule_page  # noqa: PLC0415

    knowledge = loaded(options)
    rule = knowledge.rules[rule_of(options.rule, knowledge)]
    write_rule_page(rule, knowledge, console(), options.units)
    return FITS
