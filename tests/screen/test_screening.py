"""Screening one open slot: verdict for verdict what a check of each single candidate says."""

from __future__ import annotations

import os

import pytest

from fitcheck.check import Verdict
from fitcheck.check.checking import check_build
from fitcheck.check.values import ValueReader
from fitcheck.language import CONFLICT, FITS, SILENT, STRADDLES
from fitcheck.model import Evidence
from fitcheck.plan.prices import NO_PRICES
from fitcheck.screen.deciding import Decider
from fitcheck.screen.opening import Opening, by_rule
from fitcheck.screen.ranking import ORDERS, best, nearest, told_names
from fitcheck.screen.screening import screen
from fitcheck.screen.store import Catalog
from fitcheck.screen.work import work_for
from tests.plan.long import LONG
from tests.screen.candidates import columns_for, random_rows
from tests.screen.reckoned import Reckoning

pytestmark = pytest.mark.in_ci
# 20 000 are run by hand and before a release; the suite takes its share.
CANDIDATES = int(os.environ.get("FITCHECK_CANDIDATES", "10"))
# What was measured on the head, and what these figures differ by.
KEPT = frozenset(
    f"spring.{name}"
    for name in ("installed_height", "height_spread", "seat_load", "seat_load_spread")
)
OPENINGS = [
    (Opening("spring"), 0.30),
    (Opening("spring", keep=KEPT), 0.10),
    (Opening("retainer"), 0.15),
    (Opening("valve", "exhaust"), 0.15),
    (Opening("cam"), 0.15),
    (Opening("head"), 0.05),
    (Opening("head_gasket"), 0.10),
]


def random_catalog(knowledge, slot, count):
    catalog = Catalog(knowledge)
    catalog.add(slot, random_rows(knowledge, slot, 5, count))
    return catalog


@pytest.mark.parametrize(("opening", "share"), OPENINGS, ids=lambda one: getattr(one, "slot", ""))
def test_every_verdict_is_that_of_a_check_of_the_single_candidate(knowledge, boat, opening, share):
    count = max(1, round(CANDIDATES * share))
    slot = opening.slot
    with random_catalog(knowledge, slot, count) as catalog:
        found = screen(catalog, boat, opening)
        groups = by_rule(found.frame.factors)
        answers = catalog.run("SELECT * FROM judged ORDER BY number")
        assert len(answers) == count
        seen = set()
        for start in range(0, count, 500):
            offers = found.offers([number for number, *_ in answers[start : start + 500]])
            parts = [offer.part for offer in offers]
            one_by_one = Reckoning(boat, knowledge, {slot: parts}, {slot: opening})
            for at, (_, *standings) in enumerate(answers[start : start + 500]):
                for rule, standing in zip(found.rules, standings, strict=True):
                    places = [p for factor in groups[rule.id] for p in factor.positions]
                    wanted = one_by_one.worst(rule, {slot: at}, places)
                    assert standing == wanted, f"{rule.id} of {offers[at].item}"
                    seen.add(standing)
        assert {FITS, STRADDLES, CONFLICT} <= seen
        assert found.fits + found.possible + found.ruled_out == count
        # Claims, and rules that a candidate cannot change, are all that is left out.
        changing = {rule.id for rule in found.rules}
        for rule in one_by_one.rules:
            if rule.id not in changing and rule.id not in found.frame.fixed:
                told = {one_by_one.worst(rule, {slot: at}) for at in range(min(len(parts), 50))}
                assert told <= {SILENT}, rule.id


def test_what_meets_as_typed_meets_in_columns(knowledge, boat):
    """Loads of 280 lbf, claimed within a tenth, may differ by 56; by 60 within 4 as well."""
    rule = knowledge.rules["seat_loads_differ"]
    told = {"seat_load": "280 lbf", "seat_load_spread": "60 lbf"}
    reader = ValueReader(knowledge, [])
    row: dict[str, object] = {"item": "one", "source": "", "row": 1, "evidence": 2}
    for own, text in told.items():
        attribute = knowledge.attributes[f"spring.{own}"]
        row |= columns_for(own, attribute, text, Evidence.CLAIMED, reader)
    with Catalog(knowledge.with_rules({rule.id: rule})) as catalog:
        catalog.add("spring", [row])
        found = screen(catalog, boat, Opening("spring"))
        assert catalog.run("SELECT r0 FROM judged") == [(CONFLICT,)]
        parts = [offer.part for offer in found.offers([0])]
    one_by_one = Reckoning(boat, knowledge, {"spring": parts})
    assert one_by_one.worst(rule, {"spring": 0}) == CONFLICT


