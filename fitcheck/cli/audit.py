"""Hold each claimed or ordered figure against its measurement."""

from __future__ import annotations

import argparse

from fitcheck.cli.common import CLASHES, FITS, OPEN, console, listed_in, print_data, with_build
from fitcheck.cli.options import shared

HELP = "hold what was claimed or ordered against what was measured"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    shared(parser, "build")
    parser.add_argument(
        "--slot",
        action="append",
        default=[],
        metavar="PART",
        help="only this part and what came with it; may be repeated",
    )
    parser.add_argument("--all", action="store_true", help="list what is not measured as well")
    shared(parser, "--rules", "--units", "--json")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.check import check_build  # noqa: PLC0415
    from fitcheck.check.records.audit import ClaimOutcome, audit  # noqa: PLC0415
    from fitcheck.report.audit import audit_data, write_audit  # noqa: PLC0415
    from fitcheck.report.story import Story  # noqa: PLC0415

    knowledge, build = with_build(options)
    slots = listed_in(build, options.slot, knowledge)
    found = audit(build, slots)
    if options.json:
        print_data(audit_data(found, build, options.units))
    else:
        # Claims of the whole are no one part's.
        claims = () if slots else Story(check_build(build, knowledge), options.units).claims
        write_audit(
            found, build, knowledge, console(), options.units, claims, everything=options.all
        )
    outcomes = {one.outcome for one in found}
    if ClaimOutcome.OUTSIDE in outcomes:
        return CLASHES
    return FITS if outcomes <= {ClaimOutcome.WITHIN} else OPEN
