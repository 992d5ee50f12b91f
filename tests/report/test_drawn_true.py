"""What a drawing shows is what is stated: every labelled length of random builds is read back.

A share of them in the suite; FITCHECK_DRAWN=100 draws so many builds, unknown parts included.
"""

from __future__ import annotations

import os
import re
import xml.etree.ElementTree as ET

import pytest

from fitcheck.check import check_build
from fitcheck.report.drawings.making import drawing, module_of
from fitcheck.report.drawings.numbers import Numbers
from fitcheck.report.drawings.svg import WIDTH
from tests.builds import random_builds

SVG = "{http://www.w3.org/2000/svg}"
pytestmark = pytest.mark.in_ci
BUILDS = int(os.environ.get("FITCHECK_DRAWN", "2"))
DIGITS = 0.011  # units: a coordinate is given to a hundredth
HEIGHTS = ("fitted_height", "open_height")
GAPS = ("retainer_gap", "retainer_clearance", "coil_bind_clearance")


def of(svg, what):
    return [node for node in svg.iter() if node.get("data-of") == what]


def number(node, name):
    return float(node.get(name))


def places(name, numbers):
    """One place of each group that looks alike."""
    module = module_of(name)
    return [alike[0] for alike in numbers.groups(module.READS, module.EACH)]


def drawn(name, numbers):
    for at in places(name, numbers):
        svg = ET.fromstring(drawing(name, numbers, at).alone())
        if svg.get("data-scale"):
            yield at, svg, float(svg.get("data-scale"))


def ends(node):
    """The least and the greatest height of a shape on the sheet, the upper one first."""
    if node.tag == f"{SVG}rect":
        return number(node, "y"), number(node, "y") + number(node, "height")
    if node.tag == f"{SVG}line":
        return min(number(node, "y1"), number(node, "y2")), max(
            number(node, "y1"), number(node, "y2")
        )
    heights = [float(pair.split()[1]) for pair in re.split("[MLZ]", node.get("d")) if pair]
    return min(heights), max(heights)


def side(node):
    """The half of the section that a shape stands in: -1 closed, 1 at full lift."""
    tag = node.tag.removeprefix(SVG)
    x = {"rect": "x", "line": "x2"}.get(tag)
    across = (
        number(node, x)
        if x
        else max(
            (float(pair.split()[0]) for pair in re.split("[MLZ]", node.get("d")) if pair),
            key=lambda one: abs(one - WIDTH / 2),
        )
    )
    width = number(node, "width") / 2 if tag == "rect" else 0
    return 1 if across + width > WIDTH / 2 else -1


def turned_over(node):
    """Whether a retainer's path ends above where it begins."""
    heights = [float(pair.split()[1]) for pair in re.split("[MLZ]", node.get("d") or "") if pair]
    return bool(heights) and heights[-1] < heights[0]


@pytest.fixture(scope="module")
def builds(knowledge):
    return [
        Numbers(check_build(build, knowledge), "metric")
        for build in random_builds(knowledge, seed=41, count=BUILDS)
    ]


def test_stacks_are_drawn_as_stated(builds):
    """Dimensions, and the very shapes that they lie between: what is known is never gainsaid."""
    read = 0
    for numbers in builds:
        for at, svg, scale in drawn("stack", numbers):
            for name in (*HEIGHTS, *GAPS):
                stated, lines = numbers.of(name, at), of(svg, name)
                assert len(lines) == stated.known
                for line in lines:
                    # Downwards is less: a gap below nothing is drawn as an overlap.
                    length = (number(line, "y1") - number(line, "y2")) / scale
                    assert length == pytest.approx(stated.middle, abs=2 * DIGITS / scale), name
                    read += 1
            undersides = {
                side(node): ends(node)[1]
                for node in of(svg, "retainer.underside_drop")
                if not turned_over(node)  # gap, seal and guide are more than the height there is
            }
            seals = {side(node): ends(node)[0] for node in of(svg, "guide and seal")}
            for half, name in ((-1, "retainer_gap"), (1, "retainer_clearance")):
                stated = numbers.of(name, at)
                if half not in seals or half not in undersides:
                    continue
                if stated.known and stated.middle > 0:
                    gap = (seals[half] - undersides[half]) / scale
                    assert gap == pytest.approx(stated.middle, abs=2 * DIGITS / scale), name
                    read += 1
                elif not stated.known:  # nothing is drawn between, not even a collision
                    assert seals[half] >= undersides[half] - DIGITS
            for name in ("valve.stem_diameter", "shim.thickness", "locator.thickness"):
                for node in of(svg, name):
                    size = number(node, "width" if "stem" in name else "height") / scale
                    stated = numbers.of(name, at).middle
                    assert size == pytest.approx(stated, abs=2 * DIGITS / scale), name
    assert read > BUILDS  # many random builds lack too much to be drawn


def test_bores_are_drawn_as_stated(builds):
    for numbers in builds:
        for at, svg, scale in drawn("bore", numbers):
            for name, factor in (
                ("block.bore", 2),
                ("head_gasket.bore", 2),
                ("head.chamber_reach", 1),
            ):
                stated = numbers.of(name, at)
                for node in of(svg, name):
                    assert stated.known
                    if node.tag == f"{SVG}circle":
                        shown = factor * number(node, "r") / scale
                        assert shown == pytest.approx(stated.middle, abs=4 * DIGITS / scale)


def test_volumes_are_drawn_as_stated(builds):
    """A bar reaches from nought to the figure, as far as it is sure."""
    for numbers in builds:
        for at, svg, scale in drawn("volumes", numbers):
            for name in ("head.chamber_volume", "clearance_volume"):
                stated = numbers.of(name, at)
                for node in of(svg, stated.title) if stated.known else ():
                    shown = number(node, "width") / scale
                    near = min(abs(stated.low), abs(stated.high))
                    near = 0.0 if stated.low < 0 < stated.high else near
                    narrow = 0.005 * WIDTH / scale
                    assert near - narrow <= shown <= near + narrow


def test_piston_gaps_are_drawn_as_stated(builds):
    """A clearance of the assembly stands as high over nought as it is."""
    for numbers in builds:
        for at, svg, scale in drawn("piston-gap", numbers):
            (nought,) = (node for node in svg.iter(f"{SVG}line") if node.get("class") == "outline")
            for node in svg.iter():
                told = (node.get("data-of") or "").split()
                if told[1:] != ["clearance"]:
                    continue
                valve = type(at)(at.bank, at.cylinder, told[0])
                stated = numbers.of("piston.axial_gap", valve)
                middle = sum(ends(node)) / 2
                shown = (number(nought, "y1") - middle) / scale
                assert shown == pytest.approx(stated.middle, abs=2 * DIGITS / scale)
