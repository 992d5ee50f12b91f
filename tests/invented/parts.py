"""An invented catalog, any size, the same for the same seed: no such part, maker or price exists.

Figures of one part agree with each other as physics has it: a spring's rate follows from wire,
coils and diameter, its loads from rate and heights, its solid height from wire and coils, and its
wire stands it; masses follow from volumes; a cam's rated lift from lobe and ratio. Figures of
parts that meet come in the same few series, as parts of a trade do. The lists that travel with fitcheck
are made by `python -m tests.invented.parts catalog_demo/parts`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import isnan
from pathlib import Path

import numpy as np

from fitcheck.source.table import table_text
from tests.invented.springs import STEEL, Drawing, Table, Values, springs

STEMS = np.array([0.3105, 0.3135, 0.3415, 0.3715])
DENSITIES = {"steel": 7.85, "tool_steel": 7.80, "titanium": 4.43, "aluminium": 2.80}
VALVE_DENSITIES = {
    "carbon_steel": 7.85,
    "silicon_chromium_steel": 7.70,
    "austenitic_steel": 7.80,
    "nickel_alloy": 8.20,
    "titanium": 4.45,
}


def _retainers(draw: Drawing) -> Table:
    outside = draw.pick([1.250, 1.290, 1.430, 1.500])
    double = draw.random.random(draw.count) < 0.4
    step = outside - 2 * (0.105 + 0.055 * outside) - draw.within(-0.01, 0.02, 0.005)
    material = draw.pick(["steel", "tool_steel", "titanium", "aluminium"], [0.55, 0.2, 0.2, 0.05])
    density = np.vectorize(DENSITIES.get)(material) * 2.54**3
    mass = density * np.pi / 4 * outside**2 * draw.within(0.10, 0.14, 0.01)
    dear = np.vectorize({"steel": 1.0, "tool_steel": 2.2, "titanium": 4.5, "aluminium": 1.8}.get)
    return {
        "outer_step_diameter [in]": step,
        "inner_step_diameter [in]": np.where(double, step - draw.within(0.28, 0.34, 0.005), np.nan),
        "outside_diameter [in]": outside - draw.within(0.0, 0.04, 0.005),
        "lock_angle [deg]": draw.pick([7.0, 8.0, 10.0], [0.55, 0.1, 0.35]),
        "underside_drop [in]": draw.within(0.06, 0.18, 0.005),
        "material": material,
        "mass [g]": mass,
        "price [EUR]": draw.prices(2.0 * dear(material)),
    }


def _locks(draw: Drawing) -> Table:
    machined = draw.random.random(draw.count) < 0.6
    stem = draw.pick(STEMS)
    return {
        "angle [deg]": draw.pick([7.0, 8.0, 10.0], [0.55, 0.1, 0.35]),
        "stem_diameter [in]": stem,
        "groove": draw.pick(["single_square", "single_round", "multiple_round"], [0.7, 0.2, 0.1]),
        "offset [in]": draw.pick([-0.050, 0.0, 0.0, 0.0, 0.050]),
        "halves_gap [in]": draw.within(0.005, 0.06, 0.005),
        "cap_recess": draw.pick(["no", "yes"], [0.8, 0.2]),
        "make": np.where(machined, "machined", "stamped"),
        "mass [g]": 4.0 * (stem / 0.34) ** 2 * draw.within(0.9, 1.2, 0.05),
        "price [EUR]": draw.prices(0.6 + 1.3 * machined),
    }


def _valves(draw: Drawing) -> Table:
    exhaust = draw.random.random(draw.count) < 0.5
    head = np.where(exhaust, draw.pick([1.50, 1.60, 1.625]), draw.pick([1.94, 2.00, 2.02, 2.08]))
    stem, length = (
        draw.pick(STEMS),
        draw.pick([4.87, 4.91, 5.01, 5.22]) + draw.within(0, 0.02, 0.01),
    )
    hot = draw.pick(["austenitic_steel", "nickel_alloy"], [0.9, 0.1])
    cool = draw.pick(["silicon_chromium_steel", "austenitic_steel", "titanium"], [0.5, 0.42, 0.08])
    material = np.where(exhaust, hot, cool)
    density = np.vectorize(VALVE_DENSITIES.get)(material) * 2.54**3
    # A stem and a head that is a disc with a fillet.
    volume = np.pi / 4 * (stem**2 * (length - 0.3) + head**2 * 0.12 + 0.25 * head**2 * 0.2)
    dear = np.vectorize(
        {
            "silicon_chromium_steel": 1.0,
            "austenitic_steel": 1.3,
            "nickel_alloy": 3.0,
            "titanium": 6.0,
        }.get
    )
    return {
        "head_diameter [in]": head,
        "stem_diameter [in]": stem,
        "length [in]": length,
        "tip_length [in]": draw.pick([0.250, 0.250, 0.290]),
        "face_angle [deg]": np.full(draw.count, 45.0),
        "margin [in]": draw.within(0.04, 0.09, 0.005),
        "stem": np.full(draw.count, "solid"),
        "material": material,
        "stem_plated": np.where(material == "austenitic_steel", "yes", "no"),
        "groove": draw.pick(["single_square", "single_round", "multiple_round"], [0.7, 0.2, 0.1]),
        "mass [g]": density * volume,
        "price [EUR]": draw.prices(11.0 * dear(material)),
    }


def _seals(draw: Drawing) -> Table:
    kind = draw.pick(["positive", "umbrella", "o_ring"], [0.7, 0.2, 0.1])
    boss = draw.pick([0.500, 0.530, 0.562])
    return {
        "type": kind,
        "stem_diameter [in]": np.round(draw.pick(STEMS), 3),
        "boss_diameter [in]": np.where(kind == "positive", boss, np.nan),
        "height [in]": draw.within(0.28, 0.50, 0.01),
        "outside_diameter [in]": boss + draw.within(0.06, 0.16, 0.01),
        "material": draw.pick(["nitrile", "polyacrylate", "fluoroelastomer", "ptfe"]),
        "price [EUR]": draw.prices(1.4),
    }


def _guides(draw: Drawing) -> Table:
    material = draw.pick(
        ["cast_iron", "phosphor_bronze", "silicon_aluminium_bronze", "powder_metal"]
    )
    return {
        "construction": np.full(draw.count, "pressed_in"),
        "material": material,
        "bore [in]": draw.pick(STEMS) + draw.within(0.0010, 0.0032, 0.0002),
        "outside_diameter [in]": draw.pick([0.502, 0.5015, 0.563]),
        "top_diameter [in]": draw.pick([0.500, 0.530, 0.562]),
        "length [in]": draw.within(1.9, 2.4, 0.05),
        "price [EUR]": draw.prices(np.where(material == "cast_iron", 3.0, 7.0)),
    }


def _rockers(draw: Drawing) -> Table:
    strong = draw.random.random(draw.count) < 0.55
    return {
        "ratio": draw.pick([1.50, 1.52, 1.60, 1.65, 1.70]),
        "mounting": draw.pick(["stud", "shaft", "pedestal"], [0.6, 0.25, 0.15]),
        "material": np.where(strong, draw.pick(["aluminium", "forged_steel"]), "stamped_steel"),
        "adjustable": draw.pick(["yes", "no"], [0.8, 0.2]),
        "self_guiding": draw.pick(["yes", "no"], [0.35, 0.65]),
        "rated_lift [in]": draw.within(0.48, 0.72, 0.01) + 0.05 * strong,
        "rated_open_load [lbf]": draw.within(280, 380, 10) + 200 * strong,
        "pushrod_end": draw.pick(["ball", "cup"], [0.85, 0.15]),
        "pushrod_ball [in]": draw.pick([0.3125, 0.2500], [0.9, 0.1]),
        "oil_routes": draw.pick(["through_pushrod", "through_pushrod, splash", "through_shaft"]),
        "price [EUR]": draw.prices(6.0 + 16.0 * strong),
    }


def _pushrods(draw: Drawing) -> Table:
    diameter = draw.pick([0.3125, 0.3125, 0.3750])
    wall, length = draw.pick([0.080, 0.105, 0.120]), draw.within(7.2, 9.6, 0.05)
    mass = STEEL * np.pi * (diameter - wall) * wall * length
    return {
        "length [in]": length,
        "diameter [in]": diameter,
        "wall [in]": wall,
        "hardened": draw.pick(["yes", "no"], [0.7, 0.3]),
        "oil_passage": draw.pick(["yes", "no"], [0.85, 0.15]),
        "lifter_end": np.full(draw.count, "ball"),
        "lifter_ball [in]": np.full(draw.count, 0.3125),
        "rocker_end": draw.pick(["ball", "cup"], [0.85, 0.15]),
        "rocker_ball [in]": draw.pick([0.3125, 0.2500], [0.9, 0.1]),
        "mass [g]": mass,
        "price [EUR]": draw.prices(4.0 + 30 * wall),
    }


def _lifters(draw: Drawing) -> Table:
    kind = draw.pick(
        ["hydraulic_flat", "solid_flat", "hydraulic_roller", "solid_roller"], [0.4, 0.2, 0.25, 0.15]
    )
    roller, hydraulic = np.char.endswith(kind, "roller"), np.char.startswith(kind, "hydraulic")
    return {
        "type": kind,
        "diameter [in]": draw.pick([0.8425, 0.8425, 0.8750, 0.9035]),
        "crowned": np.where(roller, "", "yes"),
        "alignment": np.where(roller, draw.pick(["guide_bars", "tie_bars"]), "none"),
        "cup": np.full(draw.count, "ball"),
        "cup_ball [in]": np.full(draw.count, 0.3125),
        "oils_pushrod": draw.pick(["yes", "no"], [0.85, 0.15]),
        "travel [in]": np.where(hydraulic, draw.within(0.10, 0.18, 0.01), np.nan),
        "greatest_open_load [lbf]": draw.within(270, 360, 10) + np.where(roller, 180, 0),
        "mass [g]": draw.within(88, 108, 1) + np.where(roller, 45, 0),
        "price [EUR]": draw.prices(6.0 + 4.0 * hydraulic + 24.0 * roller),
    }


def _cams(draw: Drawing) -> Table:
    roller = draw.random.random(draw.count) < 0.4
    solid = draw.random.random(draw.count) < 0.35
    at_050 = draw.within(194, 252, 2)
    lobe = np.clip(draw.near(0.250 + 0.0014 * (at_050 - 194) + 0.03 * roller, 0.008), 0.23, 0.42)
    lobe = np.round(lobe, 3)
    ratio = draw.pick([1.50, 1.60, 1.70])
    lash = np.where(solid, draw.within(0.012, 0.022, 0.002), np.nan)
    core = np.where(roller, draw.pick(["billet_steel", "ductile_iron"]), "cast_iron")
    top = np.round((4200 + 45 * (at_050 - 194)) / 100) * 100
    return {
        "lobe_type": np.where(roller, "roller", "flat"),
        "tapered": np.where(roller, "no", "yes"),
        "lash_type": np.where(solid, "solid", "hydraulic"),
        "core_material": core,
        "is_new": np.full(draw.count, "yes"),
        "lobe_lift [in]": lobe,
        "rated_valve_lift [in]": lobe * ratio,
        "rated_ratio": ratio,
        "duration_advertised [deg]": at_050 + draw.within(46, 62, 2),
        "advertised_at [in]": np.full(draw.count, 0.006),
        "duration_at_050 [deg]": at_050,
        "lobe_separation [deg]": draw.within(106, 114, 1),
        "lash [in]": lash,
        "greatest_open_load [lbf]": draw.within(300, 360, 10) + np.where(roller, 200, 0),
        "speed_from [rpm]": top - 3800,
        "speed_to [rpm]": top,
        "journals": draw.pick([4, 5, 5, 5]),
        "firing_order": draw.pick(
            ["order_1_8_4_3_6_5_7_2", "order_1_5_3_6_2_4", "order_1_3_4_2"], [0.6, 0.25, 0.15]
        ),
        "rotation": np.full(draw.count, "clockwise"),
        "price [EUR]": draw.prices(150 + 140 * roller),
    }


MAKERS: Mapping[str, Callable[[Drawing], Table]] = {
    "cam": _cams,
    "lifter": _lifters,
    "pushrod": _pushrods,
    "rocker": _rockers,
    "valve": _valves,
    "guide": _guides,
    "seal": _seals,
    "spring": springs,
    "retainer": _retainers,
    "locks": _locks,
}
# Digits as lists print them; three where nothing else is said.
DIGITS = {"lbf": 0, "lbf/in": 0, "rpm": 0, "deg": 1, "g": 1, "ksi": 0}
_FINE = {
    "stem_diameter [in]",
    "bore [in]",
    "diameter [in]",
    "outside_diameter [in]",
    "cup_ball [in]",
    "pushrod_ball [in]",
    "lifter_ball [in]",
    "rocker_ball [in]",
}
_OTHER = {
    "ratio": 2,
    "rated_ratio": 2,
    "active_coils": 1,
    "inner_active_coils": 1,
    "price [EUR]": 2,
}


def demo_parts(slot: str, count: int, seed: int = 1) -> Table:
    """A table of invented parts of one class: a column a header, NaN or empty for what is not told.

    Raises KeyError for a class that the demo has no parts of.
    """
    draw = Drawing(seed, slot, count)
    table = MAKERS[slot](draw)
    items = np.char.add(f"{slot[:2].upper()}-", np.arange(1, count + 1).astype(str))
    stock = np.maximum(0, draw.random.integers(-2, 25, count))
    return {"class": np.full(count, slot), "item": items, "stock": stock, **table}


def texts(table: Table) -> dict[str, list[str]]:
    """The cells of a table as a list prints them."""
    return {header: _texts(header, values) for header, values in table.items()}


def _texts(header: str, values: Values) -> list[str]:
    if values.dtype.kind != "f":
        return [str(value) for value in values.tolist()]
    unit = header.partition("[")[2].rstrip("]")
    digits = 4 if header in _FINE else _OTHER.get(header, DIGITS.get(unit, 3))
    known: dict[float, str] = {}
    found = []
    for value in values.tolist():
        text = known.get(value)
        if text is None:
            text = known[value] = "" if isnan(value) else f"{value:.{digits}f}"
        found.append(text)
    return found


def write_demo(folder: Path, count: int, seed: int = 1) -> list[Path]:
    """One CSV a class; the files written."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for slot in MAKERS:
        columns = texts(demo_parts(slot, count, seed))
        path = folder / f"{slot}.csv"
        rows = zip(*columns.values(), strict=True)
        path.write_text(table_text([[*columns], *rows], line_end="\n"), "utf-8", newline="\n")
        written.append(path)
    return written


if __name__ == "__main__":
    import sys

    write_demo(Path(sys.argv[1]), 200)
