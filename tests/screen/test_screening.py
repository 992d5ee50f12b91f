"""Screening one open slot: verdict for verdict what a check of each single candidate says."""

from __future__ import annotations

import os

import pytest

from fitcheck.check import Verdict
from fitcheck.check.checking import check_build
from fitcheck.language import python
from fitcheck.language.columns import CONFLICT, FITS, OPEN, SILENT
from fitcheck.screen.opening import Opening, by_rule
from fitcheck.screen.ranking import best, least_rework, nearest
from fitcheck.screen.screening import screen
from fitcheck.screen.store import Catalog
from tests.screen.candidates import random_rows
from tests.screen.reckoned import FAILED, Reckoning

# 20 000 are run by hand and before a release; the suite takes its share.
CANDIDATES = int(os.environ.get("FITCHECK_CANDIDATES", "120"))
STANDING = {
    python.SILENT: SILENT,
    python.FITS: FITS,
    python.STRADDLES: OPEN,
    python.CONFLICT: CONFLICT,
    FAILED: OPEN,
}
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
    count = round(CANDIDATES * share)
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
                    wanted = STANDING[one_by_one.worst(rule, {slot: at}, places)]
                    assert standing == wanted, f"{rule.id} of {offers[at].item}"
                    seen.add(standing)
        assert {FITS, OPEN, CONFLICT} <= seen
        assert found.fits + found.possible + found.ruled_out == count
        # Claims, and rules that a candidate cannot change, are all that is left out.
        changing = {rule.id for rule in found.rules}
        for rule in one_by_one.rules:
            if rule.id not in changing and rule.id not in found.frame.fixed:
                told = {one_by_one.worst(rule, {slot: at}) for at in range(min(len(parts), 50))}
                assert told <= {python.SILENT}, rule.id


def test_counts_and_order_are_those_of_the_checks(knowledge, boat):
    opening = Opening("spring")
    with random_catalog(knowledge, "spring", 30) as catalog:
        found = screen(catalog, boat, opening)
        rules = {rule.id for rule in found.rules if rule.severity != "advice"}
        clashes, open_, prices = {}, {}, {}
        for offer in found.offers(list(range(30))):
            check = check_build(
                opening.fitted(found.frame.build, offer.part), knowledge, found.rules
            )
            mine = [one for one in (*check.findings, *check.beneath) if one.rule.id in rules]
            clashes[offer.number] = {f.rule.id for f in mine if f.verdict is Verdict.CONFLICT}
            open_[offer.number] = {f.rule.id for f in mine if f.verdict.undecided}
            prices[offer.number] = offer.price
        able = [number for number, own in clashes.items() if not own]
        assert (found.possible + found.fits, found.ruled_out) == (len(able), 30 - len(able))
        for count in found.counts:
            assert count.out == sum(count.rule.id in own for own in clashes.values())
            assert count.alone == sum({count.rule.id} == own for own in clashes.values())
        priced = sorted(p for n in able if (p := prices[n]) is not None)
        told = [one.offer.price for one in best(found, "price", len(able))]
        assert told[: len(priced)] == priced and set(told[len(priced) :]) <= {None}
        roomy = best(found, "margin", 10)
        rooms = [one.room for one in roomy if one.room is not None]
        assert rooms == sorted(rooms, reverse=True) and rooms[0] > 0
        for one in roomy:  # the least margin of what fits, as a share of the greater figure
            check = check_build(
                opening.fitted(found.frame.build, one.offer.part), knowledge, found.rules
            )
            shares = [
                demand.margin.lower
                / max(
                    map(
                        abs,
                        (
                            demand.actual.lower,
                            demand.actual.upper,
                            demand.wanted.lower,
                            demand.wanted.upper,
                        ),
                    )
                )
                for finding in check.findings
                if finding.verdict is Verdict.FITS and finding.rule.id in rules
                for demand in finding.demands
            ]
            assert one.room <= float(min(shares)) + 1e-9
        fewest = min(len(own) for own in clashes.values() if own)
        for one in nearest(found, 3):
            assert len({f.rule.id for f in one.clashes}) == fewest


def test_least_rework_is_least_of_all(knowledge, boat):
    """Against the hours of every candidate worked out one by one."""
    from fitcheck.screen.ranking import _ranked, _work

    with random_catalog(knowledge, "spring", 24) as catalog:
        found = screen(catalog, boat, Opening("spring"))
        hours = []
        for offer in found.offers(list(range(24))):
            work = _work(found.frame, _ranked(found, offer, None).clashes)
            if work is not None:
                hours.append(work.hours)
        told = least_rework(found, 10)
        assert told.complete
        assert [one.work.hours for one in told.ranked] == sorted(hours)[:10]
