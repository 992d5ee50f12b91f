"""The candidates of one open slot as arrays: what each says, what each asks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from fitcheck.check.bind import Binding
from fitcheck.knowledge import Knowledge
from fitcheck.model import Build, Part, Position
from fitcheck.screen.opening import GIVEN, Opening
from fitcheck.screen.store import Catalog

Array = NDArray[Any]
Key = tuple[str, str]


class Candidates(Protocol):
    """Parts that may go into one slot, in a fixed order. A price that is not told is NaN.

    `everywhere` tells that each says the same of all positions.
    """

    slot: str
    everywhere: bool
    count: int
    prices: Array

    def ends(self, key: Key, position: Position) -> Array:
        """One end of one attribute of every candidate at a position."""
        ...

    def parts(self, numbers: Sequence[int]) -> list[Part]:
        """Some candidates as parts."""
        ...

    def names(self, numbers: Sequence[int]) -> list[str]:
        """What some candidates are called."""
        ...


class FromCatalog:
    """All parts of a class in a catalog; `where` leaves out some, as in "stock > 0"."""

    everywhere = True

    def __init__(self, catalog: Catalog, opening: Opening, where: str = "TRUE") -> None:
        self.slot = opening.slot
        self._catalog = catalog
        self._texts = catalog.inputs(opening.slot, opening.keep)
        self._known: dict[Key, Array] = {}
        self._where = where
        if catalog.count(opening.slot):
            rows = self._read("rowid, coalesce(price, 'nan'::DOUBLE)")
            self.numbers, self.prices = rows[0].astype(np.int64), rows[1].astype(float)
        else:
            self.numbers, self.prices = np.zeros(0, np.int64), np.zeros(0)
        self.count = len(self.numbers)

    def _read(self, texts: str) -> list[Array]:
        query = f'SELECT {texts} FROM "{self.slot}" WHERE {self._where} ORDER BY rowid'
        columns = self._catalog.connection.execute(query).fetchnumpy().values()
        return [np.ma.filled(column) for column in columns]

    def ends(self, key: Key, position: Position) -> Array:
        """One end of one attribute of every candidate, the same everywhere."""
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = self._read(self._texts[key])[0]
        return found

    def parts(self, numbers: Sequence[int]) -> list[Part]:
        """Some candidates as parts."""
        return [offer.part for offer in self._catalog.listed(self.slot, self._rows(numbers))]

    def names(self, numbers: Sequence[int]) -> list[str]:
        """What some candidates are called."""
        return [offer.item for offer in self._catalog.listed(self.slot, self._rows(numbers))]

    def _rows(self, numbers: Sequence[int]) -> list[int]:
        return [int(self.numbers[i]) for i in numbers]


class FromParts:
    """Parts at hand, which may say different things of different places."""

    everywhere = False

    def __init__(
        self,
        parts: Sequence[Part],
        emptied: Build,
        opening: Opening,
        knowledge: Knowledge,
        prices: Sequence[float | None] = (),
    ) -> None:
        self.slot = opening.slot
        self.count = len(parts)
        told = prices or [None] * len(parts)
        self.prices = np.array([float("nan") if p is None else p for p in told], float)
        self._parts = list(parts)
        self._bindings = [Binding(opening.fitted(emptied, part), knowledge) for part in parts]

    def ends(self, key: Key, position: Position) -> Array:
        """One end of one attribute of every candidate at a position."""
        name, end = key
        facts = [binding.fact(name, position) for binding in self._bindings]
        values = [fact.given if end == GIVEN else fact.end(end) for fact in facts]
        return np.array(values, dtype=None if values else float)

    def parts(self, numbers: Sequence[int]) -> list[Part]:
        """Some candidates as parts."""
        return [self._parts[i] for i in numbers]

    def names(self, numbers: Sequence[int]) -> list[str]:
        """What some candidates are called."""
        return [self._parts[i].name for i in numbers]
