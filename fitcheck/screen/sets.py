"""The best complete sets for several open slots: exact, by searching along what meets.

Slots are taken in an order in which those that large rules tie together come first. What the slots
not yet taken cost at least is known from tables (see `ahead.py`); a rule too large for a table is
asked as soon as all but one of its slots are taken. The cheapest unfinished set is always taken up
next, so sets are found in their order, and the first k are the best k.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count
from typing import Any, Literal

import numpy as np

from fitcheck.knowledge import Rule
from fitcheck.language import CONFLICT, FITS, NEAR
from fitcheck.screen.ahead import Ahead, CostTable
from fitcheck.screen.candidates import Array, Candidates
from fitcheck.screen.demands import CLEAR, Reads, RuleTable, compute
from fitcheck.screen.kit_tables import kit_tables
from fitcheck.screen.opening import Factor, Frame, by_rule
from fitcheck.screen.rooms import demands_of
from fitcheck.screen.screening import standing_of

By = Literal["price", "operations", "work"]
# Costs are whole hundredths: sums of them are exact, and sets of one price are seen to be so.
HUNDREDTHS = 100
# A clash that an operation mends costs more than any price.
WORK = 1e11
INF = float("inf")


@dataclass(frozen=True, slots=True)
class FoundSet:
    """One complete set: a candidate's number for each slot, its price, the clashes to be mended."""

    chosen: Mapping[str, int]
    price: float
    unpriced: int
    clashes: tuple[str, ...]


class OpenSlots:
    """The open slots of a frame with their candidates: which rules tie which of them together.

    `floor` is the least room that a set must leave, as a share of a limit; with one, rooms are
    known. By work, a clash that machine work mends adds what `labour` says of its rule.
    """

    def __init__(
        self,
        frame: Frame,
        candidates: Mapping[str, Candidates],
        by: By = "price",
        without: frozenset[str] = frozenset(),
        decide: Callable[[RuleTable, Mapping[str, int]], bool] | None = None,
        floor: float | None = None,
        labour: Callable[[Rule], float] = lambda _: 1.0,
    ) -> None:
        self.frame = frame
        self.candidates = candidates
        self.by = by
        self.slots = list(candidates)
        self._decide = decide or self._exactly
        self._decided: dict[tuple[Any, ...], bool] = {}
        self.alive = {slot: np.ones(own.count, bool) for slot, own in candidates.items()}
        self.fixed = {slot: self._asked(own.prices) for slot, own in candidates.items()}
        # Rules of one slot whose clash is mended, and which of its candidates have it.
        self.worked: list[tuple[str, str, Array]] = []
        groups = by_rule(
            factor
            for factor in frame.factors
            if factor.rule.severity != "advice" and factor.rule.id not in without
        )
        self.floor = floor
        self._reads: Reads = {}
        self._labour = labour
        self.demands = [self._demand(factors) for factors in groups.values()]
        self._every = list(self.demands)
        tied = kit_tables(candidates)
        if all(own.count for own in candidates.values()):
            compute(self.demands, candidates)
        self.mended = {demand.rule.id: self._by_work(demand) for demand in self.demands}
        self.mended |= {table.rule.id: False for table in tied}
        self.demands += tied
        self._narrow()

    def _demand(self, factors: Sequence[Factor]) -> RuleTable:
        if self.floor is None:
            return RuleTable(factors[0].rule, factors, self._reads)
        rooms = [demands_of(self.frame, factor) for factor in factors]
        return RuleTable(factors[0].rule, factors, self._reads, rooms, self.floor)

    def room(self, chosen: Mapping[str, int]) -> float:
        """The least room that a set leaves where a rule surely fits."""
        return min((demand.room(chosen) for demand in self._every), default=INF)

    def work_of(self, demand: RuleTable) -> float:
        """What a clash adds that work mends: more than any price."""
        hundredths = 100.0 if self.by == "operations" else round(self._labour(demand.rule) * 100)
        return WORK / 100 * hundredths

    def _by_work(self, demand: RuleTable) -> bool:
        return self.by != "price" and bool(self.frame.works(demand.rule))

    @staticmethod
    def _asked(prices: Array) -> Array:
        """What each candidate adds: its price; one not told counts as the dearest of its class."""
        told = prices[~np.isnan(prices)]
        whole = np.where(np.isnan(prices), told.max() if len(told) else 0.0, prices)
        return np.asarray(np.round(whole * HUNDREDTHS))

    def possible(self) -> bool:
        """Whether each slot has a candidate left."""
        return all(alive.any() for alive in self.alive.values())

    def _narrow(self) -> None:
        """Leave out what clashes by itself or with all that is left, and rules that never clash."""
        for demand in [d for d in self.demands if len(d.read) == 1]:
            self._alone(demand)
        changed = set(self.slots)
        large: set[RuleTable] = set()  # asked of ranges, which is dear and tells little: once
        while changed and self.possible():
            kept, again = [], set[str]()
            for demand in self.demands:
                if changed.isdisjoint(demand.read):
                    kept.append(demand)
                    continue
                if not demand.dear and not demand.may_clash(self.alive):
                    continue
                demand.merge(self.alive)
                kept.append(demand)
                if not (self.mended[demand.rule.id] or demand.dear or demand in large):
                    again |= {slot for slot in demand.slots if self._leave(slot, demand)}
                if not demand.tabled:
                    large.add(demand)
                if not self.possible():
                    return
            self.demands, changed = kept, again

    def _alone(self, demand: RuleTable) -> None:
        slot = demand.read[0]
        if not self.alive[slot].any():
            return
        demand.merge(self.alive)
        state = demand.row(slot, {}) if demand.slots else np.array([demand.state({})])
        clash = state == CONFLICT
        for key in np.flatnonzero(state == NEAR):
            clash = clash.copy()
            clash[key] = self.clashes(demand, {slot: demand.example(slot, int(key))})
        hit = clash[demand.keys[slot]]
        if self.mended[demand.rule.id]:
            self.fixed[slot] = self.fixed[slot] + self.work_of(demand) * hit
            self.worked.append((demand.rule.id, slot, hit))
        else:
            self.alive[slot] &= ~hit
        self.demands.remove(demand)

    def _leave(self, slot: str, demand: RuleTable) -> bool:
        clash = (demand.clear_of_rest(slot) == CONFLICT)[demand.keys[slot]] & self.alive[slot]
        self.alive[slot] &= ~clash
        return bool(clash.any())

    def clashes(self, demand: RuleTable, chosen: Mapping[str, int]) -> bool:
        """Whether a rule clashes for candidates too near a limit for floats: decided exactly."""
        key = (
            demand.rule.id,
            *(demand.keys[slot][chosen[slot]] for slot in demand.read if slot in chosen),
        )
        if key not in self._decided:
            self._decided[key] = self._decide(demand, chosen)
        return self._decided[key]

    def _exactly(self, demand: RuleTable, chosen: Mapping[str, int]) -> bool:
        build, told = self.frame.build, dict(chosen)
        for slot in demand.read:
            if slot not in told:
                told[slot] = int(np.flatnonzero(self.alive[slot])[0])
            number = told[slot]
            build = self.frame.openings[slot].fitted(build, *self.candidates[slot].parts(number))
        knowledge = self.frame.knowledge
        standing = standing_of(demand.rule, build, knowledge, demand.positions, [])
        short = self.floor is not None and standing == FITS and demand.room(told) < self.floor
        return standing == CONFLICT or short


