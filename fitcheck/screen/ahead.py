"""What the slots not yet taken cost at least: tables folded into each other, slot by slot.

A slot is folded away by adding up all tables that mention it and keeping, for each combination of
the others, what is least (bucket elimination, R. Dechter, Artificial Intelligence 113, 1999). The
axes of a table are keys, not candidates, so tables stay small. Where one would still be too large
its parts are folded apart: the bound is then below what is true, never above.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import prod

import numpy as np

from fitcheck.screen.candidates import Array
from fitcheck.screen.demands import alike

MOST_CELLS = 3_000_000


@dataclass(frozen=True, slots=True, eq=False)
class CostTable:
    """Costs by the keys of some slots; `keys` gives each candidate's. `sender`: folded away."""

    slots: tuple[str, ...]
    keys: Mapping[str, Array]
    cost: Array
    sender: str = ""

    def along(self, slot: str, left: Array, chosen: Mapping[str, int]) -> Array:
        """The costs of the candidates of one slot, those of the others being chosen."""
        at = tuple(
            slice(None) if one == slot else self.keys[one][chosen[one]] for one in self.slots
        )
        found: Array = self.cost[at][self.keys[slot][left]]
        return found


class Ahead:
    """The order in which slots are taken, and for each slot the tables that end with it."""

    def __init__(
        self,
        tables: Sequence[CostTable],
        left: Mapping[str, Array],
        alone: Mapping[str, Array],
        late: Mapping[str, int],
    ) -> None:
        """`late` says of each slot how much speaks against folding it away early."""
        self._left, self._alone = left, alone
        self.sent: dict[str, list[CostTable]] = {slot: [] for slot in left}
        self.constant: dict[str, float] = {}
        self.order: list[str] = []
        rest, waiting = set(left), list(tables)
        while rest:
            slot = min(sorted(rest), key=lambda one: (late[one], self._cells(one, waiting)))
            rest.remove(slot)
            own = [table for table in waiting if slot in table.slots]
            self.sent[slot] = [table for table in own if table.sender]
            waiting = [table for table in waiting if slot not in table.slots]
            waiting += self._folded(slot, own)
            self.order.insert(0, slot)

    def _cells(self, slot: str, tables: Sequence[CostTable]) -> float:
        own = [table for table in tables if slot in table.slots]
        slots = {one for table in own for one in table.slots}
        sizes = [
            min(
                len(self._left[one]),
                prod(t.cost.shape[t.slots.index(one)] for t in own if one in t.slots),
            )
            for one in slots
        ]
        return float(prod(sizes))

    def _folded(self, slot: str, own: Sequence[CostTable]) -> list[CostTable]:
        """The tables left after a slot is folded away."""
        parts: list[list[CostTable]] = []
        for table in sorted(own, key=lambda one: -one.cost.size):
            for part in parts:
                if self._joint_cells(slot, [*part, table]) <= MOST_CELLS:
                    part.append(table)
                    break
            else:
                parts.append([table])
        found = []
        for number, part in enumerate(parts or [[]]):
            table = self._fold(slot, part, with_alone=number == 0)
            if table.slots:
                found.append(table)
            else:
                self.constant[slot] = self.constant.get(slot, 0.0) + float(table.cost)
        return found

    def _joint(
        self, slots: Sequence[str], tables: Sequence[CostTable]
    ) -> dict[str, tuple[Array, Array]]:
        """For each slot one candidate of each joint key, and the key of each candidate left."""
        found = {}
        for slot in slots:
            left = self._left[slot]
            columns = [table.keys[slot][left] for table in tables if slot in table.slots]
            found[slot] = alike(columns or [np.zeros(len(left))])
        return found

    def _joint_cells(self, slot: str, tables: Sequence[CostTable]) -> float:
        slots = dict.fromkeys([slot, *(one for table in tables for one in table.slots)])
        return float(prod(len(shown) for shown, _ in self._joint(list(slots), tables).values()))

    def _fold(self, slot: str, tables: Sequence[CostTable], *, with_alone: bool) -> CostTable:
        slots = list(dict.fromkeys([slot, *(one for table in tables for one in table.slots)]))
        joint = self._joint(slots, tables)
        total = np.zeros([len(joint[one][0]) for one in slots])
        if with_alone:
            least = np.full(len(joint[slot][0]), np.inf)
            np.minimum.at(least, joint[slot][1], self._alone[slot][self._left[slot]])
            total += least.reshape([-1] + [1] * (len(slots) - 1))
        for table in tables:
            at = [table.keys[one][self._left[one][joint[one][0]]] for one in table.slots]
            axes = sorted(range(len(at)), key=lambda i: slots.index(table.slots[i]))
            cost = table.cost[np.ix_(*at)].transpose(axes)
            inside = iter(cost.shape)
            shape = [next(inside) if one in table.slots else 1 for one in slots]
            total += cost.reshape(shape)
        keys = {}
        for one in slots[1:]:
            key = np.zeros(int(self._left[one].max()) + 1, np.intp)
            key[self._left[one]] = joint[one][1]
            keys[one] = key
        return CostTable(tuple(slots[1:]), keys, total.min(axis=0), slot)
