"""What an unknown part may be, and what to measure to tell: as text and as data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from rich.console import Console

from fitcheck.model import UnderstoodText
from fitcheck.report.phrases import capital
from fitcheck.report.writer import Writer
from fitcheck.screen.identify import Identified

MOST_TOLD = 3


def matches_words(one: Identified) -> str:
    """What an unknown part may be."""
    if not one.count:
        return "no listed part agrees with its figures"
    more = one.count - len(one.matches)
    names = ", ".join(offer.item for offer in one.matches)
    return f"may be {names}{f' and {more} more' if more > 0 else ''}"


def tells_words(one: Identified) -> Iterator[str]:
    """What to measure to find out which it is."""
    for tell in one.tell[:MOST_TOLD]:
        tool = f", {tell.procedure.file.tool}" if tell.procedure else ""
        title = f"the load at {tell.at}" if tell.at else tell.attribute.title
        yield (
            f"measure {title}: leaves {tell.leaves:.0f} of {one.count} ({tell.minutes} min{tool})"
        )


def write_identified(
    one: Identified, title: str, listed: int, readings: Sequence[UnderstoodText], console: Console
) -> None:
    """One part on the bench: what it may be, then what leaves fewest."""
    writer = Writer(console)
    writer.line(
        f"{capital(title)} on the bench: {matches_words(one)}, of {listed:,} listed", "bold"
    )
    for reading in readings:
        writer.line(f"{reading.typed} -> {reading.understood}", indent=3)
    if one.unused:
        titles = ", ".join(attribute.title for attribute in one.unused)
        writer.line(
            f"Not asked by: {titles}. A load tells something with its height, as in 125 lbs "
            "@ 1.800; papers and owners tell nothing of an unknown part."
        )
    for text in tells_words(one):
        writer.line(f"- {text}", indent=2)
    if one.count > 1 and not one.tell:
        writer.line("No figure of the list tells them apart: they are one part by other names.")
    writer.line(
        "A listed figure is a seller's claim: a part may be a copy, or none of the list.", "dim"
    )


def identified_data(one: Identified) -> dict[str, Any]:
    """The same as plain data."""
    return {
        "matches": one.count,
        "unused": [attribute.name for attribute in one.unused],
        "may_be": [offer.item for offer in one.matches],
        "tell": [
            {
                "measure": tell.attribute.name,
                "at": tell.at,
                "leaves": round(tell.leaves, 2),
                "minutes": tell.minutes,
            }
            for tell in one.tell
        ],
    }
