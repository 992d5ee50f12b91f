"""The chances of a build, as text and as data."""

from __future__ import annotations

from typing import Any

from rich.console import Console

from fitcheck.check import BuildCheck
from fitcheck.check.tolerances.chance import Chance, Chances, Share
from fitcheck.quantity import System, show
from fitcheck.report.phrases import counted, open_words
from fitcheck.report.writer import Writer

_SPREADS = {
    "even": "evenly within its range",
    "normal": "normally, its range being three standard deviations either way",
}


def write_chances(
    found: Chances, check: BuildCheck, spread: str, seed: int, console: Console, system: System
) -> None:
    """The share that clears everything, then each rule that some assemblies fail."""
    writer = Writer(console)
    writer.line(check.build.title, "bold")
    writer.line(
        f"Every given figure drawn {_SPREADS[spread]}, for each place anew; seed {seed}.", "dim"
    )
    left = open_words(check)
    writer.line(f"{left} The shares say nothing of what is not known." if left else "", "bold")
    if found.together is not None:
        what = "What is known" if left else "All of it"
        writer.line(f"{what} clears in {percent(found.together)}, remarks not counted.", "bold")
    certain = [one for one in found.each if one.all_places.cleared == one.all_places.drawn]
    for chance in found.each:
        if chance not in certain:
            _write(writer, chance, system)
    if certain:
        writer.line(f"Every assembly drawn cleared {counted(len(certain), 'other rule')}.")
    if found.left_out:
        writer.line(
            f"Left out, as a figure of theirs was not given: "
            f"{counted(len(found.left_out), 'rule')}."
        )


def _write(writer: Writer, chance: Chance, system: System) -> None:
    writer.line(
        f"- {chance.rule.file.subject}: clears in {percent(chance.all_places)}  [{chance.rule.id}]",
        "bold",
    )
    if chance.disputed:
        writer.line(f"in {chance.disputed} more it lies where practice disagrees", indent=2)
    if len(chance.positions) > 1:
        writer.line(f"worst place: {chance.worst}, {percent(chance.at_worst)}", indent=2)
    if chance.stack is not None:
        kind = chance.stack.kind
        writer.line(
            f"margin there: {show(chance.stack.worst_case, kind, system, sign=True)} at "
            f"worst, {show(chance.stack.root_sum_square, kind, system, sign=True)} by "
            "root-sum-square",
            indent=2,
        )


def percent(share: Share) -> str:
    """A share with its sampling error."""
    low, high = share.error
    if share.cleared == share.drawn:
        return f"every one of {share.drawn} (at least {100 * low:.1f} % of all)"
    return f"{100 * share.value:.1f} % of {share.drawn} ({100 * low:.1f} to {100 * high:.1f} %)"


def chances_data(found: Chances, spread: str, seed: int, system: System) -> dict[str, Any]:
    """The same as plain data."""
    return {
        "spread": spread,
        "seed": seed,
        "together": _share(found.together) if found.together else None,
        "rules": [_data(chance, system) for chance in found.each],
        "left_out": [rule.id for rule in found.left_out],
    }


def _data(chance: Chance, system: System) -> dict[str, Any]:
    stack = chance.stack
    data: dict[str, Any] = {
        "rule": chance.rule.id,
        "severity": chance.rule.severity,
        "clears": _share(chance.all_places),
        "disputed": chance.disputed,
        "worst_place": str(chance.worst),
        "at_worst_place": _share(chance.at_worst),
    }
    if stack is not None:
        data["stackup"] = {
            "worst_case": show(stack.worst_case, stack.kind, system, sign=True),
            "root_sum_square": show(stack.root_sum_square, stack.kind, system, sign=True),
        }
    return data


def _share(share: Share) -> dict[str, Any]:
    low, high = share.error
    return {
        "cleared": share.cleared,
        "drawn": share.drawn,
        "share": share.value,
        "from": low,
        "to": high,
    }
