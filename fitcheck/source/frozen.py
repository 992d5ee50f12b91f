"""Dataclasses that nobody changes once they are made, in a word."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any, TypeVar, dataclass_transform, overload

C = TypeVar("C")


@overload
def frozen(made: type[C], /) -> type[C]: ...
@overload
def frozen(*, eq: bool = True) -> Callable[[type[C]], type[C]]: ...


@dataclass_transform(frozen_default=True, field_specifiers=(dataclasses.field,))
def frozen(made: Any = None, /, *, eq: bool = True) -> Any:
    """Make a class a dataclass that nobody changes; without `eq` each is itself.

    The type checker holds that. Were it held at every step of a run as well, making the classes
    alone would take a tenth of a command.

    >>> @frozen
    ... class Hole:
    ...     bore: float
    ...     depth: float = 1.0
    >>> Hole(2.0), Hole(2.0) == Hole(2.0, 1.0)
    (Hole(bore=2.0, depth=1.0), True)
    """
    dataclass = dataclasses.dataclass(eq=eq, unsafe_hash=eq)
    return dataclass if made is None else dataclass(made)
