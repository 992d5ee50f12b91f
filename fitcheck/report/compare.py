"""Two checks side by side, as text and as data."""

from __future__ import annotations

from typing import Any

from rich.console import Console

from fitcheck.check import BuildCheck, RuleFinding, Verdict
from fitcheck.check.comparing import Change, changes
from fitcheck.model import Layout, Position, group_name
from fitcheck.quantity import System
from fitcheck.report.phrases import capital, margin_line, summary
from fitcheck.report.writer import Writer

_WORDS = {
    Verdict.FITS: "fits",
    Verdict.CONFLICT: "clashes",
    Verdict.STRADDLES: "cannot be told",
    Verdict.UNMEASURED: "cannot be told",
}
SILENT = "does not apply"


def write_comparison(
    before: BuildCheck, after: BuildCheck, labels: tuple[str, str], console: Console, system: System
) -> None:
    """Both answers, then each rule that says something else."""
    writer = Writer(console)
    for label, check in zip(labels, (before, after), strict=True):
        writer.labelled(f"{capital(label)}:", summary(check), 0)
    found = changes(before, after)
    if not found:
        writer.line("Nothing differs.", "bold")
    layout = after.build.layout
    for heading, some in headed(found):
        writer.heading(heading)
        for change in some:
            _write(writer, change, labels, layout, system)
    for check, label in zip((before, after), labels, strict=True):
        for problem in check.failures:
            writer.line(f"{label}: {problem}", "bold red")


def headed(found: list[Change]) -> list[tuple[str, list[Change]]]:
    """The changes under headings, in the order a reader wants them."""
    groups: dict[str, list[Change]] = {
        "Clashes that came": [],
        "Clashes that went": [],
        "Can be told now": [],
        "Cannot be told any more": [],
        "Other answers": [],
        "Only the margin moved": [],
    }
    for change in found:
        groups[_heading(change)].append(change)
    return [(heading, some) for heading, some in groups.items() if some]


def _heading(change: Change) -> str:
    was, now = _word(change.before), _word(change.after)
    if was == now:
        return "Only the margin moved"
    if now == "clashes":
        return "Clashes that came"
    if was == "clashes":
        return "Clashes that went"
    if was == "cannot be told":
        return "Can be told now"
    return "Cannot be told any more" if now == "cannot be told" else "Other answers"


def _write(
    writer: Writer, change: Change, labels: tuple[str, str], layout: Layout, system: System
) -> None:
    at = _places(change.positions, layout)
    writer.line(f"- {change.rule.file.subject}{f' ({at})' if at else ''}  [{change.rule.id}]")
    for label, finding in zip(labels, (change.before, change.after), strict=True):
        margin = _margin(finding, system)
        writer.labelled(f"{label}:", f"{_word(finding)}{f'; {margin}' if margin else ''}", 2)


def _margin(finding: RuleFinding | None, system: System) -> str:
    """The margin, where what it rests on was given."""
    known = finding is not None and finding.verdict is not Verdict.UNMEASURED
    return margin_line(finding, system) if finding is not None and known else ""


def _word(finding: RuleFinding | None) -> str:
    return _WORDS[finding.verdict] if finding else SILENT


def _places(positions: tuple[Position, ...], layout: Layout) -> str:
    if all(position == Position() for position in positions):
        return ""
    if not set(positions) <= set(layout.positions("valve")) | set(
        layout.positions("cylinder")
    ) | set(layout.positions("bank")):
        return ", ".join(map(str, positions))
    return group_name(positions, layout)


def comparison_data(
    before: BuildCheck, after: BuildCheck, labels: tuple[str, str], system: System
) -> dict[str, Any]:
    """The comparison as plain data."""
    return {
        "answers": dict(zip(labels, (summary(before), summary(after)), strict=True)),
        "changes": [_data(change, labels, system) for change in changes(before, after)],
        "failures": [str(problem) for problem in (*before.failures, *after.failures)],
    }


def _data(change: Change, labels: tuple[str, str], system: System) -> dict[str, Any]:
    sides = dict(zip(labels, (change.before, change.after), strict=True))
    return {
        "rule": change.rule.id,
        "severity": change.rule.severity,
        "positions": [str(position) for position in change.positions],
        "turned": change.turned,
        **{
            label: {"verdict": finding.verdict.value, "margin": _margin(finding, system)}
            if finding
            else None
            for label, finding in sides.items()
        },
    }
