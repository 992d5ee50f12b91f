"""The command line: reads arguments, calls, prints. No engine knowledge, no arithmetic.

Exit codes: 0 everything asked fits; 1 something clashes; 3 nothing clashes, but something cannot
be told; 2 the input can't be used, or a rule could not be computed.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console

    from fitcheck.check import Check, Finding
    from fitcheck.knowledge import Knowledge

FITS, CLASHES, BAD_INPUT, OPEN = 0, 1, 2, 3


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    options = _parser().parse_args(arguments)
    from fitcheck.source import BadInput  # noqa: PLC0415  imports are for the command that runs

    try:
        code: int = options.run(options)
    except BadInput as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        count = len(error.problems)
        print(f"{count} problem{'s' if count != 1 else ''}; nothing was checked.", file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:
        sys.stderr.close()
        return BAD_INPUT
    return code


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="fitcheck",
        description="Checks whether the top-end parts of a pushrod engine work together.",
        epilog="Exit codes: 0 everything asked fits; 1 something clashes; 3 nothing clashes, but "
        "something cannot be told; 2 bad input, or a rule could not be computed.",
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    check = commands.add_parser("check", help="check a build file")
    check.add_argument("build", type=Path, help="the build file (YAML)")
    check.add_argument("--all", action="store_true", help="shorten nothing")
    check.set_defaults(run=_check)
    explain = commands.add_parser("explain", help="show how the answer to one question comes about")
    explain.add_argument("build", type=Path, help="the build file (YAML)")
    explain.add_argument("rule", help="the rule's name, as in square brackets in a check")
    explain.add_argument("--at", default="", help="only here, as in 'exhaust' or '3 intake'")
    explain.set_defaults(run=_explain)
    rule = commands.add_parser("rule", help="show the page of one rule")
    rule.add_argument("rule", help="the rule's name")
    rule.set_defaults(run=_rule)
    rules = commands.add_parser("rules", help="list the rules")
    rules.add_argument("--family", default="", help="only those of one family")
    rules.set_defaults(run=_rules)
    demo = commands.add_parser("demo", help="list the invented builds, or print one as a pattern")
    demo.add_argument("name", nargs="?", default="", help="which one to print")
    demo.set_defaults(run=_demo)
    for command in (check, explain, rule, rules):
        command.add_argument("--rules", type=Path, default=None, metavar="FOLDER",
                             help="a rules folder of your own")  # fmt: skip
    for command in (check, explain, rule):
        command.add_argument("--units", choices=("inch", "metric"), default="inch",
                             help="how figures are shown (default: inch)")  # fmt: skip
    for command in (check, explain, rules):
        command.add_argument("--json", action="store_true", help="data instead of text")
    return parser


def _load(options: argparse.Namespace) -> Knowledge:
    from fitcheck.knowledge import load_knowledge  # noqa: PLC0415

    return load_knowledge(options.rules)


def _checked(options: argparse.Namespace) -> Check:
    from fitcheck.check import check_build, read_build  # noqa: PLC0415

    knowledge = _load(options)
    return check_build(read_build(options.build, knowledge), knowledge)


def _console() -> Console:
    from rich.console import Console  # noqa: PLC0415

    return Console(highlight=False, width=None if sys.stdout.isatty() else 100)


def _print_data(data: object) -> None:
    import json  # noqa: PLC0415

    print(json.dumps(data, indent=2, ensure_ascii=False))


def _code(check: Check, findings: list[Finding]) -> int:
    if check.failures:
        return BAD_INPUT
    verdicts = {finding.verdict.value for finding in findings}
    return CLASHES if "conflict" in verdicts else FITS if verdicts <= {"fits"} else OPEN


def _check(options: argparse.Namespace) -> int:
    check = _checked(options)
    if options.json:
        from fitcheck.report.data import check_data  # noqa: PLC0415

        _print_data(check_data(check, options.units))
    else:
        from fitcheck.report.terminal import TerminalReport  # noqa: PLC0415

        TerminalReport(check, _console(), options.units).write(everything=options.all)
    return _code(check, check.findings)


def _explain(options: argparse.Namespace) -> int:
    check = _checked(options)
    rule = _known_rule(check.knowledge, options.rule)
    found = [f for f in [*check.findings, *(claim.finding for claim in check.claims)]
             if f.rule.id == rule and _here(f, options.at)]  # fmt: skip
    if not found:
        print(f"'{rule}' has nothing to say about this build"
              f"{f' at {options.at}' if options.at else ''}: it does not apply.")  # fmt: skip
        return FITS
    if options.json:
        from fitcheck.report.data import finding_data  # noqa: PLC0415

        _print_data([finding_data(check, finding, options.units) for finding in found])
    else:
        from fitcheck.report.terminal import write_explanation  # noqa: PLC0415

        write_explanation(check, found, _console(), options.units)
    return _code(check, found)


def _here(finding: Finding, at: str) -> bool:
    from fitcheck.model import Selector  # noqa: PLC0415

    if not at:
        return True
    selector = Selector.read(at)
    if selector is None:
        _refuse(f"'{at}' names no position", "write intake, exhaust, cylinder 3 or 3 exhaust")
    assert selector is not None
    return any(selector.covers(position) for position in finding.positions)


def _known_rule(knowledge: Knowledge, name: str) -> str:
    from fitcheck.source import nearest  # noqa: PLC0415

    if name not in knowledge.rules:
        _refuse(f"there is no rule '{name}'", nearest(name, knowledge.rules))
    return name


def _refuse(what: str, mend: str) -> None:
    from fitcheck.source import BadInput, Problem  # noqa: PLC0415

    raise BadInput([Problem(what, None, mend)])


def _rule(options: argparse.Namespace) -> int:
    from fitcheck.report.rulepage import rule_page  # noqa: PLC0415

    knowledge = _load(options)
    rule = knowledge.rules[_known_rule(knowledge, options.rule)]
    console = _console()
    console.print(rule.id, style="bold")
    for heading, text in rule_page(rule, knowledge, options.units):
        console.print(f"[bold]{heading}:[/] ", end="")
        console.print(text, markup=False)
    return FITS


def _rules(options: argparse.Namespace) -> int:
    knowledge = _load(options)
    families = sorted({rule.family for rule in knowledge.rules.values()})
    if options.family and options.family not in families:
        from fitcheck.source import nearest  # noqa: PLC0415

        _refuse(f"there is no family '{options.family}'", nearest(options.family, families))
    chosen = [rule for rule in knowledge.rules.values()
              if options.family in ("", rule.family)]  # fmt: skip
    if options.json:
        _print_data([{"rule": rule.id, "family": rule.family, "severity": rule.severity,
                      "title": str(rule.file.title)} for rule in chosen])  # fmt: skip
        return FITS
    for family in families:
        own = [rule for rule in chosen if rule.family == family]
        if own:
            print(f"\n{own[0].family_words}")
        for rule in own:
            print(f"  {rule.id:34} {rule.severity:8} {rule.file.title}")
    return FITS


def _demo(options: argparse.Namespace) -> int:
    folder = demo_folder()
    names = sorted(path.parent.name for path in folder.glob("*/build.yaml"))
    if not options.name:
        print("Invented builds; 'fitcheck demo NAME > mine.yaml' gives one as a pattern:")
        for name in names:
            print(f"  {name}")
        return FITS
    if options.name not in names:
        from fitcheck.source import nearest  # noqa: PLC0415

        _refuse(f"there is no invented build '{options.name}'", nearest(options.name, names))
    print((folder / options.name / "build.yaml").read_text(encoding="utf-8"), end="")
    return FITS


def demo_folder() -> Path:
    """Where the invented builds are, installed or in a checkout."""
    package = Path(__file__).resolve().parent
    installed = package / "_data" / "catalog_demo"
    return installed if installed.is_dir() else package.parent / "catalog_demo"


if __name__ == "__main__":
    sys.exit(main())