class SetSearch:
    """Finds the best sets of a problem, one after the other."""

    def __init__(self, problem: OpenSlots) -> None:
        self.problem = problem
        self._left = {slot: np.flatnonzero(problem.alive[slot]) for slot in problem.slots}
        large = [demand for demand in problem.demands if not demand.tabled]
        late = {slot: sum(slot in demand.slots for demand in large) for slot in problem.slots}
        tables = [
            CostTable(demand.slots, demand.keys, self._costs(demand, demand.table() == CONFLICT))
            for demand in problem.demands
            if demand.slots and demand.tabled
        ]
        self._ahead = Ahead(tables, self._left, problem.fixed, late)
        self._order = self._ahead.order
        self._at = {slot: i for i, slot in enumerate(self._order)}
        self._asked: dict[str, list[RuleTable]] = {slot: [] for slot in self._order}
        self._dear: dict[str, list[RuleTable]] = {slot: [] for slot in self._order}
        self._early: dict[str, list[tuple[RuleTable, Array]]] = {slot: [] for slot in self._order}
        self._ground: list[RuleTable] = []
        for demand in problem.demands:
            self._place(demand)

    def _place(self, demand: RuleTable) -> None:
        """A rule is asked when its last slot is taken; its table tells something earlier."""
        if not demand.slots:
            self._ground.append(demand)
            return
        order = sorted(demand.slots, key=self._at.__getitem__)
        # What work mends has a cost, which must be known before the sets are put in order.
        if demand.dear and not self.problem.mended[demand.rule.id]:
            self._dear[order[-1]].append(demand)
            return
        self._asked[order[-1]].append(demand)
        if demand.tabled and not self.problem.mended[demand.rule.id]:
            table = demand.table() == CONFLICT
            for depth in range(len(order) - 1, 1, -1):
                rest = tuple(demand.slots.index(slot) for slot in order[depth:])
                early = table.all(axis=rest)
                if early.any():
                    self._early[order[depth - 1]].append((demand, early))

    def _costs(self, demand: RuleTable, clash: Array) -> Array:
        price = self.problem.work_of(demand) if self.problem.mended[demand.rule.id] else INF
        return np.where(clash, price, 0.0)

    def sets(self) -> Iterator[FoundSet]:
        """The sets, the best first."""
        if any(self._clash_of_ground()):
            return
        ticket = count()
        heap: list[tuple[float, int, int, _Node]] = []
        root = _Node({}, 0.0, self._ahead.constant, 0.0)
        self._push(heap, ticket, self._children(root))
        while heap:
            least, _, _, node = heapq.heappop(heap)
            if node.waiting is not None:
                self._push(heap, ticket, node.waiting)
            taken = node.taken
            if taken is None or least == INF or self._clashes(taken):
                continue
            if len(taken.chosen) < len(self._order):
                self._push(heap, ticket, self._children(taken))
                continue
            yield self._finished(taken)

    def _clashes(self, node: _Node) -> bool:
        """Whether a rule whose last slot was just taken clashes, where only asking it can tell.

        That is so of rules that are dear to ask, and of what is too near a limit for floats.
        """
        last = self._order[len(node.chosen) - 1]
        for demand in (*self._dear[last], *self._asked[last]):
            if not self.problem.mended[demand.rule.id]:
                state = demand.state(node.chosen)
                if state == CONFLICT or (
                    state == NEAR and self.problem.clashes(demand, node.chosen)
                ):
                    return True
        return False

    def _clash_of_ground(self) -> Iterator[bool]:
        """Rules that no candidate left can tell apart: they clash for all or for none."""
        for demand in self._ground:
            if self.problem.mended[demand.rule.id]:
                continue
            chosen = {slot: int(self._left[slot][0]) for slot in demand.read}
            state = demand.state(chosen)
            yield state == CONFLICT or (state == NEAR and self.problem.clashes(demand, chosen))

    def _push(self, heap: list[Any], ticket: Any, children: Iterator[_Node]) -> None:
        """Put the next child of a node on the heap; it brings the one after it when it is taken."""
        child = next(children, None)
        if child is not None and child.taken is not None:
            bound = max(child.least, 0.0)
            node = _Node(child.chosen, child.cost, child.open, child.least, child.taken, children)
            heapq.heappush(heap, (bound, -len(child.chosen), next(ticket), node))

    def _children(self, node: _Node) -> Iterator[_Node]:
        """The candidates for the next slot, the most promising first."""
        slot = self._order[len(node.chosen)]
        left, chosen = self._left[slot], node.chosen
        cost = self.problem.fixed[slot][left]
        for demand, early in self._early[slot]:
            at = tuple(
                slice(None) if one == slot else demand.keys[one][chosen[one]]
                for one in demand.slots
                if one == slot or one in chosen
            )
            cost = np.where(early[at][demand.keys[slot][left]], INF, cost)
        for demand in self._asked[slot]:
            if np.isinf(cost).all():
                return
            keys = {one: int(demand.keys[one][chosen[one]]) for one in demand.slots if one != slot}
            state = demand.row(slot, keys)
            if self.problem.mended[demand.rule.id]:
                state = self._decided(demand, state, slot, chosen)
            cost = cost + self._costs(demand, state == CONFLICT)[demand.keys[slot][left]]
        own: dict[str, Array] = {}
        for table in self._ahead.sent[slot]:
            own[table.sender] = own.get(table.sender, 0.0) + table.along(slot, left, chosen)
        still = {sender: value for sender, value in node.open.items() if sender != slot}
        ahead: Any = sum(own.values()) + sum(still.values())
        total = node.cost + cost + ahead
        for i in np.argsort(total, kind="stable"):
            if total[i] == INF:
                return
            opened = dict(still)
            for sender, values in own.items():
                opened[sender] = opened.get(sender, 0.0) + float(values[i])
            spent = node.cost + float(cost[i])
            taken = _Node({**chosen, slot: int(left[i])}, spent, opened, float(total[i]))
            yield _Node(taken.chosen, spent, opened, float(total[i]), taken)

    def _decided(
        self, demand: RuleTable, state: Array, slot: str, chosen: Mapping[str, int]
    ) -> Array:
        """The states along a slot with those too near a limit decided exactly."""
        near = np.flatnonzero(state == NEAR)
        if len(near):
            state = state.copy()
            for key in near:
                own = {**chosen, slot: demand.example(slot, int(key))}
                told = {one: own[one] for one in demand.read if one in own}
                state[key] = CONFLICT if self.problem.clashes(demand, told) else CLEAR
        return state

    def _finished(self, node: _Node) -> FoundSet:
        """A complete set, with the clashes that are to be mended."""
        problem = self.problem
        clashes = [id_ for id_, slot, hit in problem.worked if hit[node.chosen[slot]]]
        for demand in problem.demands:
            chosen = {slot: node.chosen[slot] for slot in demand.read}
            state = demand.state(chosen)
            if state == CONFLICT or (state == NEAR and problem.clashes(demand, chosen)):
                clashes.append(demand.rule.id)
        prices = [problem.candidates[slot].prices[number] for slot, number in node.chosen.items()]
        told = [float(price) for price in prices if not np.isnan(price)]
        return FoundSet(dict(node.chosen), sum(told), len(prices) - len(told), tuple(clashes))


@dataclass(slots=True)
class _Node:
    """A set so far: what it costs, what those still open cost at least, and its next brothers."""

    chosen: dict[str, int]
    cost: float
    open: dict[str, float]
    least: float
    taken: _Node | None = None
    waiting: Iterator[_Node] | None = None


def best_sets(problem: OpenSlots, wanted: int) -> list[FoundSet]:
    """The best `wanted` sets, in order; fewer where there are no more."""
    found: list[FoundSet] = []
    if not problem.possible():
        return found
    for one in SetSearch(problem).sets():
        found.append(one)
        if len(found) == wanted:
            break
    return found