@LONG
def test_counts_are_those_of_the_checks(knowledge, boat):
    opening = Opening("spring")
    with random_catalog(knowledge, "spring", 30) as catalog:
        found = screen(catalog, boat, opening)
        rules = {rule.id for rule in found.rules if rule.severity != "advice"}
        clashes = {}
        for offer in found.offers(list(range(30))):
            check = check_build(
                opening.fitted(found.frame.build, offer.part), knowledge, found.rules
            )
            mine = [one for one in (*check.findings, *check.beneath) if one.rule.id in rules]
            clashes[offer.number] = {f.rule.id for f in mine if f.verdict is Verdict.CONFLICT}
        able = [number for number, own in clashes.items() if not own]
        assert (found.possible + found.fits, found.ruled_out) == (len(able), 30 - len(able))
        for count in found.counts:
            assert count.out == sum(count.rule.id in own for own in clashes.values())
            assert count.alone == sum({count.rule.id} == own for own in clashes.values())
        fewest = sorted(len(own) for own in clashes.values() if own)[:3]
        told = [len(clashes[one.offer.number]) for one in nearest(found, 3)]
        assert told == fewest


@LONG
def test_each_order_is_that_of_all_candidates_decided_one_by_one(knowledge, boat):
    """The whole order's price, in packs with spares; room as a share of the limit; hours of work."""
    rows = random_rows(knowledge, "spring", 5, 16)
    for at, row in enumerate(rows):
        row["pack"] = (None, 4, 10)[at % 3]
    with Catalog(knowledge) as catalog:
        catalog.add("spring", [*rows, {**rows[3], "item": "its twin", "price": 9999.0}])
        found = screen(catalog, boat, Opening("spring"), spares=2)
        every = best(found, "work", 17).ranked
        one_by_one = Decider(found.frame, boat, told_names(found))
        works = {}
        for offer in found.offers(list(range(16))):
            decided = one_by_one.of(("spring", (offer.part,)))
            work = work_for(found.frame, decided.clashes, NO_PRICES)
            if work is not None:
                works[offer.item] = work.hours
            pieces = 18 if offer.pack is None else -(-18 // offer.pack)
            cost = None if offer.price is None else offer.price * pieces
            for one in every:
                if one.offer.item == offer.item:
                    assert (one.cost, one.decided.standing) == (cost, decided.standing)
        assert {one.offer.item: one.work.hours for one in every} == works
        for order in ORDERS:
            told = best(found, order, 17)
            assert told.complete and not told.stopped
            for at, one in enumerate(told.ranked):
                for below in told.ranked[at + 1 :]:
                    assert one.key(order, False)[0] <= below.key(order, False)[0]
                    better = below.decided.standing <= one.decided.standing and below.beats(one)
                    assert not better, f"{below.offer.item} is better than {one.offer.item}"
        twins = [one for one in every if one.alike]
        assert [one.alike for one in twins] == ([("its twin",)] if rows[3]["item"] in works else [])


@LONG
def test_what_is_stopped_keeps_the_best_so_far(knowledge, boat, monkeypatch):
    looked = Decider.of

    def until_the_fifth(self, *parts):
        if len(seen) == 4:
            raise KeyboardInterrupt
        seen.append(parts)
        return looked(self, *parts)

    seen: list = []
    monkeypatch.setattr(Decider, "of", until_the_fifth)
    with random_catalog(knowledge, "spring", 400) as catalog:
        told = best(screen(catalog, boat, Opening("spring")), "price", 3)
    assert (told.looked, told.stopped, told.complete) == (4, True, False)
    assert len(told.ranked) == 3
