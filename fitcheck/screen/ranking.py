"""Puts the candidates for a slot in order: by room to their limits, by price, by work; near misses.

What surely is ruled out is known of all candidates; which of the others likely fit is found out of
those that come first by the order asked for, one by one, each as the check of the build with it in
place. Parts that differ in no figure that counts are one: the cheapest of them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from time import monotonic
from typing import Any, Literal

from fitcheck.language import CONFLICT
from fitcheck.plan.prices import NO_PRICES, Prices
from fitcheck.screen.deciding import Decided, Decider, Standing
from fitcheck.screen.rooms import make_rooms
from fitcheck.screen.screening import Progress, Screen, told_by
from fitcheck.screen.store import CatalogPart
from fitcheck.screen.work import CandidateWork, least_hours, work_for

Order = Literal["room", "price", "work"]
ORDERS: tuple[Order, ...] = ("room", "price", "work")
# Candidates that are decided one by one, at most.
MOST_LOOKED = 60
_FAR = float("inf")
_KINDS = "kinds"


@dataclass(frozen=True, slots=True)
class Ranked:
    """One candidate in order, with what can be said of it.

    `cost` is the price of the whole order. `work` is what mends its clashes: none where there are
    none, None where machine work alone does not. `alike` differ from it in nothing that counts.
    """

    offer: CatalogPart
    decided: Decided
    cost: float | None
    work: CandidateWork | None = None
    alike: tuple[str, ...] = ()
    pieces: int = 1

    @property
    def room(self) -> float:
        """The least room to a limit, as a share of it; none is told where nothing fits surely."""
        return self.decided.room if self.decided.room is not None else -_FAR

    @property
    def labour(self) -> float:
        """What its work comes to: a shop's price, else hours."""
        if self.work is None:
            return _FAR
        return float(self.work.hours if self.work.price is None else self.work.price)

    def beats(self, other: Ranked) -> bool:
        """Whether it is no worse in room, price and work, and better in one."""
        own, others = self._goods, other._goods
        return own != others and all(a <= b for a, b in zip(own, others, strict=True))

    @property
    def _goods(self) -> tuple[float, float, float]:
        return -self.room, _FAR if self.cost is None else self.cost, self.labour

    def key(self, order: Order, beaten: bool) -> tuple[Any, ...]:
        """What candidates are put in order by; what is beaten comes after what is not."""
        room, cost, labour = self._goods
        standing = self.decided.standing
        if order == "work":
            return (labour, standing, beaten, cost, room, self.offer.number)
        first = (room, cost) if order == "room" else (cost, room)
        return (standing, beaten, *first, labour, self.offer.number)


@dataclass
class Best:
    """The best candidates, and how many of those looked at stand how.

    `looked` of `kinds` different ones were looked at; with `stopped` it was ended before its time.
    On `disputed` of those that fit, or likely do, practice disagrees.
    """

    order: Order
    ranked: list[Ranked] = field(default_factory=list)
    standings: Counter[Standing] = field(default_factory=Counter)
    disputed: int = 0
    looked: int = 0
    kinds: int = 0
    stopped: bool = False
    decided: list[Decided] = field(default_factory=list)

    @property
    def complete(self) -> bool:
        """Whether all that nothing surely rules out were looked at."""
        return self.looked == self.kinds


def best(
    found: Screen,
    order: Order,
    count: int,
    prices: Prices = NO_PRICES,
    progress: Progress = lambda _: None,
) -> Best:
    """The best candidates in an order. Interrupted, it gives the best of those looked at so far."""
    _make_kinds(found)
    told = Best(order)
    rows = _first(found, order)
    told.kinds = _count(found, order)
    decider = Decider(found.frame, found.build, told_names(found))
    some: list[Ranked] = []
    began = monotonic()
    try:
        for offer, (_, pieces, cost) in zip(found.offers([r[0] for r in rows]), rows, strict=True):
            decided = decider.of((found.opening.slot, (offer.part,)))
            work = work_for(found.frame, decided.clashes, prices)
            told.looked += 1
            told.standings[decided.standing] += pieces
            told.disputed += pieces if decided.disagreed else 0
            told.decided.append(decided)
            if not decided.clashes or (order == "work" and work is not None):
                some.append(Ranked(offer, decided, cost, work, pieces=pieces))
            _say(progress, told.looked, len(rows), began)
    except KeyboardInterrupt:
        told.stopped = True
    told.ranked = [_with_alike(found, one) for one in _in_order(some, order)[:count]]
    return told


def _say(progress: Progress, looked: int, all_: int, began: float) -> None:
    """Now and then how far it is, and how long the rest takes."""
    if looked % 10 == 0 and looked < all_ and (taken := monotonic() - began) > 1:
        left = taken / looked * (all_ - looked)
        progress(f"{looked} of {all_} looked at, {left:.0f} s left; Ctrl-C for the best so far")


