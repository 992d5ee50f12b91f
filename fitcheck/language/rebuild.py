"""A tree with some of its nodes replaced; what does not hold them is kept as it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fitcheck.language.tree import Among, Apply, Call, Compare, Is, Node, Power, Same, Step

_FIELDS: dict[type[Node], tuple[str, ...]] = {
    Step: ("inner",),
    Power: ("base",),
    Compare: ("left", "right"),
    Is: ("choice",),
    Same: ("left", "right"),
    Among: ("choice", "among"),
}


class Rebuild:
    """Replaces nodes, in one tree after another: what trees share they go on sharing.

    `new` gives the replacement by the old node's identity; the old nodes must outlive this.
    """

    def __init__(self, new: Mapping[int, Node]) -> None:
        self._made: dict[int, Node] = dict(new)
        self._kept: list[Node] = []  # so that no other node gets the identity of one seen

    def __call__(self, node: Node) -> Node:
        """The tree beneath a node, rebuilt."""
        found = self._made.get(id(node))
        if found is None:
            found = self._made[id(node)] = self._rebuilt(node)
            self._kept.append(node)
        return found

    def _rebuilt(self, node: Node) -> Node:
        if isinstance(node, Apply | Call):
            args = tuple(map(self, node.args))
            changed = any(a is not b for a, b in zip(args, node.args, strict=True))
            return replace(node, args=args) if changed else node
        new: dict[str, Any] = {}
        for name in _FIELDS.get(type(node), ()):
            part = getattr(node, name)
            made = self(part)
            if made is not part:
                new[name] = made
        return replace(node, **new) if new else node
