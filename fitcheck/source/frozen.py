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
}
_FACTS = ("__match_args__", "__dataclass_fields__")
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
    # What the class says itself stays, as in any dataclass.
    own = dict(made.__dict__)
    waiting = [
        name for name, option in _METHODS.items() if how.get(option, True) and name not in own
    ]

    def make() -> None:
        with _MAKING:
            if isinstance(made.__dict__[_FACTS[-1]], _Fact):  # no other thread was first
                _make(made, own, how, waiting)

    made.__setattr__ = made.__delattr__ = _refuse
    for name in waiting:
        setattr(made, name, _made_first(name, make))
    for name in _FACTS:
        setattr(made, name, _Fact(name, make))
    return made


def _make(made: Any, own: dict[str, Any], how: dict[str, bool], waiting: list[str]) -> None:
    """Put the methods of a dataclass in their places, one for one: other threads may ask for them.

    They are those of a twin, as a dataclass takes no methods away that stand there already.
    """
    space = {name: value for name, value in own.items() if name not in ("__dict__", "__weakref__")}
    space["__qualname__"] = made.__qualname__
    twin = dataclasses.dataclass(**how)(type(made)(made.__name__, made.__bases__, space))
    for name in space.keys() & made.__dict__.keys():
        if isinstance(space[name], dataclasses.Field):
            delattr(made, name)
            if name in twin.__dict__:
                setattr(made, name, twin.__dict__[name])
    for name in (*waiting, "__dataclass_params__", *_FACTS):
        setattr(made, name, twin.__dict__[name])


def _refuse(self: Any, name: str, *value: Any) -> None:
    doing = "assign to" if value else "delete"
    raise dataclasses.FrozenInstanceError(f"cannot {doing} field {name!r}")


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
