"""Pairs of rules that a machinist would take for one fault, told once in his words."""

from __future__ import annotations

from collections.abc import Iterable

from fitcheck.check import RuleFinding

SAME_FAULT = """
stem_tight_in_guide stem_seizes_hot              # too tight cold is too tight hot
stem_tight_in_bronze stem_seizes_hot
pushrod_hole_narrow pushrod_rubs_head            # the hole reckoned, the gap measured
card_outruns_flat_foot lobe_outruns_flat_foot    # one lobe, by its card and measured
plunger_bottoms preload_great                    # one preload
preload_great preload_against_maker
plunger_bottoms preload_against_maker
preload_small preload_against_maker
break_in_load_great flat_lobe_overloaded         # one load on one lobe
flat_lobe_overloaded open_load_past_grinders_limit
break_in_load_great open_load_past_grinders_limit
great_open_load open_load_past_grinders_limit
nose_pressed_hard_flat flat_lobe_overloaded
new_guide_loose stem_loose_in_guide              # one clearance
new_guide_loose thin_stem_loose_in_guide
coil_bind nearer_coil_bind_than_maker_asks       # one margin
lash_cap_bears_on_locks lash_cap_skirt_too_long  # one skirt
valve_meets_piston_at_tdc valve_near_piston      # one gap
contact_too_high_on_face seat_reaches_past_face  # one contact
contact_too_high_on_face face_narrower_than_seat
insert_loose_when_cold insert_loose_when_hot     # one press
guide_loose_in_head guide_loose_hot
compression_high_for_fuel effective_compression_high
compression_far_past_fuel compression_high_for_fuel
chamber_of_another_size chambers_differ
load_lost seat_loads_differ                      # one weak spring
load_lost free_length_lost
installed_height_off installed_heights_differ
chamber_past_bore gasket_overhangs_chamber
intake_faces_at_other_angle intake_faces_gape
intake_edge_in_flow manifold_port_larger
exhaust_edge_in_flow header_smaller_than_port
little_zinc_under_flat_foot new_flat_lobes_without_break_in_oil
bolt_diameter_differs bolt_thread_differs
oil_band_misses_feed oil_band_below_bore
oil_band_misses_feed oil_band_above_bore
pressed_stud_at_speed thin_stud_at_speed
wire_overstressed wire_stress_swings_far
margin_half_gone thin_margin
face_too_smooth_for_soft_gasket head_finish_against_gasket_maker
deck_cut_far deck_too_thin
seat_runout_beyond_stem_clearance stem_tight_in_guide
"""
PAIRS = [tuple(line.split("#")[0].split()) for line in SAME_FAULT.strip().splitlines()]


def told_twice(findings: Iterable[RuleFinding]) -> list[tuple[str, ...]]:
    """The pairs of which both are told at one place."""
    places: dict[str, set[object]] = {}
    for finding in findings:
        places.setdefault(finding.rule.id, set()).update(finding.positions)
    return [
        pair
        for pair in PAIRS
        if all(rule in places for rule in pair) and not places[pair[0]].isdisjoint(places[pair[1]])
    ]
