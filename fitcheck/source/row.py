"""A row of a list, wherever it was read from."""

from __future__ import annotations

from fitcheck.source.frozen import frozen
from fitcheck.source.place import Place
from fitcheck.source.yaml import Text


@frozen
class Row:
    """One row; `ended` is False for a last row that no line end follows."""

    cells: tuple[Text, ...]
    place: Place
    ended: bool

    @property
    def blank(self) -> bool:
        """Whether nothing stands in any cell."""
        return not any(cell.strip() for cell in self.cells)
