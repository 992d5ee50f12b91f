"""The page of a claim audit: what is off stands first, with a text to send back with the part."""

from __future__ import annotations

from datetime import date

import pytest

from fitcheck.check import check_build, read_build
from fitcheck.check.records.audit import audit
from fitcheck.report.html import PAGES
from tests.report.test_pages import TRUCK, Tree

CLAIMED = """
build: an audit
cylinders: "1"
parts:
  spring:
    name: an invented spring
    seller: an invented shop
    claimed: {by: a page, installed_height: 1.700 in +-0.005 in, coil_bind_height: 1.150 in}
"""
DAY = date(2026, 3, 9)


def tree_of(text, knowledge):
    build = read_build("audit.yaml", knowledge, text)
    return Tree(PAGES["audit"].make(check_build(build, knowledge), "inch", DAY))


@pytest.mark.parametrize(
    ("measured", "answer"),
    [
        ("", "Of 2 figures claimed or ordered none is measured yet."),
        (
            "    measured: {by: me, installed_height: 1.702 in}\n",
            "1 of 2 figures claimed or ordered is measured; none of them is off.",
        ),
        (
            "    measured: {by: me, installed_height: 1.720 in}\n",
            "1 of 2 figures claimed or ordered is measured; 1 not as stated.",
        ),
    ],
)
def test_the_answer(measured, answer, knowledge):
    assert answer in tree_of(CLAIMED + measured, knowledge).text


def test_what_is_off_is_to_be_sent_back(knowledge):
    """1.720 in against 1.705 in at most is 0.015 in over, less half of what the tool can tell."""
    tree = tree_of(CLAIMED + "    measured: {by: me, installed_height: 1.720 in}\n", knowledge)
    text = tree.text
    assert text.index("To send with the part") < text.index("Claimed against measured")
    assert "an invented spring, valve spring; sold by an invented shop" in text
    assert "over by 0.0" in text
    within = tree_of(CLAIMED + "    measured: {by: me, installed_height: 1.702 in}\n", knowledge)
    assert "To send with the part" not in within.text


def test_it_says_of_how_many_figures_it_speaks(knowledge):
    """The truck's seller states 103 figures, of which the shop read two; five claims fail."""
    build = read_build(TRUCK, knowledge)
    text = Tree(PAGES["audit"].make(check_build(build, knowledge), "inch", DAY)).text
    stated = len(audit(build))
    assert f"2 of {stated} figures claimed or ordered are measured; none of them is off" in text
    assert "5 claims fail: followers that the head is sold for, lift that" in text
