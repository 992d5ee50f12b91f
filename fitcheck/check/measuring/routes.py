"""The routes by which a rule comes to its figures: for each figure known two ways, one of them."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import islice, product

from fitcheck.check.needs import taken
from fitcheck.language import Node, Variable
from fitcheck.language.tree import Apply
from fitcheck.model import Fact

MOST_ROUTES = 12


def routes(roots: list[Node], facts: Mapping[str, Fact]) -> list[tuple[str, ...]]:
    """The names read by all routes and along each, branches that are not taken left out."""
    twofold: dict[int, Node] = {}
    whole = _read(roots, facts, {}, twofold)
    found = [
        _read(roots, facts, dict(zip(twofold, chosen, strict=True)), {})
        for chosen in islice(product((0, 1), repeat=len(twofold)), MOST_ROUTES)
    ]
    return list(dict.fromkeys([whole, *found]))


def _read(
    roots: list[Node], facts: Mapping[str, Fact], chosen: dict[int, int], twofold: dict[int, Node]
) -> tuple[str, ...]:
    names: dict[str, None] = {}
    stack, seen = list(reversed(roots)), set()
    while stack:
        node = stack.pop()
        if id(node) in seen:
            continue
        seen.add(id(node))
        if isinstance(node, Variable):
            names[node.name] = None
        parts = node.parts
        if isinstance(node, Apply) and node.op == "agree":
            twofold[id(node)] = node
            parts = (parts[chosen[id(node)]],) if id(node) in chosen else parts
        elif isinstance(node, Apply) and node.op == "pick":
            settled = taken(parts[0], facts)
            parts = parts if settled is None else (parts[0], parts[1] if settled else parts[2])
        elif isinstance(node, Apply) and node.op in ("and", "or"):
            parts = parts if taken(node, facts) is None else ()
        stack.extend(reversed(parts))
    return tuple(names)
