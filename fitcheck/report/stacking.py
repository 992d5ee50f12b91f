"""The parts in the order in which an engine is put together, from the block up to the cap."""

from __future__ import annotations

from collections.abc import Iterable

STACKING = {
    "The engine and its job": ("engine", "fuel", "oil"),
    "Block and bottom end": ("block", "crankshaft", "rod", "piston", "rings"),
    "Camshaft and followers": (
        "cam", "timing_set", "drive_gear", "thrust_control", "lifter", "pushrod", "guideplate",
    ),
    "Deck": ("head_gasket", "head", "head_fasteners"),
    "Guides, seats, valves": ("guide", "seat", "valve", "seal"),
    "Spring and what holds it": ("locator", "shim", "spring", "retainer", "locks", "lash_cap"),
    "Rockers and cover": ("rocker_mount", "rocker", "valve_cover"),
    "Ports and spark": (
        "intake_gasket", "intake_manifold", "carburettor", "exhaust_manifold", "spark_plug",
    ),
}  # fmt: skip


def stacked(slots: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """Some parts by where they sit, in that order; what is not known here comes last.

    >>> list(stacked(["valve", "block", "gearbox"]).values())
    [('block',), ('valve',), ('gearbox',)]
    """
    wanted = list(slots)
    found = {
        title: tuple(slot for slot in some if slot in wanted) for title, some in STACKING.items()
    }
    known = {slot for some in STACKING.values() for slot in some}
    rest = tuple(slot for slot in wanted if slot not in known)
    found |= {"Other parts": rest}
    return {title: some for title, some in found.items() if some}
