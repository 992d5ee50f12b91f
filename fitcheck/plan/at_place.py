"""What the build knows of a place rather than of the part in it: a new part finds it as it is."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace

from fitcheck.knowledge import Knowledge
from fitcheck.language import variables, walk
from fitcheck.language.tree import Apply
from fitcheck.model import EngineBuild, Evidence, Part


def known_of_place(build: EngineBuild, knowledge: Knowledge, slot: str) -> frozenset[str]:
    """The attributes of a slot that were measured of its place, with what they spread by."""
    measured = {
        statement.attribute.name
        for part in build.parts.get(slot, ())
        for statement in part.statements
        if statement.attribute.of_place and statement.evidence <= Evidence.PREDICTED
    }
    return frozenset(knowledge.with_spreads(measured))


def measured_with(
    build: EngineBuild, knowledge: Knowledge, opened: Iterable[str]
) -> dict[str, list[str]]:
    """What was measured of places with parts that are to be replaced, by what decides it.

    A figure that other parts make up, as retainer and locks do an installed height, may shift with
    them: each such attribute with the open slots that it may shift with.
    """
    slots = set(opened)
    shifting = {}
    for slot in build.parts:
        for name in known_of_place(build, knowledge, slot):
            others = [one for one in slots & _deciders(name, knowledge) if one != slot]
            if others and not knowledge.attributes[name].spread_of:
                shifting[name] = sorted(others)
    return shifting


def _deciders(name: str, knowledge: Knowledge) -> set[str]:
    """The slots of the parts that another way to a figure is made up of."""
    slots: set[str] = set()
    for derived in knowledge.derived.values():
        for node in walk(derived.node):
            if isinstance(node, Apply) and node.op == "agree":
                ways = [set(variables(way)) for way in node.args]
                if {name} in ways:
                    slots |= {one.partition(".")[0] for way in ways for one in way if one != name}
    return slots


def remembered(build: EngineBuild, knowledge: Knowledge, opened: Collection[str]) -> EngineBuild:
    """The build with what the parts that stay remember of those that came inside them.

    A head's seats are cut for the springs that it came with, whichever come there next.
    """
    parts = dict(build.parts)
    for attribute in knowledge.attributes.values():
        slot = attribute.remembers.partition(".")[0]
        holders = parts.get(attribute.slot)
        if slot not in opened or attribute.slot in opened or not holders:
            continue
        said = tuple(
            replace(statement, attribute=attribute)
            for part in build.parts.get(slot, ())
            if part.holder == attribute.slot
            for statement in part.statements
            if statement.attribute.name == attribute.remembers
        )
        if not any(one.attribute is attribute for part in holders for one in part.statements):
            parts[attribute.slot] = (
                replace(holders[0], statements=holders[0].statements + said),
                *holders[1:],
            )
    return replace(build, parts=parts)


def emptied(build: EngineBuild, knowledge: Knowledge, slot: str) -> EngineBuild:
    """The build with a part in the slot of which only what was measured of its place is known."""
    kept = tuple(
        statement
        for part in build.parts.get(slot, ())
        for statement in part.statements
        if statement.attribute.of_place and statement.evidence <= Evidence.PREDICTED
    )
    build = remembered(build, knowledge, [slot])
    parts = {**build.parts, slot: (Part(slot, "", "", kept),)}
    return replace(build, parts=parts, absent=build.absent - {slot})
