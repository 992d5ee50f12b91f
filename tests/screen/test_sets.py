"""Best sets against an exhaustive search that asks every rule of every set, one by one."""

from __future__ import annotations

import dataclasses
import os
from random import Random

from fitcheck.language.columns import CONFLICT
from fitcheck.plan.prices import NO_PRICES
from fitcheck.screen.candidates import FromParts
from fitcheck.screen.opening import Frame, Opening
from fitcheck.screen.sets import INF, OpenSlots, best_sets
from fitcheck.screen.store import PartReader
from fitcheck.screen.tables import figures
from fitcheck.screen.together import front, labour_of
from tests.invented.parts import MAKERS, demo_parts, texts
from tests.plan.long import LONG
from tests.screen.candidates import random_rows
from tests.screen.reckoned import Reckoning

# All 200 are run by hand and before a release; the suite takes its share.
CATALOGS = int(os.environ.get("FITCHECK_CATALOGS", "4"))
SLOTS = list(MAKERS)


def small_catalog(knowledge, build, seed):
    """A few parts each for some slots: sensible ones among others drawn at random."""
    random = Random(seed)
    slots = random.sample(SLOTS, random.choice([2, 3, 3, 4]))
    unknown = random.random() < 0.5
    if random.random() < 0.7:  # fewer rules are settled against all by the parts that stay
        kept = {"engine", "block", "head", *random.sample(list(build.parts), 12)}
        parts = {slot: own for slot, own in build.parts.items() if slot in kept}
        build = dataclasses.replace(build, parts=parts)
    offered, prices = {}, {}
    for slot in slots:
        count = random.randint(2, 5)
        reader = PartReader(knowledge, slot)
        own = figures(slot, knowledge)
        table = texts(demo_parts(slot, count, seed))
        wild = random_rows(knowledge, slot, seed, count)
        offered[slot], prices[slot] = [], []
        for i in range(count):
            if random.random() < 0.25:
                told = {
                    name: wild[i][name] for name in own if name in wild[i] and random.random() < 0.5
                }
                evidence = wild[i]["evidence"]
            else:
                told = {}
                for header, cells in table.items():
                    name, _, unit = header.partition(" [")
                    if name in own and cells[i] and not (unknown and random.random() < 0.3):
                        told[name] = f"{cells[i]} {unit.rstrip(']')}".strip()
                evidence = 2
            offered[slot].append(reader.part(f"{slot} {i}", "", evidence, told))
            prices[slot].append(float(random.randrange(1, 9)))
    return build, offered, prices


def some_kits(offered, random):
    """For each part the kit it comes in, if any: in a third of the catalogs one or two of two parts."""
    kits = {slot: [""] * len(parts) for slot, parts in offered.items()}
    for number in range(random.choice([0, 0, 1, 2])):
        for slot in random.sample(list(offered), 2):
            free = [at for at, kit in enumerate(kits[slot]) if not kit]
            if free:
                kits[slot][random.choice(free)] = f"kit {number}"
    return kits


def whole(chosen, kits):
    """Whether each kit of which a part is chosen is chosen whole."""
    taken = {kits[slot][number] for slot, number in chosen.items()} - {""}
    wanted = [(s, n) for s, own in kits.items() for n, kit in enumerate(own) if kit in taken]
    return all(chosen[slot] == number for slot, number in wanted)


@LONG
def test_the_best_sets_are_those_of_an_exhaustive_search(knowledge, boat):
    lengths = []
    for seed in range(CATALOGS):
        build, offered, prices = small_catalog(knowledge, boat, seed)
        frame = Frame(build, knowledge, [Opening(slot) for slot in offered])
        # What a rule says whatever is fitted rules no candidate out.
        whatever = {id_ for id_, standing in frame.fixed.items() if standing == CONFLICT}
        one_by_one = Reckoning(build, knowledge, offered)
        kits = some_kits(offered, Random(seed))
        every = [one for one in one_by_one.sets(offered, whatever) if whole(one, kits)]
        cost = {
            tuple(chosen.values()): sum(prices[s][n] for s, n in chosen.items()) for chosen in every
        }
        some = {
            slot: FromParts(
                parts, frame.build, frame.openings[slot], knowledge, prices[slot], kits[slot]
            )
            for slot, parts in offered.items()
        }
        found = best_sets(OpenSlots(frame, some, without=frozenset(whatever)), 10_000)
        told = {tuple(one.chosen[slot] for slot in offered): one.price for one in found}
        assert told == cost, f"catalog {seed}"
        assert [one.price for one in found] == sorted(cost.values()), f"catalog {seed}"
        # Clashes that an operation mends may stand; the fewest of them come first, then the price.
        mended = [
            (chosen, clashes)
            for chosen, clashes in one_by_one.worked(offered, whatever)
            if whole(chosen, kits)
        ]
        worked = {
            tuple(chosen.values()): (len(clashes), sum(prices[s][n] for s, n in chosen.items()))
            for chosen, clashes in mended
        }
        by_work = best_sets(OpenSlots(frame, some, "operations", frozenset(whatever)), 10_000)
        orders = [(len(one.clashes), one.price) for one in by_work]
        assert {
            tuple(one.chosen[slot] for slot in offered): order
            for one, order in zip(by_work, orders, strict=True)
        } == worked, f"catalog {seed}"
        assert orders == sorted(orders), f"catalog {seed}"
        # The same with what the work comes to, at all places of a rule, in the place of its count.
        labour = labour_of(frame, NO_PRICES)
        least = {
            tuple(chosen.values()): (
                sum(round(labour(knowledge.rules[id_]) * 100) for id_ in clashes),
                sum(prices[s][n] for s, n in chosen.items()),
            )
            for chosen, clashes in mended
        }
        problem = OpenSlots(frame, some, "work", frozenset(whatever), labour=labour)
        orders = [least[tuple(o.chosen[s] for s in offered)] for o in best_sets(problem, 10_000)]
        assert orders == sorted(least.values()), f"catalog {seed}"
        # By room: of all sets those that no other beats in room and price.
        rooms = OpenSlots(frame, some, without=frozenset(whatever), floor=-INF)
        goods = {
            (sum(prices[s][n] for s, n in chosen.items()), rooms.room(chosen)) for chosen in every
        }
        unbeaten = {
            (price, room)
            for price, room in goods
            if not any(p <= price and r >= room and (p, r) != (price, room) for p, r in goods)
        }
        found = front(frame, some, frozenset(whatever))
        assert {(one.price, rooms.room(one.chosen)) for one in found} == unbeaten, f"catalog {seed}"
        lengths.append(len(cost))
    assert sum(map(bool, lengths)) > len(lengths) // 3 and 0 in lengths
