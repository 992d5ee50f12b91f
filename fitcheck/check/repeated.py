"""Figures said twice on evidence of one kind that do not meet: one of the two is wrong."""

from __future__ import annotations

from fitcheck.model import EngineBuild, Evidence, Statement
from fitcheck.quantity import Quantity

_KINDS = (Evidence.MEASURED, Evidence.CLAIMED)


def said_twice(build: EngineBuild) -> list[tuple[Statement, Statement]]:
    """The pairs of statements for the same places that can't both be so, the later second.

    A figure that was measured again on another day, or is only supposed, contradicts nothing.

    >>> from fitcheck.model import Layout
    >>> said_twice(EngineBuild("a build", "", Layout(2), {}, frozenset()))
    []
    """
    found: list[tuple[Statement, Statement]] = []
    last: dict[tuple[object, ...], Statement] = {}
    for parts in build.parts.values():
        for part in parts:
            for said in part.statements:
                if said.evidence not in _KINDS or said.supposed:
                    continue
                key = said.attribute.name, said.selector, said.evidence
                before = last.get(key)
                if before is not None and _apart(before, said):
                    found.append((before, said))
                last[key] = said
    return found


def _apart(one: Statement, other: Statement) -> bool:
    days = one.origin.when, other.origin.when
    if one.evidence is Evidence.MEASURED and days[0] != days[1]:
        return False
    a, b = one.value, other.value
    if isinstance(a, Quantity) and isinstance(b, Quantity):
        return not a.interval.meets(b.interval)
    return isinstance(a, int) and isinstance(b, int) and not a & b
