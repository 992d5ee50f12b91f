"""Conditions on figures and figures in words, for some facts."""

from __future__ import annotations

from collections.abc import Mapping

from fitcheck.check.needs import taken
from fitcheck.knowledge import Knowledge, kind_in
from fitcheck.knowledge.figures import Figures, figures_of_margin
from fitcheck.language import Compare, Node
from fitcheck.language.tree import Apply
from fitcheck.model import Fact
from fitcheck.quantity import Interval, System, show

__all__ = ["Figures", "may_hold", "show_node"]

Facts = Mapping[str, Fact]


def may_hold(condition: Node, facts: Facts, knowledge: Knowledge) -> bool:
    """Whether a condition can hold, by the choices and the figures known so far."""
    if isinstance(condition, Apply) and condition.op in ("and", "or"):
        join = all if condition.op == "and" else any
        return join(may_hold(part, facts, knowledge) for part in condition.args)
    if isinstance(condition, Compare) and condition.op in ("<", "<=", ">", ">="):
        margin = knowledge.differences.of(condition)
        greatest = figures_of_margin(condition, knowledge).of(facts)[id(margin)].upper
        return greatest >= 0 if condition.op.endswith("=") else greatest > 0
    return taken(condition, facts) is not False


def show_node(node: Node, interval: Interval, system: System) -> str:
    """A node's interval in the kind that its parts are shown in."""
    kind = kind_in(node)
    return show(interval, kind, system) if kind else "?"
