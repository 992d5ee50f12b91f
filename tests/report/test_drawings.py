"""Drawings are to scale: lengths are read back from the SVG and held against the build's figures.

The expected lengths are worked from the build file by hand: an inch is 25.4 mm, lift is lobe lift
times ratio, and a gap what is left. A drawing that lacks its figures says so and draws no line.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from fitcheck.check import check_build, read_build
from fitcheck.check.room import past
from fitcheck.model import Position
from fitcheck.report.answers import worst_place
from fitcheck.report.drawings import DRAWINGS
from fitcheck.report.drawings.making import drawing
from fitcheck.report.drawings.margins import MOST_TIGHT, ranked
from fitcheck.report.drawings.numbers import Numbers
from fitcheck.report.drawings.svg import WIDTH
from fitcheck.report.story import by_rule
from tests.builds import random_builds

SVG = "{http://www.w3.org/2000/svg}"
INCH = 25.4
STACK = """
build: a stack
cylinders: "1"
parts:
  cam: {measured: {by: me, lobe_lift: 0.3000 in}}
  rocker: {measured: {by: me, ratio: "1.500"}}
  lifter: {claimed: {type: hydraulic_flat}}
  spring:
    measured: {by: me, installed_height: 1.7000 in, coil_bind_height: 1.1900 in,
      outside_diameter: 1.250 in, wire_diameter: 0.1800 in, active_coils: "4.5"}
  retainer: {measured: {by: me, underside_drop: 0.200 in}}
  guide: {measured: {by: me, protrusion: 0.600 in}}
  seal: {measured: {by: me, height: 0.250 in}}
  shim: none
  locator: none
  valve: {measured: {by: me, stem_diameter: 0.3410 in}}
"""
BORE = """
build: a bore
cylinders: "1"
parts:
  block: {measured: {by: me, bore: 4.0000 in}}
  head_gasket: {measured: {by: me, bore: 4.100 in}}
  head:
    measured: {by: me, chamber_reach: 1.900..2.200 in, valve_spacing: 1.900 in,
      valve_from_bore_centre: {intake: 0.950 in, exhaust: 1.050 in}}
  valve: {measured: {by: me, head_diameter: {intake: 2.020 in, exhaust: 1.600 in}}}
"""
VALVE = Position(None, 1, "intake")
CYLINDER = Position(None, 1)


def drawn(name, text, knowledge, at, system="inch"):
    check = check_build(read_build("drawn.yaml", knowledge, text), knowledge)
    return ET.fromstring(drawing(name, Numbers(check, system), at).alone())


def of(svg, what):
    """The elements that stand for a figure."""
    return [node for node in svg.iter() if node.get("data-of") == what]


def length(svg, node):
    """A vertical or horizontal line's length in millimetres."""
    across = (float(node.get("x2")) - float(node.get("x1"))) ** 2
    down = (float(node.get("y2")) - float(node.get("y1"))) ** 2
    return (across + down) ** 0.5 / float(svg.get("data-scale"))


@pytest.mark.parametrize(
    ("figure", "inches"),
    [
        ("fitted_height", 1.700),
        ("open_height", 1.700 - 0.450),
        ("coil_bind_clearance", 1.250 - 1.190),
        ("retainer_gap", 1.700 - 0.200 - 0.600 - 0.250),
        ("retainer_clearance", 1.250 - 0.200 - 0.600 - 0.250),
    ],
)
def test_gaps_of_the_stack(figure, inches, knowledge):
    svg = drawn("stack", STACK, knowledge, VALVE)
    (line,) = of(svg, figure)
    # A coordinate is given to a hundredth of a unit, and a millimetre takes several.
    assert length(svg, line) == pytest.approx(inches * INCH, abs=0.01)


