"""In which kind of quantity a figure is shown, and the figure that is missing."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from fitcheck.language import Compare, Node, Variable, walk
from fitcheck.quantity import KINDS, Interval, Kind


def margin_kind(requires: Node) -> Kind | None:
    """The kind of the margin by which a rule holds or fails; None where it has none."""
    for node in walk(requires):
        if isinstance(node, Compare) and node.op not in ("==", "!="):
            return kind_in(node.left) or kind_in(node.right)
    return None


@lru_cache(maxsize=2**12)  # a node is equal to itself alone
def kind_in(node: Node) -> Kind | None:
    """The kind in which a quantity is best shown: that of a named part with its dimension."""
    for found in walk(node):
        kind = getattr(found, "kind", None)
        if kind is not None and found.type == node.type:
            return kind  # type: ignore[no-any-return]
    return next((kind for kind in KINDS.values() if kind.dimension == node.type), None)


def shortfall(kind: Kind) -> Variable:
    """The variable by which a fix reads how much is missing."""
    return Variable(
        kind.dimension, (0, 9), "shortfall", kind, Interval(Fraction(0), Fraction(10**9))
    )
