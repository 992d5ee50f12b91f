"""New parts at the ends of their printed tolerances, as parts come out of their boxes.

In an engine file of `factory/` a range is a printed tolerance. Each figure is taken in the middle;
then at the end that makes fits tight (small holes, large shafts, small gaps), then at the other.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from fitcheck.model import EngineBuild, Statement
from fitcheck.quantity import Interval, Quantity

# What goes into a hole: its large end makes the fit tight.
SHAFTS = {
    "cam.journal",
    "cam.journal_largest",
    "guide.outside_diameter",
    "lifter.diameter",
    "piston.diameter",
    "rocker_mount.diameter",
    "seat.insert_outside_diameter",
    "valve.stem_diameter",
}


def assemblies(build: EngineBuild) -> Iterator[tuple[str, EngineBuild]]:
    """The engine as printed, in the middle of each tolerance, all tight and all loose."""
    yield "as printed", build
    for how in ("middle", "tight", "loose"):
        yield (
            how,
            replace(
                build,
                parts={
                    slot: tuple(
                        replace(part, statements=tuple(_at(said, how) for said in part.statements))
                        for part in parts
                    )
                    for slot, parts in build.parts.items()
                },
            ),
        )


def _at(said: Statement, how: str) -> Statement:
    value = said.value
    if not isinstance(value, Quantity) or ".." not in value.text:
        return said
    low, high = value.interval.lower, value.interval.upper
    small = (how == "tight") != (said.attribute.name in SHAFTS)
    point = (low + high) / 2 if how == "middle" else low if small else high
    text = f"{value.text}, {how}"
    return replace(said, value=replace(value, interval=Interval.point(point), text=text))
