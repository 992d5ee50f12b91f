"""The invented engines hang together: each figure that follows from others does, by hand.

Schoolbook arithmetic in inches, pounds-force and cubic centimetres; none of the project's own
calculations are used. Spring rate: k = G d^4 / (8 D^3 N), G 11.2 Mpsi (Machinery's Handbook).
"""

from __future__ import annotations

from functools import cache
from math import cos, pi, radians
from pathlib import Path
from typing import Any

import pytest
import yaml
from pytest import approx

from tests.engines.judging import engines

PER_UNIT = {"mm": 1 / 25.4, "N": 1 / 4.4482216, "N/mm": 25.4 / 4.4482216, "cm2": 1 / 6.4516}
CC = 16.387064  # in a cubic inch
THOU = 0.001


class Engine:
    """The figures of an engine file as plain numbers."""

    def __init__(self, path: Path) -> None:
        file = yaml.load(path.read_text("utf-8"), Loader=yaml.BaseLoader)
        self.cylinders = int(file["cylinders"])
        self.figures: dict[str, Any] = {}
        parts = dict(file["parts"])
        parts |= parts["head"].pop("contains", {})
        for slot, part in parts.items():
            for evidence in ("claimed", "measured") if isinstance(part, dict) else ():
                said = part.get(evidence, [])
                for block in said if isinstance(said, list) else [said]:
                    self.figures |= {f"{slot}.{name}": value for name, value in block.items()}

    def __contains__(self, name: str) -> bool:
        return name in self.figures

    def __call__(self, name: str, side: str = "") -> float:
        value = self.figures.get(name, "0")
        if isinstance(value, dict):
            value = value.get(side) or value["all"]
        number, _, unit = value.partition(" ")
        return float(number) * PER_UNIT.get(unit, 1)

    def word(self, name: str) -> str:
        """An option."""
        return str(self.figures[name])


@cache
def _read(path: Path) -> Engine:
    return Engine(path)


@pytest.fixture(params=engines("healthy"), ids=lambda path: path.stem)
def engine(request: pytest.FixtureRequest) -> Engine:
    return _read(request.param)


def lift(engine: Engine, side: str) -> float:
    return engine("cam.lobe_lift", side) * engine("rocker.ratio") - engine("lifter.lash", side)


def test_bottom_end_and_compression(engine: Engine) -> None:
    e = engine
    deck = (
        e("block.deck_height")
        - e("crankshaft.stroke") / 2
        - e("rod.length")
        - e("piston.compression_height")
    )
    assert e("piston.deck_clearance") == approx(deck, abs=3 * THOU)
    area = pi / 4 * e("block.bore") ** 2
    swept = area * e("crankshaft.stroke") * CC
    metric = e.word("engine.displacement").endswith("cc")
    assert e("engine.displacement") * (1 if metric else CC) == approx(e.cylinders * swept, rel=0.01)
    gasket = pi / 4 * e("head_gasket.bore") ** 2 * e("head_gasket.thickness") * CC
    above = e("head.chamber_volume") + gasket + area * e("piston.deck_clearance") * CC
    above += e("piston.crown_volume")
    assert e("engine.compression") == approx(1 + swept / above, abs=0.11)
    if "piston.quench" in e:
        flat = e("piston.deck_clearance") + e("head_gasket.thickness")
        assert e("piston.quench") == approx(flat, abs=2 * THOU)


@pytest.mark.parametrize("side", ["intake", "exhaust"])
def test_cam_and_springs(engine: Engine, side: str) -> None:
    e = engine
    assert e("cam.rated_valve_lift", side) == approx(
        e("cam.lobe_lift", side) * e("cam.rated_ratio"), abs=2 * THOU
    )
    both = e("cam.duration_advertised", "intake") + e("cam.duration_advertised", "exhaust")
    assert e("cam.overlap") == approx(both / 2 - 2 * e("cam.lobe_separation"), abs=0.6)
    rate, seat = e("spring.rate"), e("spring.seat_load")
    assert e("spring.open_load", side) == approx(seat + rate * lift(e, side), abs=2.5)
    fallen = e("spring.load_1_height") - e("spring.load_2_height")
    assert e("spring.load_2") == approx(e("spring.load_1") + rate * fallen, abs=2.5)
    free = e("spring.installed_height") + seat / rate
    assert e("spring.free_length") == approx(free, abs=0.012)
    assert e("spring.installed_height") - lift(e, side) > e("spring.coil_bind_height")


def test_wire_makes_the_rate(engine: Engine) -> None:
    e = engine
    wire = e("spring.wire_diameter")
    mean = (e("spring.outside_diameter") + e("spring.top_outside_diameter")) / 2 - wire
    rate = 11.2e6 * wire**4 / (8 * mean**3 * e("spring.active_coils"))
    if "spring.inner_wire_diameter" in e:
        inner = e("spring.inner_wire_diameter")
        across = e("spring.inside_diameter") + inner
        rate += 11.2e6 * inner**4 / (8 * across**3 * e("spring.inner_active_coils"))
    assert e("spring.rate") == approx(rate, rel=0.03)
    solid = (e("spring.active_coils") + 2) * wire
    assert e("spring.coil_bind_height") >= solid - 0.010


@pytest.mark.parametrize("side", ["intake", "exhaust"])
def test_stack_on_the_head(engine: Engine, side: str) -> None:
    e = engine
    under = e("locator.thickness") + e("shim.thickness")
    height = e("head.stem_tip_height") - e("valve.tip_length") - e("retainer.step_below_groove")
    height += e("locks.offset") - under
    assert e("spring.installed_height") == approx(height, abs=3 * THOU)
    gap = e("spring.installed_height") + under - e("retainer.underside_drop")
    gap -= e("guide.protrusion") + e("seal.height")
    assert e("retainer.gap_to_seal") == approx(gap, abs=3 * THOU)
    assert e("guide.clearance", side) == approx(
        e("guide.bore", side) - e("valve.stem_diameter", side), abs=0.00011
    )
    seat = e("seat.uncovered_outside") + e("seat.width", side) + e("seat.uncovered_inside", side)
    assert e("valve.face_width", side) == approx(seat, abs=3 * THOU)
    edge = 2 * e("seat.uncovered_outside") * cos(radians(e("valve.face_angle", side)))
    assert e("seat.outside_diameter", side) == approx(
        e("valve.head_diameter", side) - edge, abs=3 * THOU
    )
    heads = e("valve.head_diameter", "intake") + e("valve.head_diameter", "exhaust")
    assert e("head.valve_to_valve") == approx(e("head.valve_spacing") - heads / 2, abs=3 * THOU)


def test_bolts_reach(engine: Engine) -> None:
    e = engine
    grip = e("head.bolt_grip") + e("head_fasteners.washer_thickness") + e("head_gasket.thickness")
    start, engaged = e("block.head_bolt_thread_start"), e("head_fasteners.engagement")
    assert e("block.head_bolt_thread_depth") >= start + engaged
    if e.word("head_fasteners.type") == "bolts":
        assert e("head_fasteners.length") == approx(grip + start + engaged, abs=3 * THOU)
        left = e("block.head_bolt_thread_depth") - start - engaged
        assert e("head_fasteners.bottom_gap") == approx(left, abs=3 * THOU)
