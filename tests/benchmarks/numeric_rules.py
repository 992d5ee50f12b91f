"""Twenty numeric rules about 31 attributes of one valve and its cylinder, written twice.

`FITCHECK` holds them in the project's language. `DEMANDS` holds what each comes to, both ends
worked out by a person, in a plain syntax that every other engine is given in its own words. The figures serve the benchmark only: they are no advice.
"""

from __future__ import annotations

import math

# Attribute, short name, and where the middle of a random figure lies.
ATTRIBUTES = [
    ("cam.lobe_lift", "lobe", "0.280..0.380 in"),
    ("rocker.ratio", "ratio", "1.45..1.75"),
    ("spring.installed_height", "fitted", "1.650..1.950 in"),
    ("spring.coil_bind_height", "bind", "1.000..1.300 in"),
    ("spring.seat_load", "seat_load", "90..160 lbf"),
    ("spring.rate", "rate", "250..450 lbf/in"),
    ("spring.outside_diameter", "spring_od", "1.230..1.480 in"),
    ("spring.inside_diameter", "spring_id", "0.640..0.760 in"),
    ("head.spring_seat_diameter", "pocket", "1.250..1.500 in"),
    ("head.guide_boss_diameter", "boss", "0.560..0.720 in"),
    ("retainer.gap_to_seal", "seal_gap", "0.450..0.700 in"),
    ("retainer.outer_step_diameter", "step", "0.620..0.750 in"),
    ("lifter.greatest_open_load", "lifter_load", "280..450 lbf"),
    ("guide.bore", "guide", "0.3425..0.3450 in"),
    ("valve.stem_diameter", "stem", "0.3408..0.3422 in"),
    ("valve.head_diameter", "head", "1.500..2.050 in"),
    ("seat.throat", "throat", "1.320..1.820 in"),
    ("seat.width", "width", "0.030..0.100 in"),
    ("seat.angle", "seat_angle", "44..46 deg"),
    ("valve.face_angle", "face_angle", "44..46 deg"),
    ("valve.margin", "rim", "0.020..0.080 in"),
    ("seat.insert_outside_diameter", "insert", "1.7500..1.7580 in"),
    ("head.seat_counterbore", "counterbore", "1.7460..1.7540 in"),
    ("block.bore", "bore", "3.900..4.060 in"),
    ("crankshaft.stroke", "stroke", "3.200..3.900 in"),
    ("head.chamber_volume", "chamber", "54..80 cc"),
    ("head_gasket.thickness", "gasket", "0.020..0.060 in"),
    ("head_gasket.bore", "gasket_bore", "3.950..4.150 in"),
    ("piston.deck_clearance", "deck", "-0.010..0.040 in"),
    ("piston.crown_volume", "crown", "-6..20 cc"),
    ("engine.greatest_speed", "speed", "4500..7500 rpm"),
]

# Derived quantities: name, kind, plausible range, expression.
DERIVED = [
    ("valve_lift", "length", "", "cam.lobe_lift * rocker.ratio"),
    ("open_height", "length", "", "spring.installed_height - valve_lift"),
    ("open_load", "force", "", "spring.seat_load + spring.rate * valve_lift"),
    ("stem_clearance", "length", "", "guide.bore - valve.stem_diameter"),
    ("quench", "length", "", "head_gasket.thickness + piston.deck_clearance"),
    ("swept", "volume", "", "pi / 4 * block.bore ** 2 * crankshaft.stroke"),
    (
        "clearance",
        "volume",
        "20..600 cc",
        "head.chamber_volume + piston.crown_volume + pi / 4 * (head_gasket.bore ** 2"
        " * head_gasket.thickness + block.bore ** 2 * piston.deck_clearance)",
    ),
    ("compression", "number", "", "1 + swept / clearance"),
    ("piston_speed", "speed", "", "2 * crankshaft.stroke * engine.greatest_speed"),
]

LIMITS = {
    "bind_least": "0.060 in",
    "seal_least": "0.050 in",
    "open_least": "250 lbf",
    "pocket_least": "0.010 in",
    "boss_least": "0.020 in",
    "step_most": "0.015 in",
    "stem_least": "0.0010 in",
    "stem_most": "0.0030 in",
    "angle_most": "1 deg",
    "width_least": "0.040 in",
    "width_most": "0.080 in",
    "throat_least": "85 %",
    "throat_most": "91 %",
    "rim_least": "0.040 in",
    "press_least": "0.003 in",
    "press_most": "0.007 in",
    "lift_most": "0.30",
    "compression_least": "9",
    "compression_most": "11",
    "quench_least": "0.035 in",
    "quench_most": "0.060 in",
    "gasket_least": "0.030 in",
    "speed_most": "4000 ft/min",
}

