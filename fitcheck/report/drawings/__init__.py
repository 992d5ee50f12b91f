"""Drawings of a check, to scale and made from the build's own numbers.

One file a drawing: `TITLE`, `EACH` (at which level there is one), `READS` (the figures that decide
whether two places look alike), `draw(numbers, at)` and `urgency(numbers, at)`, which orders the
places of a level by how soon they want to be looked at. `making.py` finds them by name.
"""

from __future__ import annotations

# What a finding's question has to be about for a drawing to stand beside it, the first that fits.
BESIDE = {
    "stack": ("coil_bind_clearance", "retainer_clearance", "retainer_gap"),
    "piston-gap": ("piston.axial_gap",),
    "bore": ("head.chamber_reach", "head_gasket.bore", "head.valve_from_bore_centre"),
    "volumes": ("static_compression", "clearance_volume", "head.chamber_volume"),
}
# By the name that commands use: the module, and what it draws.
DRAWINGS = {
    "stack": ("stack", "the spring stack in section, closed and at full lift"),
    "bore": ("bore", "one bore from above, with valves, chamber, gasket and bore line"),
    "piston-gap": ("piston_gap", "piston-to-valve clearance over crank angle"),
    "volumes": ("volumes", "where the clearance volume comes from"),
    "margins": ("margins", "the margins of all rules against zero, the tightest first"),
    "parts": ("parts_graph", "the graph of parts with its conflicts"),
}