def test_parts_of_the_stack(knowledge):
    svg = drawn("stack", STACK, knowledge, VALVE)
    scale = float(svg.get("data-scale"))
    (stem,) = of(svg, "valve.stem_diameter")
    assert float(stem.get("width")) / scale == pytest.approx(0.341 * INCH, abs=0.01)
    wires = of(svg, "spring.wire_diameter")
    assert len(wires) == 2 * round(4.5 + 2)  # closed and open, with two dead coils
    for wire in wires:
        assert float(wire.get("ry")) * 2 / scale == pytest.approx(0.180 * INCH, abs=0.01)
    reach = [abs(float(wire.get("cx")) - WIDTH / 2) + float(wire.get("rx")) for wire in wires]
    assert max(reach) * 2 / scale == pytest.approx(1.250 * INCH, abs=0.05)


def test_the_tight_gap_is_marked(knowledge):
    """0.060 in is left to coil bind, just what is wanted; the seal has 0.2 in and wants 0.06."""
    svg = drawn("stack", STACK, knowledge, VALVE)
    (line,) = of(svg, "coil_bind_clearance")
    assert line.get("class") == "tight"
    tags = [node for node in svg.iter() if node.get("class") == "tag tag-tight"]
    assert len(tags) == 2  # and its key
    words = " ".join(node.text or "" for node in svg.iter(f"{SVG}text"))
    assert "the tight one" in words
    tight_seal = STACK.replace("height: 0.250 in", "height: 0.440 in")
    svg = drawn("stack", tight_seal, knowledge, VALVE)
    # What is tight and clashes is red, and nothing else is.
    assert of(svg, "retainer_clearance")[0].get("class") == "tight clashing"
    assert of(svg, "coil_bind_clearance")[0].get("class") == "measure"


def test_an_unknown_is_hatched_and_no_line(knowledge):
    known = drawn("stack", STACK, knowledge, VALVE)
    assert not [node for node in known.iter() if node.get("class") == "unknown"]
    text = STACK.replace(", coil_bind_height: 1.1900 in", "")
    svg = drawn("stack", text, knowledge, VALVE)
    assert {node.get("class") for node in of(svg, "bind_height")} == {"unknown"}
    assert not of(svg, "coil_bind_clearance")
    wide = STACK.replace("1.7000 in", "1.650..1.750 in")
    svg = drawn("stack", wide, knowledge, VALVE)
    (closed, opened) = of(svg, "step of the retainer")
    assert closed.get("class") == opened.get("class") == "unknown"
    scale = float(svg.get("data-scale"))
    assert float(closed.get("height")) / scale == pytest.approx(0.1 * INCH, abs=0.01)


def test_too_little_is_told_and_not_drawn(knowledge):
    text = STACK.replace("cam: {measured: {by: me, lobe_lift: 0.3000 in}}", "cam: {}")
    svg = drawn("stack", text, knowledge, VALVE)
    assert "camshaft: lobe lift" in svg.find(f"{SVG}desc").text
    assert not list(svg.iter(f"{SVG}line"))


def test_circles_of_the_bore(knowledge):
    svg = drawn("bore", BORE, knowledge, CYLINDER)
    scale = float(svg.get("data-scale"))
    for what, inches in (
        ("block.bore", 4.000),
        ("head_gasket.bore", 4.100),
        ("intake valve", 2.020),
        ("exhaust valve", 1.600),
    ):
        (circle,) = of(svg, what)
        assert 2 * float(circle.get("r")) / scale == pytest.approx(inches * INCH, abs=0.02), what
    # The chamber's reach is known to 0.3 in only: a hatched ring, its edges where it may end.
    (ring,) = of(svg, "head.chamber_reach")
    assert ring.get("class") == "unknown"
    radii = sorted({float(r) for r in re.findall(r"a([\d.]+) ", ring.get("d"))})
    assert [radius / scale for radius in radii] == pytest.approx([1.9 * INCH, 2.2 * INCH], abs=0.02)