FITCHECK = {
    "coil_bind": "open_height - spring.coil_bind_height >= bind_least",
    "retainer_on_seal": "retainer.gap_to_seal - valve_lift >= seal_least",
    "weak_open": "open_load >= open_least",
    "lifter_overloaded": "open_load <= lifter.greatest_open_load",
    "pocket_tight": "head.spring_seat_diameter - spring.outside_diameter >= pocket_least",
    "boss_tight": "spring.inside_diameter - head.guide_boss_diameter >= boss_least",
    "step_loose": "spring.inside_diameter - retainer.outer_step_diameter <= step_most",
    "stem_tight": "stem_clearance >= stem_least",
    "stem_loose": "stem_clearance <= stem_most",
    "angles_apart": "abs(seat.angle - valve.face_angle) <= angle_most",
    "seat_width": "width_least <= seat.width <= width_most",
    "throat": "throat_least <= seat.throat / valve.head_diameter <= throat_most",
    "thin_margin": "valve.margin >= rim_least",
    "insert_press": "press_least <= seat.insert_outside_diameter - head.seat_counterbore <= press_most",
    "lift_over_diameter": "valve_lift / valve.head_diameter <= lift_most",
    "compression_low": "compression >= compression_least",
    "compression_high": "compression <= compression_most",
    "quench": "quench_least <= quench <= quench_most",
    "gasket_over_bore": "head_gasket.bore - block.bore >= gasket_least",
    "piston_fast": "piston_speed <= speed_most",
}

# What several rules share: name, lower end, upper end; `x_lo` and `x_hi` are the ends of figures.
SHARED = [
    ("lift", "lobe_lo * ratio_lo", "lobe_hi * ratio_hi"),
    ("open", "seat_load_lo + rate_lo * lift_lo", "seat_load_hi + rate_hi * lift_hi"),
    ("play", "guide_lo - stem_hi", "guide_hi - stem_lo"),
    ("apart", "seat_angle_lo - face_angle_hi", "seat_angle_hi - face_angle_lo"),
    ("narrow", "throat_lo / head_hi", "throat_hi / head_lo"),
    ("press", "insert_lo - counterbore_hi", "insert_hi - counterbore_lo"),
    ("gap", "gasket_lo + deck_lo", "gasket_hi + deck_hi"),
    ("area", "QUARTER_PI * bore_lo * bore_lo", "QUARTER_PI * bore_hi * bore_hi"),
    (
        "left",
        "max(chamber_lo + crown_lo + QUARTER_PI * gasket_bore_lo * gasket_bore_lo * gasket_lo"
        " + min(area_lo * deck_lo, area_hi * deck_lo), LEFT_LEAST)",
        "min(chamber_hi + crown_hi + QUARTER_PI * gasket_bore_hi * gasket_bore_hi * gasket_hi"
        " + max(area_lo * deck_hi, area_hi * deck_hi), LEFT_MOST)",
    ),
    ("squeeze", "1.0 + area_lo * stroke_lo / left_hi", "1.0 + area_hi * stroke_hi / left_lo"),
]

CONSTANTS = {"QUARTER_PI": math.pi / 4, "LEFT_LEAST": 20_000.0, "LEFT_MOST": 600_000.0}

LEAST, MOST = "least", "most"

# What each rule demands: that the figure between a lower and an upper end is at least, or at most,
# a limit. A minus before a limit turns it round.
DEMANDS = {
    "coil_bind": [
        (LEAST, "fitted_lo - lift_hi - bind_hi", "fitted_hi - lift_lo - bind_lo", "bind_least")
    ],
    "retainer_on_seal": [(LEAST, "seal_gap_lo - lift_hi", "seal_gap_hi - lift_lo", "seal_least")],
    "weak_open": [(LEAST, "open_lo", "open_hi", "open_least")],
    "lifter_overloaded": [(LEAST, "lifter_load_lo - open_hi", "lifter_load_hi - open_lo", "")],
    "pocket_tight": [
        (LEAST, "pocket_lo - spring_od_hi", "pocket_hi - spring_od_lo", "pocket_least")
    ],
    "boss_tight": [(LEAST, "spring_id_lo - boss_hi", "spring_id_hi - boss_lo", "boss_least")],
    "step_loose": [(MOST, "spring_id_lo - step_hi", "spring_id_hi - step_lo", "step_most")],
    "stem_tight": [(LEAST, "play_lo", "play_hi", "stem_least")],
    "stem_loose": [(MOST, "play_lo", "play_hi", "stem_most")],
    "angles_apart": [
        (LEAST, "apart_lo", "apart_hi", "-angle_most"),
        (MOST, "apart_lo", "apart_hi", "angle_most"),
    ],
    "seat_width": [
        (LEAST, "width_lo", "width_hi", "width_least"),
        (MOST, "width_lo", "width_hi", "width_most"),
    ],
    "throat": [
        (LEAST, "narrow_lo", "narrow_hi", "throat_least"),
        (MOST, "narrow_lo", "narrow_hi", "throat_most"),
    ],
    "thin_margin": [(LEAST, "rim_lo", "rim_hi", "rim_least")],
    "insert_press": [
        (LEAST, "press_lo", "press_hi", "press_least"),
        (MOST, "press_lo", "press_hi", "press_most"),
    ],
    "lift_over_diameter": [(MOST, "lift_lo / head_hi", "lift_hi / head_lo", "lift_most")],
    "compression_low": [(LEAST, "squeeze_lo", "squeeze_hi", "compression_least")],
    "compression_high": [(MOST, "squeeze_lo", "squeeze_hi", "compression_most")],
    "quench": [
        (LEAST, "gap_lo", "gap_hi", "quench_least"),
        (MOST, "gap_lo", "gap_hi", "quench_most"),
    ],
    "gasket_over_bore": [
        (LEAST, "gasket_bore_lo - bore_hi", "gasket_bore_hi - bore_lo", "gasket_least")
    ],
    "piston_fast": [
        (MOST, "2.0 * stroke_lo * speed_lo", "2.0 * stroke_hi * speed_hi", "speed_most")
    ],
}
