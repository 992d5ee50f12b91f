"""Show how the answer to one question about a build comes about."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from fitcheck.cli.common import FITS, checked, exit_code, output, print_data, refuse, rule_of, tell
from fitcheck.cli.options import shared
from fitcheck.source import BadInput

if TYPE_CHECKING:
    from fitcheck.model import Selector

HELP = "show how the answer to one question comes about"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    parser.add_argument("rule", help="the rule's name, as in square brackets in a check")
    shared(parser, "--at", "--set", "--rules", "--units", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    check = checked(options)
    rule = rule_of(options.rule, check.knowledge)
    selector = _selector(options.at)
    found = [
        finding
        for finding in check.all_findings
        if finding.rule.id == rule
        and any(selector.covers(position) for position in finding.positions)
    ]
    if not found and check.failures:  # perhaps of this very rule
        raise BadInput(check.failures)
    if not found and not options.json:
        where = f" at {options.at}" if options.at else ""
        why = (
            "the two figures are not both told, or they meet within what is allowed"
            if check.knowledge.rules[rule].ways
            else "it does not apply"
        )
        tell(f"'{rule}' has nothing to say about this build{where}: {why}.")
        return FITS
    if options.json:
        from fitcheck.report.data import finding_data  # noqa: PLC0415

        print_data([finding_data(check, finding, options.units) for finding in found])
    else:
        from fitcheck.report.explanation import write_explanation  # noqa: PLC0415

        write_explanation(check, found, output(), options.units)
    waived = {id(one.finding) for one in check.waived}
    return exit_code(check, [finding for finding in found if id(finding) not in waived])


def _selector(at: str) -> Selector:
    from fitcheck.model import EVERYWHERE, Selector  # noqa: PLC0415

    selector = Selector.read(at) if at else EVERYWHERE
    if selector is None:
        refuse(f"'{at}' names no position", "write intake, exhaust, cylinder 3 or 3 exhaust")
    return selector
