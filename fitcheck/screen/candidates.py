"""The candidates of one open slot as arrays: what each says, what each asks."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from copy import copy
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from fitcheck.check.bind import Binding
from fitcheck.knowledge import Knowledge
from fitcheck.model import EngineBuild, Part, Position
from fitcheck.screen.cost import Need
from fitcheck.screen.opening import GIVEN, Opening
from fitcheck.screen.store import Catalog

Array = NDArray[Any]
Key = tuple[str, str]


class Candidates(Protocol):
    """Parts that may go into one slot, in a fixed order. A price that is not told is NaN.

    `everywhere` tells that each says the same of all positions; `told` are the attributes, by their
    short names, that any of them tells. `kits` is the kit that each comes in, "" for none.
    """

    slot: str
    everywhere: bool
    count: int
    prices: Array
    told: frozenset[str]
    kits: list[str]

    def ends(self, keys: Sequence[Key], position: Position) -> list[Array]:
        """Some ends of attributes of every candidate at a position, each an array."""
        ...

    def parts(self, number: int) -> tuple[Part, ...]:
        """A candidate as the part, or the parts, that go into the slot."""
        ...

    def names(self, numbers: Sequence[int]) -> list[str]:
        """What some candidates are called."""
        ...


class FromCatalog:
    """All parts of a class in a catalog; `where` leaves out some, as in "stock > 0".

    With `need` the prices are those of the whole order.
    """

    everywhere = True

    def __init__(
        self, catalog: Catalog, opening: Opening, where: str = "TRUE", need: Need | None = None
    ) -> None:
        self.slot = opening.slot
        self._catalog = catalog
        self._texts = catalog.inputs(opening.slot, opening.keep)
        self._known: dict[Key, Array] = {}
        self._where = where
        if catalog.count(opening.slot):
            price = need.sql if need is not None else "price"
            rows = self._read(f"rowid, coalesce({price}, 'nan'::DOUBLE)")
            self.numbers, self.prices = rows[0].astype(np.int64), rows[1].astype(float)
        else:
            self.numbers, self.prices = np.zeros(0, np.int64), np.zeros(0)
        self.count = len(self.numbers)
        self.told = frozenset(catalog.told(opening.slot))
        names = self._read("coalesce(kit, '')")[0] if self.count else ()
        self.kits = [str(kit) for kit in names]

    def _read(self, texts: str) -> list[Array]:
        query = f'SELECT {texts} FROM "{self.slot}" WHERE {self._where} ORDER BY rowid'
        columns = self._catalog.connection.execute(query).fetchnumpy().values()
        return [np.ma.filled(column) for column in columns]

    def ends(self, keys: Sequence[Key], position: Position) -> list[Array]:
        """Some ends of attributes of every candidate, the same everywhere: in one query."""
        new = [key for key in dict.fromkeys(keys) if key not in self._known]
        texts = ", ".join(f"{self._texts[key]} AS e{i}" for i, key in enumerate(new))
        self._known |= dict(zip(new, self._read(texts) if new else (), strict=True))
        return [self._known[key] for key in keys]

    def parts(self, number: int) -> tuple[Part, ...]:
        """A candidate as the part that goes into the slot."""
        return (self._catalog.listed(self.slot, self._rows([number]))[0].part,)

    def names(self, numbers: Sequence[int]) -> list[str]:
        """What some candidates are called."""
        return [offer.item for offer in self._catalog.listed(self.slot, self._rows(numbers))]

    def _rows(self, numbers: Sequence[int]) -> list[int]:
        return [int(self.numbers[i]) for i in numbers]


class FromParts:
    """Parts at hand, which may say different things of different places.

    A candidate is one part, or one for each side.
    """

    everywhere = False

    def __init__(
        self,
        candidates: Sequence[Part | tuple[Part, ...]],
        emptied: EngineBuild,
        opening: Opening,
        knowledge: Knowledge,
        prices: Sequence[float | None] = (),
        kits: Sequence[str] = (),
    ) -> None:
        self.slot = opening.slot
        self.count = len(candidates)
        parts = [part for one in candidates for part in (one if isinstance(one, tuple) else (one,))]
        self.told = frozenset(s.attribute.short_name for part in parts for s in part.statements)
        told = prices or [None] * len(candidates)
        self.prices = np.array([float("nan") if p is None else p for p in told], float)
        self.kits = list(kits) or [""] * len(candidates)
        self._candidates = [one if isinstance(one, tuple) else (one,) for one in candidates]
        self._bindings = [
            Binding(opening.fitted(emptied, *one), knowledge) for one in self._candidates
        ]

    def only(self, numbers: Sequence[int]) -> FromParts:
        """Some of these candidates."""
        some = copy(self)
        some._candidates = [self._candidates[i] for i in numbers]
        some._bindings = [self._bindings[i] for i in numbers]
        some.prices, some.count = self.prices[list(numbers)], len(numbers)
        some.kits = [self.kits[i] for i in numbers]
        return some

    def alike(self, name: str, position: Position) -> Hashable:
        """What all candidates say of an attribute at a position, to be compared."""
        return tuple(id(binding.fact(name, position)) for binding in self._bindings)

    def ends(self, keys: Sequence[Key], position: Position) -> list[Array]:
        """Some ends of attributes of every candidate at a position, each an array."""
        return [self._end(name, end, position) for name, end in keys]

    def _end(self, name: str, end: str, position: Position) -> Array:
        facts = [binding.fact(name, position) for binding in self._bindings]
        values = [fact.given if end == GIVEN else fact.end(end) for fact in facts]
        return np.array(values, dtype=None if values else float)

    def parts(self, number: int) -> tuple[Part, ...]:
        """A candidate as parts."""
        return self._candidates[number]

    def names(self, numbers: Sequence[int]) -> list[str]:
        """What some candidates are called."""
        return [self._candidates[i][0].name for i in numbers]
