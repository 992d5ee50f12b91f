"""The arguments that several commands take, each told in one place."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

_FOLDER: dict[str, Any] = {"type": Path, "default": None, "metavar": "FOLDER"}
_SHARED: dict[str, dict[str, Any]] = {
    "build": {"type": Path, "help": "the build file (YAML)"},
    "--slot": {
        "action": "append",
        "default": [],
        "metavar": "PART",
        "help": "only this part; may be repeated",
    },
    "--at": {"default": "", "help": "only here, as in 'exhaust' or '3 intake'"},
    "--decide-all": {
        "action": "store_true",
        "help": "nothing may be left that cannot be told",
    },
    "--catalog": {
        "type": Path,
        "default": None,
        "metavar": "FILE",
        "help": "a catalog (.duckdb), a list (CSV, xlsx, Parquet, YAML) or a folder of lists "
        "(default: the invented parts)",
    },
    "--page": {
        "type": Path,
        "metavar": "FILE.html",
        "help": "write a page to print and to send instead of the text",
    },
    "--force": {"action": "store_true", "help": "write over a file that is there already"},
    "--set": {
        "action": "append",
        "default": [],
        "metavar": "CHANGE",
        "help": "suppose spring.rate=300 lbf/in, spring.rate@exhaust=..., shim=none, "
        "or spring=OTHER.yaml; may be repeated",
    },
    "--house": {
        "type": Path,
        "default": None,
        "metavar": "FILE",
        "help": "limits and waivers of your own shop (YAML)",
    },
    "--units": {
        "choices": ("inch", "metric"),
        "default": None,
        "help": "how figures are shown (default: as most of the build file is written)",
    },
    "--json": {"action": "store_true", "help": "data instead of text"},
}


def shared(parser: argparse.ArgumentParser, *names: str) -> None:
    """Take some of them, in this order; `--rules` brings all that says what is asked by."""
    for name in names:
        if name == "--rules":
            folders = parser.add_mutually_exclusive_group()
            folders.add_argument(
                "--rules",
                help="rules, limits, usual figures and words of your own, beside those of fitcheck",
                **_FOLDER,
            )
            folders.add_argument(
                "--only-rules",
                help="a whole folder of rules, instead of those of fitcheck",
                **_FOLDER,
            )
            name = "--house"  # noqa: PLW2901
        parser.add_argument(name, **_SHARED[name])


def output_option(parser: argparse.ArgumentParser, suffix: str) -> None:
    """The file that is written."""
    parser.add_argument(
        "-o",
        "--output",
        type=Path,
        default=None,
        metavar=f"FILE{suffix}",
        help="the file to write (default: print it)",
    )
    parser.set_defaults(suffix=suffix)
    shared(parser, "--force")
