"""What the commands share: options, loading, printing, exit codes.

Each command's module has HELP, `arguments(parser)` and `run(options)`. Heavy imports stand inside
`run`, so that a command pays only for what it uses.
"""

from __future__ import annotations

import argparse
import gc
import json
import re
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn, TextIO

from fitcheck.source import BadInput, Problem
from fitcheck.source.garbage import none_collected
from fitcheck.source.place import UNSHOWN, shown_safely

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.console import Console

    from fitcheck.check import BuildCheck, RuleFinding
    from fitcheck.knowledge import Knowledge
    from fitcheck.model import EngineBuild
    from fitcheck.report.writer import Output

FITS, CLASHES, BAD_INPUT, OPEN = 0, 1, 2, 3
WIDTH_OF_A_PIPE = 100
_NAMED_BUILD = re.compile(r"^ +(?:- +)?build: *([^\s#]+)", re.MULTILINE)
MOST_LOOKED_AT = 1_000_000  # bytes of a build file, to see in which units it is written


def settle_units(options: argparse.Namespace) -> None:
    """Show figures as the build is written, where a command shows any and nobody asks otherwise."""
    if getattr(options, "units", "inch") is not None:
        return
    from fitcheck.quantity.showing import system_of  # noqa: PLC0415

    routes: Path | None = getattr(options, "routes", None)
    path: Path | None = getattr(options, "build", None) or routes
    text = _start_of(path) if path is not None else ""
    if routes is not None:  # it names the builds that have the figures
        text += "".join(_start_of(routes.parent / name) for name in _NAMED_BUILD.findall(text))
    options.units = system_of(text)


def _start_of(path: Path) -> str:
    """The start of a file; nothing of what can't be read, as the command refuses it."""
    with suppress(OSError, ValueError), path.open("rb") as file:
        return file.read(MOST_LOOKED_AT).decode(errors="replace")
    return ""


def loaded(options: argparse.Namespace) -> Knowledge:
    """The knowledge that the options name."""
    from fitcheck.knowledge import load_knowledge  # noqa: PLC0415

    with none_collected():
        knowledge = load_knowledge(options.only_rules, options.rules)
        gc.freeze()  # it stays to the end of the command: never looked through for garbage
    house: Path | None = options.house
    if options.rules is not None and (options.rules / "house.yaml").is_file():
        if house is not None:
            what = f"there are two house files: {house} and {options.rules / 'house.yaml'}"
            refuse(what, "put both in one")
        house = options.rules / "house.yaml"
    if house is None:
        return knowledge
    from fitcheck.knowledge.house import with_house  # noqa: PLC0415

    knowledge = with_house(knowledge, house)
    assert knowledge.house is not None
    # Said beside every report, whatever the command.
    tell(f"{knowledge.house.title}: {knowledge.house.counts}", file=sys.stderr)
    return knowledge


def with_build(options: argparse.Namespace) -> tuple[Knowledge, EngineBuild]:
    """The build that the options name, and the knowledge with what its makers ask for."""
    from fitcheck.check import read_build  # noqa: PLC0415
    from fitcheck.knowledge import as_makers_ask  # noqa: PLC0415

    knowledge = loaded(options)
    build = read_build(options.build, knowledge)
    return as_makers_ask(knowledge, build), build


def checked(options: argparse.Namespace) -> BuildCheck:
    """The check of the build that the options name."""
    from fitcheck.check import check_build  # noqa: PLC0415

    knowledge, build = with_build(options)
    if getattr(options, "set", None):
        from fitcheck.check.supposing import suppose_all  # noqa: PLC0415

        build = suppose_all(build, options.set, knowledge).build
    return check_build(build, knowledge)


def console() -> Console:
    """Where text for people goes."""
    from rich.console import Console  # noqa: PLC0415

    return Console(highlight=False, width=None if sys.stdout.isatty() else WIDTH_OF_A_PIPE)


def output() -> Output:
    """Where text of reports goes that are the same without colours."""
    from fitcheck.report.paper import Paper, plain_output  # noqa: PLC0415

    return Paper(WIDTH_OF_A_PIPE) if plain_output() else console()


def tell(text: str, *, file: TextIO | None = None) -> None:
    """Print what may hold names that somebody gave: of files, parts, columns."""
    print(shown_safely(text), file=file)


def print_data(data: object) -> None:
    """Print data as JSON, in which no text commands a terminal."""
    text = json.dumps(data, indent=2, ensure_ascii=False)
    print(UNSHOWN.sub(lambda letter: json.dumps(letter[0])[1:-1], text))


def exit_code(check: BuildCheck, findings: Iterable[RuleFinding]) -> int:
    """The exit code that some findings of a check give."""
    if check.failures:
        return BAD_INPUT
    # A remark is worth knowing and no reason to stop, so it does not count as a clash.
    verdicts = {finding.verdict.value for finding in findings if not finding.is_remark}
    return CLASHES if "conflict" in verdicts else FITS if verdicts <= {"fits"} else OPEN


def refuse(what: str, mend: str = "") -> NoReturn:
    """Refuse an argument."""
    raise BadInput([Problem(what, None, mend)])


def slot_of(text: str, knowledge: Knowledge) -> str:
    """The class of parts that a word means, refused where it means none for certain."""
    found = knowledge.words.part(text)
    if not found.name:
        refuse(*knowledge.hints.part(text))
    return found.name


def listed_in(build: EngineBuild, typed: Iterable[str], knowledge: Knowledge) -> tuple[str, ...]:
    """The slots of a build that some words mean."""
    what = "part listed in this build"
    return tuple(one_of(slot_of(text, knowledge), build.parts, what) for text in typed)


def attribute_of(text: str, knowledge: Knowledge) -> str:
    """The attribute that a text such as `cam.lobe lift` means, in full; refused as above."""
    found = knowledge.words.figure(text)
    if not found.name:
        refuse(*knowledge.hints.figure(text))
    return found.name


def rule_of(text: str, knowledge: Knowledge) -> str:
    """The rule that a text means by its name or title; refused as above."""
    found = knowledge.named_rules.find(text)
    if not found:
        refuse(*knowledge.named_rules.told(text))
    return found


def one_of(name: str, known: Iterable[str], what: str) -> str:
    """`name`, refused when it is not known."""
    from fitcheck.source import nearest  # noqa: PLC0415

    names = list(known)
    if name not in names:
        refuse(f"there is no {what} '{name}'", nearest(name, names))
    return name