def test_valves_stand_where_they_are_measured(knowledge):
    svg = drawn("bore", BORE, knowledge, CYLINDER)
    scale = float(svg.get("data-scale"))
    (bore,), (intake,), (exhaust,) = (
        of(svg, w) for w in ("block.bore", "intake valve", "exhaust valve")
    )

    def apart(one, other):
        x, y = (float(one.get(axis)) - float(other.get(axis)) for axis in ("cx", "cy"))
        return (x * x + y * y) ** 0.5 / scale / INCH

    assert apart(bore, intake) == pytest.approx(0.950, abs=0.002)
    assert apart(bore, exhaust) == pytest.approx(1.050, abs=0.002)
    assert apart(intake, exhaust) == pytest.approx(1.900, abs=0.002)


def test_valves_of_unknown_place_stand_beside_the_bore(knowledge):
    svg = drawn("bore", BORE.replace("valve_spacing: 1.900 in,", ""), knowledge, CYLINDER)
    (bore,), (intake,) = of(svg, "block.bore"), of(svg, "intake valve")
    apart = float(intake.get("cy")) - float(bore.get("cy"))
    assert apart > float(bore.get("r")) + float(intake.get("r"))
    words = " ".join(node.text or "" for node in svg.iter(f"{SVG}text"))
    assert "not known" in words and "valve spacing" in words


def test_words_of_valves_that_stand_close_are_set_apart(knowledge):
    near = BORE.replace("valve_spacing: 1.900 in", "valve_spacing: 0.900 in").replace(
        "4.0000", "6.0000"
    )
    svg = drawn("bore", near, knowledge, CYLINDER)
    where = {node.text: float(node.get("x")) for node in svg.iter(f"{SVG}text")}
    assert where["exhaust"] - where["intake"] >= 60 - 0.01


VOLUMES = """
build: volumes
cylinders: "1"
parts:
  block: {measured: {by: me, bore: 4.0000 in}}
  crankshaft: {measured: {by: me, stroke: 3.0000 in}}
  head: {measured: {by: me, chamber_volume: 64.0 cc}}
  head_gasket: {measured: {by: me, bore: 4.0000 in, bore_round: "yes", thickness: 0.0400 in}}
  piston: {measured: {by: me, deck_clearance: 0.0200 in, crown_volume: 4..8 cc}}
"""


def test_bars_of_the_volumes(knowledge):
    """A disc of 4 in by 0.040 in is 0.50265 in3 or 8.237 cc; half as thick, 4.118 cc."""
    svg = drawn("volumes", VOLUMES, knowledge, CYLINDER)
    scale = float(svg.get("data-scale")) * 1000  # units a cubic centimetre
    bars = {
        node.get("data-of"): float(node.get("width")) / scale
        for node in svg.iter(f"{SVG}rect")
        if node.get("data-of")
    }
    assert bars["cylinder head: chamber volume"] == pytest.approx(64.0, abs=0.15)
    assert bars["volume in the gasket"] == pytest.approx(8.237, abs=0.15)
    assert bars["volume between piston and deck"] == pytest.approx(4.118, abs=0.15)
    assert bars["piston: crown volume"] == pytest.approx(4.0, abs=0.1)
    assert bars["piston: crown volume, left open"] == pytest.approx(4.0, abs=0.1)


PISTON = """
build: piston and valve
cylinders: "1"
parts:
  cam:
    measured: {by: me, lobe_lift: 8.00 mm, duration_at_050: 224 deg, duration_advertised: 280 deg,
      advertised_at: 0.15 mm, installed_centreline: 106 deg, lobe_separation: 110 deg}
  rocker: {measured: {by: me, ratio: "1.500"}}
  lifter: {claimed: {type: hydraulic_flat}}
  crankshaft: {measured: {by: me, stroke: 88.40 mm}}
  rod: {measured: {by: me, length: 144.80 mm}}
  head: {measured: {by: me, valve_recess: 2.50 mm, valve_angle: 0 deg}}
  head_gasket: {measured: {by: me, thickness: 1.00 mm}}
  piston: {measured: {by: me, deck_clearance: 0.50 mm, pocket_depth: 1.50 mm}}
"""


