"""What kits tie together when sets are sought: a table for each two slots, like that of a rule."""

from __future__ import annotations

from collections.abc import Mapping
from types import SimpleNamespace
from typing import Any, cast

import numpy as np

from fitcheck.language import CONFLICT, SILENT
from fitcheck.screen.candidates import Array, Candidates
from fitcheck.screen.demands import Alive, RuleTable


class KitTable(RuleTable):
    """What of two slots can be chosen together: the parts of one kit, or of none that has both.

    A table like that of a rule, which clashes for all else; `kits` numbers the kits that bring both
    for each candidate, nought for those in none.
    """

    def __init__(self, kits: Mapping[str, Array]) -> None:
        slots = tuple(kits)
        self.rule = cast("Any", SimpleNamespace(id=f"kits of {' and '.join(slots)}"))
        self.floor = -float("inf")
        self.places, self.positions, self.dear = [], [], False
        self.read = self.slots = slots
        self.keys, self._shown = {}, {}
        self._table, self._rows, self._states = None, {}, {}
        self._kits = kits

    def merge(self, alive: Alive) -> None:
        """Find the keys among the candidates left: the kits, and one for all that are in none."""
        self._table, self._rows, self._states = None, {}, {}
        for slot in self.read:
            left = np.flatnonzero(alive[slot])
            _, shown, back = np.unique(
                self._kits[slot][left], return_index=True, return_inverse=True
            )
            keys = np.zeros(len(alive[slot]), np.intp)
            keys[left] = back
            self.keys[slot], self._shown[slot] = keys, left[shown]
        self.slots = tuple(slot for slot in self.read if len(self._shown[slot]) > 1)

    def may_clash(self, alive: Alive) -> bool:
        """Whether any kit is left."""
        return any(bool(self._kits[slot][alive[slot]].any()) for slot in self.read)

    def clear_of_rest(self, slot: str) -> Array:
        """For each key of a slot: CONFLICT where nothing of the other slot goes with it."""
        (other,) = (one for one in self.read if one != slot)
        there = self._kits[other][self._shown[other]]
        return np.where(np.isin(self._kits[slot][self._shown[slot]], there), SILENT, CONFLICT)

    def _over(self, chosen: Mapping[str, Any]) -> Array:
        first, second = (
            self._kits[slot][chosen.get(slot, self._shown[slot][0])] for slot in self.read
        )
        return np.asarray(np.where(first != second, CONFLICT, SILENT).astype(np.uint8))


def kit_tables(candidates: Mapping[str, Candidates]) -> list[KitTable]:
    """A table for each two slots that some kit brings parts for."""
    found = []
    slots = list(candidates)
    for at, slot in enumerate(slots):
        for other in slots[at + 1 :]:
            own, others = candidates[slot].kits, candidates[other].kits
            both = sorted(set(own) & set(others) - {""})
            if both:
                numbers = {kit: number for number, kit in enumerate(both, 1)}
                kits = {
                    name: np.array([numbers.get(kit, 0) for kit in some])
                    for name, some in ((slot, own), (other, others))
                }
                found.append(KitTable(kits))
    return found
