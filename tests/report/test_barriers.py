"""Every kind of page under an accessibility checker, light and for one dark: it finds nothing.

The checker is axe-core, which tests what can be tested by machine of WCAG 2: contrast, headings,
landmarks, names of tables, alternatives of drawings.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from fitcheck.report.html import PAGES
from tests.report.measuring import NEEDS_BROWSER, barriers
from tests.report.test_pages import made
from tests.report.test_plan_pages import order_page, routes_page_of, written

pytestmark = NEEDS_BROWSER
# Something that clashes, is open, fits, is claimed, measured and off, with its drawings; whole
# engines say no other kinds of things, but take the checker a minute.
SMALL = """
build: a small one
about: invented
cylinders: "1"
parts:
  cam: {measured: {by: me, lobe_lift: 0.350 in}}
  rocker: {claimed: {by: a card, ratio: "1.6"}}
  lifter: {claimed: {by: a card, type: hydraulic_roller}}
  spring:
    name: an invented spring
    seller: an invented seller
    measured: {by: me, installed_height: 1.700 in, coil_bind_height: 1.150 in}
    claimed: {by: a card, installed_height: 1.750 in, seat_load: 95 lbf, rate: 270 lbf/in}
"""


@pytest.fixture
def pages(knowledge, little, tmp_path) -> dict[str, str]:
    """A page of each kind."""
    folder = written(tmp_path, "plain")
    own = {"order": order_page(folder, little), "routes": routes_page_of(folder, little)}
    return {kind: made(kind, knowledge, SMALL) for kind in PAGES} | own


def test_no_page_bars_anyone(pages, tmp_path: Path):
    assert barriers(pages, tmp_path) == []


def test_the_checker_finds_what_is_wrong(tmp_path: Path):
    page = (
        "<!DOCTYPE html><html><head><title>t</title></head><body><main><h1>Head</h1><h4>Skip</h4>"
        "<p style='color:#aaa;background:#fff'>pale</p><svg role='img'><path d='M0 0'/></svg>"
        "</main></body></html>"
    )
    found = {rule for _, rule, _ in barriers({"bad": page}, tmp_path)}
    assert {"color-contrast", "html-has-lang", "heading-order", "svg-img-alt"} <= found