def test_piston_to_valve_reads_as_the_calculation_says(knowledge):
    """The worked example of `least_piston_to_valve`: 2.39 mm at the least, near top dead centre."""
    svg = drawn("piston-gap", PISTON, knowledge, CYLINDER, "metric")
    scale = float(svg.get("data-scale"))
    points = {}
    for which in ("least", "most"):
        (path,) = of(svg, f"intake {which}")
        points[which] = [
            tuple(map(float, pair.split())) for pair in re.split("[ML]", path.get("d"))[1:]
        ]
    zero = max(
        float(line.get("y1")) for line in svg.iter(f"{SVG}line") if line.get("class") == "outline"
    )
    least, most = ((zero - max(y for _, y in points[which])) / scale for which in ("least", "most"))
    assert least < 2.39 < most
    assert most - least < 1.0
    lowest = max(points["least"], key=lambda point: point[1])
    left, right = (
        next(line for line in svg.iter(f"{SVG}line") if line.get("class") == "outline").get(end)
        for end in ("x1", "x2")
    )
    angle = (lowest[0] - float(left)) / (float(right) - float(left)) * 120 - 60
    assert 0 < angle < 20


def test_margins_are_ranked(knowledge):
    check = check_build(
        read_build("drawn.yaml", knowledge, STACK.replace("1.1900", "1.2500")), knowledge
    )
    rows = ranked(check, "inch")
    standings = [("clash", "open", "fits").index(row.state) for row in rows]
    assert standings == sorted(standings) and rows[0].rule == "coil_bind"
    # Of what fits those with least to spare, as a share of what is wanted; one row a question.
    fits = [one for one in check.fits if one.demands]
    spare = sorted(past(worst_place(found)) for found in by_rule(fits))[-MOST_TIGHT:]
    assert sorted(-row.low for row in rows if row.state == "fits") == pytest.approx(spare)
    assert len({row.rule for row in rows}) == len(rows)
    svg = ET.fromstring(drawing("margins", Numbers(check, "inch")).alone())
    zero = of(svg, "zero")[0]
    (bind,) = of(svg, "coil_bind")
    # All of the 0.060 in wanted is missing: the bar reaches from a whole limit below zero or near.
    right = float(bind.get("x")) + float(bind.get("width"))
    assert right < float(zero.get("x1")) and bind.get("class") == "clash"


def test_conflicts_of_parts(knowledge):
    check = check_build(
        read_build("drawn.yaml", knowledge, STACK.replace("1.1900", "1.2500")), knowledge
    )
    first = drawing("parts", Numbers(check, "inch"))
    again = drawing("parts", Numbers(check, "inch"))
    assert first == again
    svg = ET.fromstring(first.alone())
    (bind,) = of(svg, "coil_bind")
    assert bind.get("class") == "box-clash"
    # Each part that the clash rests on is joined to it by a line of its own, and no other is.
    joined = {
        node.get("data-of").split()[0] for node in svg.iter() if "edge" in node.get("class", "")
    }
    assert joined == {"cam", "rocker", "spring", "lifter"}
    assert not of(svg, "guide")


def test_every_drawing_of_random_builds_is_sound(knowledge):
    """Well-formed, with a title and a description that it is labelled by, and finite coordinates."""
    for build in random_builds(knowledge, seed=23, count=6):
        numbers = Numbers(check_build(build, knowledge), "metric")
        for name in DRAWINGS:
            svg = ET.fromstring(drawing(name, numbers).alone())
            labels = svg.get("aria-labelledby").split()
            assert [svg.find(f"{SVG}{tag}").get("id") for tag in ("title", "desc")] == labels
            assert len(svg.find(f"{SVG}desc").text) > 20
            text = " ".join(value for node in svg.iter() for value in node.attrib.values())
            assert not re.search(r"\b(nan|inf)\b", text), name
