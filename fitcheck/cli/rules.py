"""List the rules, by family."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import FITS, loaded, one_of, print_data, tell
from fitcheck.cli.options import shared

HELP = "list the rules"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("--family", default="", help="only those of one family")
    shared(parser, "--rules", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    knowledge = loaded(options)
    families = sorted({rule.family for rule in knowledge.rules.values()})
    if options.family:
        families = [one_of(options.family, families, "family")]
    chosen = [rule for rule in knowledge.rules.values() if rule.family in families]
    if options.json:
        print_data(
            [
                {
                    "rule": rule.id,
                    "family": rule.family,
                    "severity": rule.severity,
                    "title": str(rule.file.title),
                }
                for rule in chosen
            ]
        )
        return FITS
    for family in families:
        own = [rule for rule in chosen if rule.family == family]
        tell(f"\n{own[0].family_words} ({family})")
        for rule in own:
            tell(f"  {rule.id:34} {rule.severity:8} {rule.file.title}")
    return FITS
