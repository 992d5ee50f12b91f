"""Several open slots, answered: the best sets as builds with their checks, alike ones told once.

By price and by room only sets are told of which no other is cheaper and leaves more room: the
cheapest of all, then the cheapest of those that leave more, and so on (the method of constraints:
Y. Haimes, L. Lasdon and D. Wismer, IEEE Transactions on Systems, Man, and Cybernetics, 1971).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from operator import le
from typing import Literal

from fitcheck.check import BuildCheck
from fitcheck.knowledge import Rule
from fitcheck.model import EngineBuild
from fitcheck.plan.prices import NO_PRICES, Prices, hours_of
from fitcheck.screen.candidates import Candidates
from fitcheck.screen.cause import Cause, cause
from fitcheck.screen.deciding import Decided, Decider
from fitcheck.screen.opening import Frame, by_rule
from fitcheck.screen.sets import INF, FoundSet, OpenSlots, SetSearch, best_sets
from fitcheck.screen.work import CandidateWork, work_for

Progress = Callable[[str], None]
SetOrder = Literal["price", "room", "work"]
# Sets looked at to find different ones; the cheapest differ mostly in one small part.
MOST_SETS = 400
# Sets of which none is cheaper and leaves more room, at most.
MOST_FRONT = 60
# Of the cheapest sets so many are looked at for those that likely fit.
MOST_LOOKED = 20
# Rooms that differ by less than this share are one.
_MORE = 1e-9


@dataclass
class PartSet:
    """A set: its parts by name, what else of one slot does as well at one price, what can be said.

    `price` is that of the whole order; `room` the least room to a limit where a rule surely fits.
    `clashes` are rules that clash and that machine work mends, where that was asked for, and `work`
    is what mends them.
    """

    found: FoundSet
    parts: dict[str, str]
    price: float
    priced: bool
    unpriced: int
    decided: Decided
    clashes: tuple[str, ...]
    room: float | None = None
    work: CandidateWork | None = None
    alike: dict[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def check(self) -> BuildCheck:
        """Its check by the rules that depend on what is chosen."""
        return self.decided.check


@dataclass
class Chosen:
    """The best sets, or why there is none; not `complete` where it was stopped."""

    choices: list[PartSet]
    why: Cause | None = None
    complete: bool = True


def choose(
    frame: Frame,
    candidates: Mapping[str, Candidates],
    wanted: int,
    by: SetOrder = "price",
    present: EngineBuild | None = None,
    shop: Prices = NO_PRICES,
    progress: Progress = lambda _: None,
) -> Chosen:
    """The best sets in an order; interrupted, the best of those found so far."""
    progress(f"{len(frame.factors)} demands on {len(candidates)} open slots")
    told = frozenset(f"{slot}.{name}" for slot, own in candidates.items() for name in own.told)
    decider = Decider(frame, present or frame.build, told)
    rooms = OpenSlots(frame, candidates, floor=-INF)
    chosen = Chosen([])
    some: list[PartSet] = []
    try:
        for one, slot, others in _groups(frame, candidates, wanted, by, shop):
            some.append(_choice(decider, rooms, candidates, shop, one, slot, others))
            progress(f"{len(some)} sets looked at; Ctrl-C for the best so far")
    except KeyboardInterrupt:
        chosen.complete = False
    chosen.choices = _in_order(some, by)[:wanted]
    if not some and chosen.complete:
        chosen.why = cause(frame, candidates, progress)
    return chosen


def _in_order(some: list[PartSet], by: SetOrder) -> list[PartSet]:
    """By certainty and what is asked for; a set that another beats in all comes after the rest."""
    if by == "work":
        return sorted(some, key=lambda one: (_labour(one), one.decided.standing, one.price))

    def goods(one: PartSet) -> tuple[float, float, int]:
        room = -INF if one.room is None else one.room
        return one.price if one.priced else INF, -room, one.decided.standing

    def key(one: PartSet) -> tuple[object, ...]:
        price, room, standing = goods(one)
        beaten = any(
            goods(other) != goods(one) and all(map(le, goods(other), goods(one))) for other in some
        )
        return (standing, beaten, *((room, price) if by == "room" else (price, room)))

    return sorted(some, key=key)


def _labour(one: PartSet) -> float:
    if one.work is None:
        return INF if one.clashes else 0.0
    return float(one.work.hours if one.work.price is None else one.work.price)


Group = tuple[FoundSet, str, list[int]]


def _groups(
    frame: Frame,
    candidates: Mapping[str, Candidates],
    wanted: int,
    by: SetOrder,
    shop: Prices,
) -> list[Group]:
    """The sets to be looked at: by work the first, else the cheapest and those with more room."""
    if by == "work":
        by_work = OpenSlots(frame, candidates, "work", labour=labour_of(frame, shop))
        return _first(by_work, max(wanted, MOST_LOOKED))
    groups = _first(OpenSlots(frame, candidates), max(wanted, MOST_LOOKED))
    known = [one.chosen for one, _, _ in groups]
    more = front(frame, candidates) if groups else []
    return groups + [(one, "", []) for one in more if one.chosen not in known]


def _first(problem: OpenSlots, wanted: int) -> list[Group]:
    """The first sets, those that differ in one slot at one price as one."""
    groups: list[Group] = []
    if not problem.possible():
        return groups
    for number, one in enumerate(SetSearch(problem).sets()):
        if not _joined(groups, one):
            if len(groups) == wanted:
                break
            groups.append((one, "", []))
        if number == MOST_SETS:
            break
    return groups


def front(
    frame: Frame, candidates: Mapping[str, Candidates], without: frozenset[str] = frozenset()
) -> list[FoundSet]:
    """The cheapest set, then each time the cheapest that leaves more room."""
    found: list[FoundSet] = []
    floor = -INF
    while len(found) < MOST_FRONT and floor < INF:
        problem = OpenSlots(frame, candidates, without=without, floor=floor)
        best = best_sets(problem, 1)
        if not best:
            break
        if found and (found[-1].price, found[-1].unpriced) == (best[0].price, best[0].unpriced):
            found.pop()  # as dear, and with less room
        found.append(best[0])
        floor = problem.room(best[0].chosen) + _MORE
    return found


def labour_of(frame: Frame, shop: Prices) -> Callable[[Rule], float]:
    """What mending a rule's clash comes to, at all places that it reads: a price, else hours."""
    places = {
        id_: {p for factor in factors for p in factor.positions}
        for id_, factors in by_rule(frame.factors).items()
    }

    def labour(rule: Rule) -> float:
        works = frame.works(rule)
        prices = [shop.of(operation) for operation in works]
        told = [price for price in prices if price is not None]
        each = min(told) if told else min(map(hours_of, works), default=Fraction(0))
        return float(each * len(places[rule.id]))

    return labour


