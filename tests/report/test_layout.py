"""Pages in a browser: at the widths of a desktop, a phone and a sheet nothing overlaps or is cut."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from fitcheck.check import check_build, read_build
from fitcheck.report.html import PAGES
from tests.builds import random_builds
from tests.report.measuring import NEEDS_BROWSER, PHONE, PRINT, faults, sheets_of_paper

DEMOS = Path(__file__).parents[2] / "catalog_demo"
DAY = date(2026, 3, 9)
RANDOM_BUILDS = 1  # fifty were looked at by hand
pytestmark = NEEDS_BROWSER


def test_checks_of_the_demos(knowledge, tmp_path):
    pages = {}
    for demo in sorted(path.parent.name for path in DEMOS.glob("*/build.yaml")):
        build = read_build(DEMOS / demo / "build.yaml", knowledge)
        pages[demo] = PAGES["check"].make(check_build(build, knowledge), "inch", DAY)
    assert len(pages) >= 3
    assert faults(pages, tmp_path) == []


@pytest.mark.parametrize("kind", sorted(set(PAGES) - {"check"}))
def test_other_pages(kind, knowledge, tmp_path):
    build = read_build(DEMOS / "work_truck" / "build.yaml", knowledge)
    page = PAGES[kind].make(check_build(build, knowledge), "inch", DAY)
    assert faults({kind: page}, tmp_path) == []


def test_checks_of_random_builds(knowledge, tmp_path):
    pages = {}
    for i, build in enumerate(random_builds(knowledge, seed=7, count=RANDOM_BUILDS)):
        system = "inch" if i % 2 else "metric"
        pages[f"random {i}"] = PAGES["check"].make(check_build(build, knowledge), system, DAY)
    assert faults(pages, tmp_path, (PHONE, PRINT)) == []


def test_the_truck_on_paper(knowledge, tmp_path):
    """Its check takes six sheets of A4 at most, what decides most of what is to be measured one,
    of US Letter too, which is shorter."""
    build = read_build(DEMOS / "work_truck" / "build.yaml", knowledge)
    check = check_build(build, knowledge)
    for kind, paper, most in (("check", "A4", 6), ("sheet", "Letter", 1)):
        page = PAGES[kind].make(check, "inch", DAY)
        assert sheets_of_paper(page, tmp_path, paper) <= most, kind
        assert 'counter(page) " of " counter(pages)' in page and "Inline" in page


def test_the_measuring_finds_what_is_wrong(tmp_path):
    """A page spoilt on purpose: a word too long, words on each other, a drawing cut off."""
    drawing = (
        '<svg class="drawing" viewBox="0 0 100 50" width="100" height="50">'
        '<text x="5" y="20">one word</text><text x="9" y="22">another</text>'
        '<circle class="tag" cx="98" cy="30" r="8"/></svg>'
    )
    page = (
        f"<body><p style='width:5000px'>wide</p><p style='height:9px'>first</p>"
        f"<p style='margin-top:-30px'>second</p>{drawing}</body>"
    )
    found = {what for _, what, *_ in faults({"spoilt": page}, tmp_path)}
    assert found >= {
        "page wider than its window",
        "cut off at the side",
        "overlap",
        "words overlap in a drawing",
        "outside the drawing",
    }
