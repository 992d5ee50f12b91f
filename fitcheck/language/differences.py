"""The margin of a comparison as a quantity, so that it can be bounded and shown like any other."""

from __future__ import annotations

from fitcheck.language.tree import Apply, Compare, Node


class Differences:
    """Makes the differences that comparisons ask about: one node for the same two figures."""

    def __init__(self) -> None:
        self._made: dict[tuple[Node, Node], Node] = {}

    def of(self, node: Compare) -> Node:
        """The margin of a comparison: at least zero where it holds."""
        if node.op[0] == "<":
            return self.between(node.right, node.left)
        return self.between(node.left, node.right)

    def between(self, more: Node, less: Node) -> Node:
        """The one less the other."""
        found = self._made.get((more, less))
        if found is None:
            found = self._made[more, less] = Apply(more.type, more.at, "-", (more, less))
        return found
