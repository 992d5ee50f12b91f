"""Clearances against dense sweeps, exactly known lobes and drawn geometry."""

from math import cos, hypot, radians, sin

import numpy as np
import pytest

from fitcheck.calculations.crank import piston_position
from fitcheck.calculations.lift_curve import LiftCurve
from fitcheck.calculations.piston_to_valve import (
    ValveAndPiston,
    least_piston_to_valve,
    pocket_radial_clearance,
    valve_to_bore,
)
from tests.calculations.lobes import BEVAN, LAW_LOBES, duration, law_lobe, quick_flank


def swept(stroke, rod, curve, ratio, lash, centreline, at_tdc, tilt):
    """The definition, in columns, over the open valve in steps of 0.02 degrees."""
    crank = np.radians(np.arange(-350, 350.01, 0.02))
    throw = stroke / 2
    below = throw * (1 - np.cos(crank)) + rod - np.sqrt(rod**2 - (throw * np.sin(crank)) ** 2)
    lobe = np.array([curve.lift(a) for a in np.degrees(crank) - centreline])
    clear = at_tdc + below * cos(radians(tilt)) - np.maximum(0, ratio * lobe - lash)
    at = int(clear.argmin())
    return clear[at], np.degrees(crank[at])


def _cards(count):
    random = np.random.default_rng(11)
    for _ in range(count):
        stroke = random.uniform(40, 120)
        duration = random.uniform(170, 290)
        yield {
            "stroke": stroke,
            "rod_length": stroke * random.uniform(1.4, 2.1),
            "lobe_lift": random.uniform(4, 11),
            "rocker_ratio": random.uniform(1, 1.9),
            "lash": random.choice([0, 0.3, 0.6]),
            "duration": duration,
            "duration_lift": random.choice([1.0, 1.27]),
            "advertised_duration": duration + random.uniform(20, 70),
            "advertised_lift": random.choice([0.15, 0.5]),
            "centreline": random.uniform(95, 120),
            "clearance_at_tdc": random.uniform(0, 12),
            "valve_angle": random.uniform(0, 25),
        }


@pytest.mark.parametrize("card", list(_cards(25)), ids=lambda card: f"{card['stroke']:.0f}mm")
def test_least_clearance_against_a_dense_sweep(card):
    curve = LiftCurve.from_timing(
        card["lobe_lift"],
        [
            (card["duration"], card["duration_lift"]),
            (card["advertised_duration"], card["advertised_lift"]),
        ],
    )
    for side in (1, -1):  # intake, and exhaust as its mirror image
        where = (
            card["stroke"],
            card["rod_length"],
            curve,
            card["rocker_ratio"],
            card["lash"],
            side * card["centreline"],
            card["clearance_at_tdc"],
            card["valve_angle"],
        )
        least, angle = swept(*where)
        assert least_piston_to_valve(**card) == pytest.approx(least, abs=5e-4)
        valve = ValveAndPiston(curve, where[5], *where[:2], where[6], where[3], where[4], where[7])
        found, at = valve.least()
        assert found == pytest.approx(least, abs=5e-4)
        assert at == pytest.approx(angle, abs=0.3)
        assert 0 <= min(map(valve.clearance, range(-360, 361))) - found < 0.05


def test_the_least_clearance_lies_near_overlap_not_at_full_lift():
    curve = LiftCurve.from_timing(8.0, [(224, 1.27), (280, 0.15)])
    intake = ValveAndPiston(curve, 106, 88.4, 144.8, 5.5, 1.5)
    least, angle = intake.least()
    assert 0 < angle < 20
    assert intake.valve_lift(angle) < 0.4 * intake.valve_lift(106)
    assert intake.clearance(106) > least + 20
    exhaust = ValveAndPiston(curve, -106, 88.4, 144.8, 5.5, 1.5)
    assert exhaust.least() == pytest.approx((least, -angle))


def test_a_valve_that_shuts_before_top_dead_centre_is_nearest_there():
    curve = LiftCurve.from_timing(5.0, [(120, 1.27), (160, 0.15)])
    assert ValveAndPiston(curve, 110, 60, 110, 2.0).least() == (2.0, 0.0)
    assert least_piston_to_valve(60, 110, 5, 1, 0, 120, 1.27, 160, 0.15, 110, 2.0, 0) == 2.0


def _exact_and_estimate(curve, lift, centreline):
    exact = ValveAndPiston(curve, centreline, 88.4, 144.8, 5.5, 1.5).least()[0]
    estimate = least_piston_to_valve(
        88.4,
        144.8,
        lift,
        1.5,
        0,
        duration(curve, 1.27),
        1.27,
        duration(curve, 0.15),
        0.15,
        centreline,
        5.5,
        0,
    )
    return exact, estimate


@pytest.mark.parametrize("key", LAW_LOBES, ids=str)
def test_the_estimate_is_as_near_as_its_docstring_says(key):
    for centreline in (100, 106, 112):
        exact, estimate = _exact_and_estimate(LAW_LOBES[key], key[1], centreline)
        assert exact - 0.6 < estimate < exact + 0.05


def test_the_estimate_on_quick_flanks_and_arcs():
    for curve, lift in ((law_lobe(quick_flank(0.25), 8, 70), 8), (BEVAN, 12.7)):
        for centreline in (100, 106, 112):
            exact, estimate = _exact_and_estimate(curve, lift, centreline)
            assert exact - 0.15 < estimate < exact + 0.65


def test_radial_clearance_by_drawing_pocket_and_head():
    """Valve upright on paper, piston dropping along the tilted bore; least edge distance."""
    pocket, head, offset, drop, tilt = 54.0, 51.3, 0.3, 2.0, 18.0
    centre = offset + drop * sin(radians(tilt))
    around = np.radians(np.arange(0, 360, 0.01))
    edge = np.hypot(centre + head / 2 * np.cos(around), head / 2 * np.sin(around))
    assert pocket_radial_clearance(pocket, head, offset, drop, tilt) == pytest.approx(
        pocket / 2 - edge.max()
    )


def test_valve_to_bore_by_drawing_the_head_in_space():
    """Rim of the tilted head, point by point, against the cylinder. Offset outward, large."""
    bore, head, offset, lift, tilt = 101.6, 51.3, 22.5, 12.0, 9.0
    around = np.radians(np.arange(0, 360, 0.01))
    across = offset + lift * sin(radians(tilt)) + head / 2 * np.cos(around) * cos(radians(tilt))
    along = head / 2 * np.sin(around)
    nearest = bore / 2 - np.hypot(across, along).max()
    assert valve_to_bore(bore, head, offset, lift, tilt) == pytest.approx(nearest, abs=1e-6)


def test_the_swept_reference_is_the_crank_motion():
    assert hypot(0, piston_position(88.4, 144.8, 30)) == pytest.approx(
        44.2 * (1 - cos(radians(30))) + 144.8 - (144.8**2 - 22.1**2) ** 0.5
    )
