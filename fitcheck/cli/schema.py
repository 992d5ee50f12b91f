"""Print the JSON Schema of a kind of file, by which editors complete and explain it."""

from __future__ import annotations

import argparse
import json

from fitcheck.cli.common import FITS, loaded, one_of, tell
from fitcheck.cli.options import output_option, shared
from fitcheck.cli.output import write_out

HELP = "print the schema of a kind of file, for editors that complete and explain"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument(
        "kind", nargs="?", default="", help="build, house, prices, routes, pile or columns"
    )
    output_option(parser, ".json")
    shared(parser, "--rules")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.report.schema import FILES, comment, file_name, file_schema  # noqa: PLC0415

    if not options.kind:
        print("Kinds of files; an editor looks for the schema that a file's comment names:")
        for kind in FILES:
            tell(f"  {kind:8} fitcheck schema {kind} -o {file_name(kind)}")
            tell(f"  {'':8} {comment(kind)}")
        return FITS
    kind = one_of(options.kind, FILES, "kind of file")
    text = json.dumps(file_schema(kind, loaded(options)), ensure_ascii=False, indent=1)
    write_out(f"{text}\n", options)
    return FITS