def _in_order(some: Sequence[Ranked], order: Order) -> list[Ranked]:
    beaten = {
        id(one): any(
            other.beats(one) and other.decided.standing <= one.decided.standing for other in some
        )
        for one in some
    }
    return sorted(some, key=lambda one: one.key(order, beaten[id(one)]))


def told_names(found: Screen) -> frozenset[str]:
    """The attributes that any candidate tells."""
    own = found.catalog.told(found.opening.slot)
    return frozenset(f"{found.opening.slot}.{name}" for name in own)


def _counting(found: Screen) -> list[str]:
    """The columns that any rule rests on."""
    names = [told_by(found.opening, rule, found.frame.knowledge) for rule in found.rules]
    return list(dict.fromkeys(name for some in names for name in some))


def _make_kinds(found: Screen) -> None:
    """A table of candidates that differ in what counts: the cheapest of each, and how many."""
    columns = "".join(f', p."{name}"' for name in _counting(found))
    found.catalog.run(
        f"CREATE OR REPLACE TEMP TABLE {_KINDS} AS SELECT hash(p.evidence{columns}) AS kind, "
        f"arg_min(number, (coalesce({found.need.sql}, 1e300), number)) AS number, "
        f"count(*) AS pieces, min({found.need.sql}) AS cost "
        f'FROM standing JOIN "{found.opening.slot}" AS p ON p.rowid = number GROUP BY kind'
    )


def _first(found: Screen, order: Order) -> list[tuple[int, int, float | None]]:
    """The first candidates that are looked at: number, how many are alike, price of the order."""
    joins, sorts = "", "questions > 0, cost NULLS LAST, questions, number"
    if order == "room":
        make_rooms(found)
        joins, sorts = "JOIN rooms USING (number)", "questions > 0, room DESC NULLS LAST, number"
    if order == "work":
        sorts = f"{_least_work(found)}, clashes, cost NULLS LAST, number"
    return found.catalog.run(
        f"SELECT number, pieces, cost FROM {_KINDS} JOIN standing USING (number) {joins} "
        f"WHERE {_able(found, order)} ORDER BY {sorts} LIMIT {MOST_LOOKED}"
    )


def _count(found: Screen, order: Order) -> int:
    query = f"FROM {_KINDS} JOIN standing USING (number) WHERE {_able(found, order)}"
    return int(found.catalog.run(f"SELECT count(*) {query}")[0][0])


def _able(found: Screen, order: Order) -> str:
    """Which candidates may be of use: that nothing rules out, or nothing that no work mends."""
    return f"{_least_work(found)} < 1e9" if order == "work" else "clashes = 0"


def _least_work(found: Screen) -> str:
    """The hours that a candidate's clashes need at least."""
    bounds = [
        f"CASE WHEN r{i} = {CONFLICT} THEN {least_hours(found, rule)} ELSE 0e0 END"
        for i, rule in enumerate(found.rules)
        if rule.severity != "advice"
    ]
    return f"greatest({', '.join([*bounds, '0e0', '0e0'])})"


def _with_alike(found: Screen, one: Ranked) -> Ranked:
    """With the names of the parts that differ from it in nothing that counts."""
    if one.pieces == 1:
        return one
    slot = found.opening.slot
    same = " AND ".join(
        f'o."{name}" IS NOT DISTINCT FROM p."{name}"' for name in ["evidence", *_counting(found)]
    )
    rows = found.catalog.run(
        f'SELECT o.item FROM "{slot}" AS p JOIN "{slot}" AS o ON {same} '
        f"WHERE p.rowid = {one.offer.number} AND o.rowid <> p.rowid "
        f"ORDER BY o.price NULLS LAST, o.rowid LIMIT 4"
    )
    names = tuple(str(item) for (item,) in rows)
    return Ranked(one.offer, one.decided, one.cost, one.work, names, one.pieces)


def nearest(found: Screen, count: int) -> list[Ranked]:
    """The nearest misses: the fewest clashes first, then the least share of a figure missing."""
    most = found.catalog.run(
        "SELECT max(clashes) FROM (SELECT clashes FROM standing WHERE clashes > 0 "
        f"ORDER BY clashes LIMIT {count})"
    )[0][0]
    if most is None:
        return []
    near = f"SELECT number FROM standing WHERE clashes > 0 AND clashes <= {most}"
    make_rooms(found, f"WHERE number IN ({near})")
    rows = found.catalog.run(
        f"SELECT number, {found.need.sql} FROM standing JOIN rooms USING (number) "
        f'JOIN "{found.opening.slot}" AS p ON p.rowid = number '
        f"WHERE clashes > 0 AND clashes <= {most} "
        f"ORDER BY clashes, missing, questions, number LIMIT {count}"
    )
    decider = Decider(found.frame, found.build, told_names(found))
    return [
        Ranked(offer, decider.of((found.opening.slot, (offer.part,))), cost)
        for offer, (_, cost) in zip(found.offers([r[0] for r in rows]), rows, strict=True)
    ]
