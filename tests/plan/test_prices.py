"""Price files: what they say, what is wrong with one, what is missing."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from fitcheck.plan.planner import make_plan
from fitcheck.plan.prices import read_prices
from fitcheck.report.plan_answer import left_out
from fitcheck.source import BadInput
from tests.plan.long import LONG

FILE = """\
prices: an invented shop
hour: 80 EUR
operations: {hone_guide: 7.50 EUR}
parts:
  - fits: spring
    price: 120 EUR
    keeps: [installed_height]
    undoes: [retainer.gap_to_seal]
    shifts: {spring.seat_load: -2 lbf}
    part: {name: springs (invented), claimed: {by: shop, rate: 300 lbf/in}}
"""


def read(demos, text):
    return read_prices("prices.yaml", demos.knowledge, demos.check("work_truck").build.layout, text)


def test_what_a_file_says(demos):
    prices = read(demos, FILE)
    operations = demos.knowledge.operations
    assert prices.currency == "EUR"
    assert prices.of(operations["hone_guide"]) == Fraction("7.5")
    # Cutting a spring seat takes 0.10 h a valve by the library: a tenth of the hour.
    assert prices.of(operations["cut_spring_seat"]) == 8
    # What puts a part in costs more than the hour, and nobody told how much.
    assert prices.of(operations["fit_thicker_gasket"]) is None
    (offer,) = prices.offers
    assert offer.price == 120
    assert offer.swap.keeps == {"spring.installed_height"}
    assert offer.swap.undoes == {"retainer.gap_to_seal"}


@pytest.mark.parametrize(
    ("old", "new", "told", "mend"),
    [
        ("hour: 80 EUR", "hour: 80", "2:7: the price '80' has no currency", "as in 85 EUR"),
        ("hour: 80 EUR", "hour: dear", "2:7: 'dear' is no price", "as in 85 EUR"),
        ("hour: 80 EUR", "hour: -80 EUR", "2:7: '-80 EUR' is no price", "as in 85 EUR"),
        ("7.50 EUR", "7.50 USD", "another currency than '80 EUR'", ""),
        ("hone_guide", "hone_guid", "3:14: there is no operation 'hone_guid'", "'hone_guide'"),
        ("fits: spring", "fits: sprnig", "there is no part class 'sprnig'", "'spring'"),
        ("[installed_height]", "[installed]", "has no attribute 'installed'", ""),
        ("[retainer.gap_to_seal]", "[gap_to_seal]", "'gap_to_seal' names no figure", ""),
        ("-2 lbf", "-2 mm", "9:32:", ""),
        ("spring.seat_load: -2 lbf", "spring.damper: no", "'spring.damper' is no figure", ""),
        ("rate: 300 lbf/in", "rate: 3 lbf/in", "10:", ""),
        ("    price: 120 EUR\n", "    cost: 120 EUR\n", "cost", ""),
    ],
)
def test_what_is_wrong_is_told_with_its_place(demos, old, new, told, mend):
    assert old in FILE
    with pytest.raises(BadInput) as error:
        read(demos, FILE.replace(old, new))
    text = str(error.value)
    assert told in text and mend in text
    assert all(problem.place for problem in error.value.problems)


def test_all_that_is_wrong_is_told_at_once(demos):
    with pytest.raises(BadInput) as error:
        read(demos, FILE.replace("80 EUR", "80").replace("120 EUR", "a lot"))
    assert len(error.value.problems) == 2


@LONG
def test_missing_prices_are_said_and_not_guessed(demos):
    """Without a price for offset locks the truck's plan does without, and says so."""
    prices = demos.prices("work_truck")
    less = replace(
        prices,
        operations={
            name: price for name, price in prices.operations.items() if "locks" not in name
        },
    )
    outcome = make_plan(demos.check("work_truck"), less)
    assert "fit locks that raise the retainer" in left_out(outcome)
    assert not any(w.operation and "locks" in w.operation.id for w in outcome.plan.works)
    assert outcome.plan.cost > demos.plan("work_truck").plan.cost


@LONG
def test_without_prices_hours_still_count(demos):
    """The plan of fewest hours may use what has no price; then no sum is given."""
    prices = demos.prices("work_truck")
    bare = replace(prices, hour=None, operations={})
    plan = make_plan(demos.check("work_truck"), bare, "hours").plan
    assert plan.total.price is None
    assert plan.total.hours == demos.plan("work_truck", "hours").plan.total.hours
