"""What one rule demands of the candidates for several open slots: which of them clash together.

Most of a rule's arithmetic is about one slot alone. That is computed once for each candidate;
candidates of which a rule reads the same are one key to it. Over keys a rule is a small table, or
where it has too many cells, one row of it at a time.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from fitcheck.knowledge import Rule
from fitcheck.language import CONFLICT, NEAR, SILENT
from fitcheck.language.plain import Plain, in_order
from fitcheck.language.spans import Span, SpanWalk
from fitcheck.model import Position
from fitcheck.screen.candidates import Array, Candidates
from fitcheck.screen.opening import Factor

CLEAR = SILENT  # whether it fits or is open is not asked of a set
INF = float("inf")
# A table of so many cells is made as a whole.
MOST_CELLS = 150_000
# Calculations that search a whole turn of the crank: they are asked for one set at a time.
DEAR = frozenset(("least_piston_to_valve",))
Alive = Mapping[str, Array]
# Which slots' candidates a node depends on: of all nodes that were looked at, as rules share many.
Reads = dict[Plain, frozenset[str]]


class _Place:
    """One factor of the rule: its conditions, with what concerns one slot alone cut off.

    `rooms` are its margins with their limits, where the room they leave counts.
    """

    def __init__(
        self, factor: Factor, reads: Reads, rooms: Sequence[tuple[Plain, ...]] = ()
    ) -> None:
        self.position = factor.positions[0]
        roots = [*factor.outcome.parts, *(tree for one in rooms for tree in one)]
        self.inputs: dict[str, list[Plain]] = {}
        self.values: dict[Plain, Array] = {}
        self.failed: dict[str, Array] = {}
        for node in in_order(roots, reads):
            reads[node] = _slots_of(node, reads)
        seen: set[Plain] = set()
        stack = list(roots)
        while stack:
            node = stack.pop()
            if node in seen:
                continue
            seen.add(node)
            if len(reads[node]) == 1:
                self.inputs.setdefault(next(iter(reads[node])), []).append(node)
            else:
                stack.extend(node.args)
        self.calls = {
            slot: [node for node in in_order(nodes) if node.op == "call"]
            for slot, nodes in self.inputs.items()
        }
        cut = {node for nodes in self.inputs.values() for node in nodes}
        self.walk = SpanWalk(roots, stop=cut)


def compute(demands: Iterable[RuleTable], candidates: Mapping[str, Candidates]) -> None:
    """Compute what concerns one slot alone, once for each candidate, for all rules together."""
    groups: dict[tuple[str, Position | None], list[_Place]] = {}
    for demand in demands:
        for place in demand.places:
            for slot in place.inputs:
                at = None if candidates[slot].everywhere else place.position
                groups.setdefault((slot, at), []).append(place)
    for (slot, at), places in groups.items():
        own = candidates[slot]
        nodes = list(
            dict.fromkeys(
                node for place in places for node in (*place.inputs[slot], *place.calls[slot])
            )
        )
        walk = SpanWalk(nodes)
        position = at or Position()
        keys = walk.variables
        spans = dict(zip(keys, map(_once, own.ends(keys, position)), strict=True))
        values = {
            node: np.broadcast_to(low, own.count)
            for node, (low, _) in zip(nodes, walk.over(spans), strict=True)
        }
        for place in places:
            place.values |= {node: values[node] for node in place.inputs[slot]}
            if place.calls[slot]:
                failed = [np.isnan(values[node]) for node in place.calls[slot]]
                place.failed[slot] = np.logical_or.reduce(failed)


def _once(values: Array) -> Span:
    return values, values


def _slots_of(node: Plain, reads: Reads) -> frozenset[str]:
    if node.op == "var":
        return frozenset((str(node.value[0]).partition(".")[0],))  # type: ignore[index]
    return frozenset[str]().union(*(reads[arg] for arg in node.args))


class RuleTable:
    """One rule over the candidates that are left.

    `slots` are those whose candidates it can tell apart; `keys[slot]` gives each candidate's key.
    With `rooms`, the margins of each factor, what fits and leaves less room than `floor`, as a
    share of the limit, is a clash too.
    """

    def __init__(
        self,
        rule: Rule,
        factors: Sequence[Factor],
        reads: Reads,
        rooms: Sequence[Sequence[tuple[Plain, ...]]] = (),
        floor: float = -INF,
    ) -> None:
        self.rule = rule
        self.floor = floor
        self.places = [
            _Place(factor, reads, own)
            for factor, own in zip(factors, rooms or [()] * len(factors), strict=True)
        ]
        self.positions = [p for factor in factors for p in factor.positions]
        self.dear = any(
            node.op == "call" and node.value[0].name in DEAR  # type: ignore[index]
            for place in self.places
            for node in place.walk.nodes
        )
        self.read = tuple(dict.fromkeys(slot for place in self.places for slot in place.inputs))
        self.slots: tuple[str, ...] = self.read
        self.keys: dict[str, Array] = {}
        self._shown: dict[str, Array] = {}  # for each key one candidate that has it
        self._table: Array | None = None
        self._rows: dict[tuple[int, ...], Array] = {}
        self._states: dict[tuple[int, ...], int] = {}

    def merge(self, alive: Alive) -> None:
        """Find the keys among the candidates left; a slot with one key no longer counts."""
        self._table, self._rows, self._states = None, {}, {}
        for slot in self.read:
            left = np.flatnonzero(alive[slot])
            told = [p.values[node] for p in self.places for node in p.inputs.get(slot, ())]
            told += [place.failed[slot] for place in self.places if slot in place.failed]
            once = {id(values): values for values in told}.values()
            shown, back = alike([values[left].astype(float) for values in once])
            keys = np.zeros(len(alive[slot]), np.intp)
            keys[left] = back
            self.keys[slot], self._shown[slot] = keys, left[shown]
        self.slots = tuple(slot for slot in self.read if len(self._shown[slot]) > 1)

    def size(self, slot: str) -> int:
        """How many keys a slot has."""
        return len(self._shown[slot])

    def example(self, slot: str, key: int) -> int:
        """A candidate that has a key."""
        return int(self._shown[slot][key])

    def state(self, chosen: Mapping[str, int]) -> int:
        """CLEAR, CONFLICT or NEAR for one candidate of each slot."""
        keys = tuple(int(self.keys[slot][chosen[slot]]) for slot in self.slots)
        found = self._states.get(keys)
        if found is None:
            own = {slot: chosen[slot] for slot in self.slots}
            found = self._states[keys] = int(np.max(self._over(own)))
        return found

    @property
    def cells(self) -> float:
        """How many cells the whole table has."""
        return float(np.prod([float(self.size(slot)) for slot in self.slots]))

    @property
    def tabled(self) -> bool:
        """Whether the whole table is made at once."""
        return self.cells <= MOST_CELLS and not self.dear

    def table(self) -> Array:
        """CLEAR, CONFLICT or NEAR for every combination of keys, an axis for each of `slots`."""
        if self._table is None:
            shape = tuple(self.size(slot) for slot in self.slots)
            spans = {slot: self._axis(slot, i, len(shape)) for i, slot in enumerate(self.slots)}
            self._table = np.broadcast_to(self._over(spans), shape)
        return self._table

    def row(self, slot: str, keys: Mapping[str, int]) -> Array:
        """The same along one slot, with the keys of the others given."""
        if self.tabled:
            at = tuple(slice(None) if one == slot else keys[one] for one in self.slots)
            found: Array = self.table()[at]
            return found
        known = tuple(keys[one] for one in self.slots if one != slot)
        row = self._rows.get(known)
        if row is None:
            chosen = {one: self._shown[one][keys[one]] for one in self.slots if one != slot}
            row = self._over({**chosen, slot: self._shown[slot]})
            row = self._rows[known] = np.broadcast_to(row, self.size(slot))
        return row

    def may_clash(self, alive: Alive) -> bool:
        """Whether any candidates left can clash, by the hull of what each slot has left."""
        self._shown = {slot: np.flatnonzero(alive[slot]) for slot in self.read}
        return bool(np.any(self._over(dict.fromkeys(self.read)) != CLEAR))

    def clear_of_rest(self, slot: str) -> Array:
        """For each key of a slot: CONFLICT where it clashes whatever the others are."""
        if self.tabled:
            others = tuple(i for i, one in enumerate(self.slots) if one != slot)
            return np.where((self.table() == CONFLICT).all(axis=others), CONFLICT, CLEAR)
        others_: dict[str, Any] = {one: None for one in self.slots if one != slot}
        found = self._over({**others_, slot: self._shown[slot]})
        return np.broadcast_to(found, self.size(slot))

    def _axis(self, slot: str, at: int, count: int) -> Array:
        shape = [1] * count
        shape[at] = self.size(slot)
        return self._shown[slot].reshape(shape)

    def _over(self, chosen: Mapping[str, Any]) -> Array:
        """The state for candidates chosen by number; None: anything that is left of the slot.

        With anything left open, CONFLICT is sure for all of it, and CLEAR too.
        """
        state: Any = np.zeros((), np.uint8)
        for place in self.places:
            given = {
                node: self._span(place.values[node], slot, chosen)
                for slot, nodes in place.inputs.items()
                for node in nodes
            }
            failed: list[Any] = [
                self._span(values, slot, chosen)[1] for slot, values in place.failed.items()
            ]
            answers = place.walk.over({}, given, failed)
            silent, fits, conflict, still_open = answers[:4]
            surely = conflict[0] & ~_b(silent[1]) & ~_b(fits[1])
            settled = _b(silent[0]) | _b(fits[0]) | (_b(still_open[0]) & ~_b(conflict[1]))
            own = np.where(surely, CONFLICT, np.where(settled, CLEAR, NEAR))
            if self.floor > -INF:
                for at in range(4, len(answers), 4):
                    least, most = _room(answers[at : at + 4])
                    short = fits[0] & ~_b(silent[1]) & (most < self.floor)
                    perhaps = _b(fits[1]) & ~_b(silent[0]) & (least < self.floor)
                    own = np.where(short, CONFLICT, np.where((own == CLEAR) & perhaps, NEAR, own))
            for one in failed:
                own = np.where(one, NEAR, own)
            state = np.maximum(state, own.astype(np.uint8))
        return np.asarray(state)

    def room(self, chosen: Mapping[str, int]) -> float:
        """The least room that a set leaves where the rule fits, as a share of its limit."""
        found = INF
        for place in self.places:
            given = {
                node: _once(place.values[node][chosen[slot]])
                for slot, nodes in place.inputs.items()
                for node in nodes
            }
            answers = place.walk.over({}, given)
            if bool(answers[1][0]) and not bool(answers[0][0]):
                for at in range(4, len(answers), 4):
                    found = min(found, float(_room(answers[at : at + 4])[0]))
        return found

    def _span(self, values: Array, slot: str, chosen: Mapping[str, Any]) -> Span:
        if slot not in chosen:  # one key is left, or nothing of the slot matters
            return _once(values[self._shown[slot][0]])
        if chosen[slot] is not None:
            return _once(values[chosen[slot]])
        left = values[self._shown[slot]]
        if left.dtype.kind in "iu":
            return np.bitwise_and.reduce(left), np.bitwise_or.reduce(left)
        if left.dtype.kind == "b":
            return left.all(), left.any()
        if np.isnan(left).any():  # a calculation that failed may say anything
            return np.asarray(-np.inf), np.asarray(np.inf)
        return left.min(), left.max()


def _room(ends: Sequence[Span]) -> Span:
    """What a margin is of its limit, at least and at most: as `fitcheck/check/room.py` has it."""
    (low, high), (margin, _) = (ends[0][0], ends[0][1]), ends[1]
    sides = [np.abs(end) for span in ends[2:4] for end in span]
    spans = [span for span in ends[2:4] if bool(np.any((span[0] < 0) & (span[1] > 0)))]
    most = np.maximum.reduce(np.broadcast_arrays(*sides))
    least = np.maximum(*(np.minimum(np.abs(a), np.abs(b)) for a, b in ends[2:4]))
    least = np.zeros_like(most) if spans else np.broadcast_to(least, most.shape)
    own = np.maximum(np.abs(low), np.abs(margin))
    most = np.where(most > 0, most, np.where(own > 0, own, 1.0))
    least = np.where(least > 0, least, np.minimum(most, 1e-30) if spans else most)
    return (
        np.where(low >= 0, low / most, low / least),
        np.where(high >= 0, high / least, high / most),
    )


def alike(columns: Sequence[Array]) -> tuple[Array, Array]:
    """The rows that differ, by the number of one of each, and which of them each row is."""
    codes: Array = np.zeros(len(columns[0]), np.int64)
    shown: Array = np.zeros(1, np.intp)
    for column in columns:
        if (column != column[0]).any():
            _, own = np.unique(column, return_inverse=True)
            joined = codes * (int(own.max()) + 1) + own
            _, shown, codes = np.unique(joined, return_index=True, return_inverse=True)
    return shown, codes


def _b(value: Any) -> Array:
    return np.asarray(value, dtype=bool)
