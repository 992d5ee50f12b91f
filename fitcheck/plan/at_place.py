"""What the build knows of a place rather than of the part in it: a new part finds it as it is."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.knowledge import Knowledge
from fitcheck.model import Build, Evidence, Part


def known_of_place(build: Build, knowledge: Knowledge, slot: str) -> frozenset[str]:
    """The attributes of a slot that were measured of its place, with what they spread by."""
    found = {
        statement.attribute.name
        for part in build.parts.get(slot, ())
        for statement in part.statements
        if statement.attribute.of_place and statement.evidence <= Evidence.PREDICTED
    }
    return frozenset(knowledge.with_spreads(found))


def emptied(build: Build, slot: str) -> Build:
    """The build with a part in the slot of which only what was measured of its place is known."""
    kept = tuple(
        statement
        for part in build.parts.get(slot, ())
        for statement in part.statements
        if statement.attribute.of_place and statement.evidence <= Evidence.PREDICTED
    )
    parts = {**build.parts, slot: (Part(slot, "", "", kept),)}
    return replace(build, parts=parts, absent=build.absent - {slot})
