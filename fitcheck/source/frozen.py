"""Frozen dataclasses that are made when they are first used.

Making a dataclass means writing and compiling its methods, about half a millisecond each. A command
imports a hundred and uses a third of them, and what is kept between runs is read back without any
of their methods.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from threading import RLock
from typing import Any, TypeVar, dataclass_transform, overload

C = TypeVar("C")
# What a dataclass makes, by the option that asks for it.
_METHODS = {
    "__init__": "init",
    "__repr__": "repr",
    "__eq__": "eq",
    "__hash__": "eq",
    "__setattr__": "frozen",
    "__delattr__": "frozen",
}
_FACTS = ("__dataclass_fields__", "__match_args__")
_MAKING = RLock()


@overload
def frozen(made: type[C], /) -> type[C]: ...
@overload
def frozen(*, eq: bool = True) -> Callable[[type[C]], type[C]]: ...


@dataclass_transform(frozen_default=True, field_specifiers=(dataclasses.field,))
def frozen(made: Any = None, /, *, eq: bool = True) -> Any:
    """Make a class a frozen dataclass, at its first use as one; without `eq` each is itself.

    >>> @frozen
    ... class Hole:
    ...     bore: float
    ...     depth: float = 1.0
    >>> Hole(2.0), Hole(2.0) == Hole(2.0, 1.0)
    (Hole(bore=2.0, depth=1.0), True)
    """
    how = {"frozen": True, "eq": eq}
    return made_late(made, how) if made is not None else lambda made: made_late(made, how)


def made_late(made: Any, how: dict[str, bool]) -> Any:
    """The class with methods in place that make it a dataclass, with these of its options."""
    names = [name for name, option in _METHODS.items() if how.get(option, True)]
    # What the class says itself stays, as in any dataclass.
    waiting = [name for name in names if name not in made.__dict__]

    def make() -> None:
        with _MAKING:  # another thread may have been first
            if isinstance(made.__dict__[_FACTS[0]], _Fact):
                for name in (*waiting, *_FACTS):
                    delattr(made, name)
                dataclasses.dataclass(**how)(made)

    for name in waiting:
        setattr(made, name, _made_first(name, make))
    for name in _FACTS:
        setattr(made, name, _Fact(name, make))
    return made


def _made_first(name: str, make: Callable[[], None]) -> Callable[..., Any]:
    """A method that makes the class and then does what it was called for."""

    def method(self: Any, *args: Any, **named: Any) -> Any:
        make()
        return getattr(self, name)(*args, **named)

    return method


class _Fact:
    """Something that a dataclass tells of itself: it is made where it is asked."""

    def __init__(self, name: str, make: Callable[[], None]) -> None:
        self.name = name
        self.make = make

    def __get__(self, instance: Any, owner: type[Any]) -> Any:
        self.make()
        return getattr(owner, self.name)
