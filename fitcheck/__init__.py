"""fitcheck: do these top-end parts work together?

>>> import fitcheck
>>> build = fitcheck.read("catalog_demo/work_truck/build.yaml")  # doctest: +SKIP
>>> fitcheck.check(build)                                        # doctest: +SKIP
<Check of 'Inline-six work truck (invented)': 7 clash, 204 are open, 104 fit>

`fitcheck.face` describes what the functions give.
"""

from __future__ import annotations

import sys
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fitcheck.face import Answer, Build, Check
    from fitcheck.source import BadInput

__all__ = ["BadInput", "check", "measure", "plan", "reach", "read", "screen", "suppose"]
__version__ = "0.1.0"


# Each imports what it needs when it is called, so that a command pays only for what it uses.


def read(
    path: Path | str, *, rules: Path | str | None = None, house: Path | str | None = None
) -> Build:
    """A build file, asked by the rules of fitcheck, a folder beside them, a house's limits.

    Raises BadInput with every problem of the file and its place.
    """
    from fitcheck.face.asking import read as asked  # noqa: PLC0415

    return asked(path, rules=rules, house=house)


def _read(build: Build | Path | str) -> Build:
    return read(build) if isinstance(build, Path | str) else build


def check(build: Build | Path | str) -> Check:
    """Whether the parts of a build (or build file) work together."""
    return _read(build).check


def suppose(build: Build | Path | str, *changes: str) -> Build:
    """The build after changes, each as in "spring.rate=300 lbf/in", "shim=none"."""
    from fitcheck.face.asking import suppose as asked  # noqa: PLC0415

    return asked(_read(build), *changes)


def measure(build: Build | Path | str) -> Answer:
    """What to measure next, the most telling for the work first."""
    from fitcheck.face.asking import measure as asked  # noqa: PLC0415

    return asked(_read(build))


def reach(build: Build | Path | str, figure: str, at: str = "") -> Answer:
    """How far a figure, as in "cam.lobe_lift", can go, and the rule that ends it."""
    from fitcheck.face.asking import reach as asked  # noqa: PLC0415

    return asked(_read(build), figure, at)


def plan(
    build: Build | Path | str, prices: Path | str | None = None, *, seconds: float = 60
) -> Answer:
    """The cheapest work that leaves no clash, with its work order; or what leaves none."""
    from fitcheck.face.asking import plan as asked  # noqa: PLC0415

    return asked(_read(build), prices, seconds=seconds)


def screen(build: Build | Path | str, slot: str, catalog: Path | str, *, top: int = 5) -> Answer:
    """Which parts of a catalog, or of a list of parts, fit one slot; the cheapest first."""
    from fitcheck.face.asking import screen as asked  # noqa: PLC0415

    return asked(_read(build), slot, catalog, top=top)


def __getattr__(name: str) -> Any:
    if name == "BadInput":
        from fitcheck.source import BadInput  # noqa: PLC0415

        return BadInput
    raise AttributeError(f"module 'fitcheck' has no attribute '{name}'")


def __dir__() -> list[str]:
    return [*__all__, "__version__"]


class _Face(ModuleType):
    """The package; its functions stay under their names beside packages that are called the same.

    Importing `fitcheck.check` would put that package in the place of the function.
    """

    def __setattr__(self, name: str, value: Any) -> None:
        if not (isinstance(value, ModuleType) and name in __all__):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Face
