"""Write a file to start from: a build to fill in, or a file of another kind."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.cli.common import FITS, loaded, refuse, tell
from fitcheck.cli.options import shared
from fitcheck.source.writing import write_all

if TYPE_CHECKING:
    from fitcheck.knowledge import Knowledge
    from fitcheck.report.starter import StartRequest

HELP = "write a file to start from, with a line for each figure worth filling in"
KINDS = ("build", "prices", "house", "routes", "pile", "columns")
LAYOUTS = ("inline", "vee", "flat")


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("file", type=Path, help="the file to write (YAML), that is not there yet")
    parser.add_argument("--kind", choices=KINDS, default="build", help="of what (default: build)")
    parser.add_argument("--title", default="", help="what the build is called")
    parser.add_argument("--cylinders", default="", metavar="NUMBER", help="how many cylinders")
    parser.add_argument("--layout", choices=LAYOUTS, default="", help="how they stand")
    parser.add_argument(
        "--given",
        action="append",
        default=[],
        metavar="SLOT.ATTRIBUTE=VALUE",
        help="what is known already, as cam.lobe_lift='0.320 in'; may be repeated",
    )
    shared(parser, "--force")
    parser.add_argument("--all", action="store_true", help="a line for everything there is to say")
    shared(parser, "--rules", "--units")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.report.starter import STARTERS, build_starter  # noqa: PLC0415

    knowledge = loaded(options)
    if options.kind == "build":
        asked = _asked(options, knowledge)
        text = build_starter(asked, knowledge, options.units, everything=options.all)
        from fitcheck.check import read_build  # noqa: PLC0415

        read_build(options.file, knowledge, text)  # what was given is told here if it is wrong
        then = f"fill in what you know, then: fitcheck check {options.file}"
    else:
        text = STARTERS[options.kind](knowledge)
        then = "fill in what you know"
    schema = _write(options.file, text, options.kind, knowledge, force=options.force)
    tell(f"{options.file} is written: {then}")
    tell(f"Editors that know YAML complete and explain it by {schema}, beside it.")
    return FITS


def _write(path: Path, text: str, kind: str, knowledge: Knowledge, *, force: bool) -> Path:
    """Write the file, and its schema beside it."""
    from fitcheck.report.schema import file_name, file_schema  # noqa: PLC0415

    schema = path.parent / file_name(kind)
    written = json.dumps(file_schema(kind, knowledge), ensure_ascii=False, indent=1)
    write_all({path: text, schema: f"{written}\n"}, force=force)
    return schema


def _asked(options: argparse.Namespace, knowledge: Knowledge) -> StartRequest:
    from fitcheck.model import MOST_CYLINDERS  # noqa: PLC0415
    from fitcheck.report.starter import StartRequest  # noqa: PLC0415

    given = {}
    for text in options.given:
        name, equals, value = (piece.strip() for piece in text.partition("="))
        if not (equals and value and "." in name):
            refuse(f"'{text}' says nothing", "write --given cam.lobe_lift='0.320 in'")
        part, _, own = name.partition(".")
        slot = knowledge.words.part(part.strip()).name
        if not slot:
            what, mend = knowledge.hints.part(part.strip())
            refuse(f"'{text}': {what}", mend)
        given[f"{slot}.{own.strip()}"] = value
    asking = sys.stdin.isatty() and sys.stdout.isatty()
    if asking and not options.cylinders:
        print("Enter leaves a question open.")
    title = options.title or _ask("What is the build called?", asking) or "My engine"
    cylinders = _cylinders(options.cylinders, asking, MOST_CYLINDERS)
    layout = options.layout or _choice("How do they stand?", LAYOUTS, asking)
    questions = (
        ("engine.use", "What is it for?"),
        ("lifter.type", "What follows the lobes?"),
        ("fuel.kind", "What fuel?"),
        ("head.material", "What are the heads of?"),
    )
    for name, question in questions:
        known = [one for one in given if knowledge.words.figure(one).name == name]
        if not known:
            found = _choice(question, knowledge.attributes[name].options, asking)
            given |= {name: found} if found else {}
    return StartRequest(title, cylinders, layout, given)


def _cylinders(told: str, asking: bool, most: int) -> int:
    """How many there are; who is asked and mistypes it is asked again."""
    found = told or _ask("How many cylinders?", asking)
    while not (found.isascii() and found.isdigit() and 1 <= int(found) <= most):
        what = f"'{found}' is no number of cylinders from 1 to {most}"
        if told or not asking or not found:
            what = what if found else "nobody said how many cylinders"
            refuse(what, "give it with --cylinders 8")
        tell(f"{what}.")
        found = _ask("How many cylinders?", asking)
    return int(found)


def _ask(question: str, asking: bool) -> str:
    try:
        return input(f"{question} ").strip() if asking else ""
    except EOFError:
        return ""


def _choice(question: str, options: tuple[str, ...], asking: bool) -> str:
    """One of some options, by its name or its number; empty where the question is left open."""
    numbered = ", ".join(f"{number} {option}" for number, option in enumerate(options, 1))
    while found := _ask(f"{question} ({numbered})", asking):
        if found in options:
            return found
        if found.isascii() and found.isdigit() and 1 <= int(found) <= len(options):
            return options[int(found) - 1]
        tell(f"'{found}' is none of these.")
    return ""