def _joined(groups: list[tuple[FoundSet, str, list[int]]], one: FoundSet) -> bool:
    """Whether a set is one of those told before but for one part, at the same price."""
    for i, (first, slot, others) in enumerate(groups):
        if (first.price, first.unpriced, first.clashes) != (one.price, one.unpriced, one.clashes):
            continue
        differ = [name for name, number in one.chosen.items() if first.chosen[name] != number]
        if len(differ) == 1 and slot in ("", differ[0]):
            others.append(one.chosen[differ[0]])
            groups[i] = (first, differ[0], others)
            return True
    return False


def _choice(
    decider: Decider,
    problem: OpenSlots,
    candidates: Mapping[str, Candidates],
    shop: Prices,
    one: FoundSet,
    slot: str,
    others: list[int],
) -> PartSet:
    parts = {name: candidates[name].names([number])[0] for name, number in one.chosen.items()}
    decided = decider.of(*((name, candidates[name].parts(at)) for name, at in one.chosen.items()))
    work = work_for(decider.frame, decided.clashes, shop) if one.clashes else None
    room = problem.room(one.chosen)
    alike = {slot: tuple(candidates[slot].names(others))} if slot else {}
    return PartSet(
        one,
        parts,
        one.price,
        one.unpriced < len(one.chosen),
        one.unpriced,
        decided,
        one.clashes,
        None if room == INF else room,
        work,
        alike,
    )


def fitted(
    frame: Frame, candidates: Mapping[str, Candidates], chosen: Mapping[str, int]
) -> EngineBuild:
    """The build with a set in its open slots."""
    build = frame.build
    for slot, number in chosen.items():
        build = frame.openings[slot].fitted(build, *candidates[slot].parts(number))
    return build
