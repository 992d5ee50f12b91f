"""Which facts a verdict waits for.

Not every fact a rule can read matters in each case: a branch that is not taken does not, nor
does a second way to a figure that is known by the first.
"""

from __future__ import annotations

from collections.abc import Mapping

from fitcheck.knowledge import Rule
from fitcheck.language import Is, Node, Variable
from fitcheck.language.tree import Apply
from fitcheck.model import Fact

Facts = Mapping[str, Fact]
# What is missing beneath each node that was asked about, by its id, for the same facts.
Missing = dict[int, dict[str, None]]


def missing_in(rule: Rule, facts: Facts) -> list[str]:
    """The names of the facts that nobody gave and that the rule waits for."""
    memo: Missing = {}
    found: dict[str, None] = {}
    for root in rule.roots:
        found |= _missing(root, facts, memo)
    return list(found)


def missing(node: Node, facts: Facts, memo: Missing | None = None) -> list[str]:
    """The names of the facts that nobody gave and that a figure waits for."""
    return list(_missing(node, facts, {} if memo is None else memo))


def _missing(node: Node, facts: Facts, memo: Missing) -> dict[str, None]:
    found = memo.get(id(node))
    if found is None:
        found = memo[id(node)] = _find(node, facts, memo)
    return found


def _find(node: Node, facts: Facts, memo: Missing) -> dict[str, None]:
    parts = node.parts
    if isinstance(node, Variable):
        return {} if facts[node.name].given else {node.name: None}
    if isinstance(node, Apply) and node.op == "agree":
        ways = [_missing(part, facts, memo) for part in parts]
        if not all(ways):
            return {}
        # The way that lacks least is the one to ask for.
        return min(ways, key=len)
    if isinstance(node, Apply) and node.op in ("stated", "measured", "alike"):
        return {}  # who told what is known
    if isinstance(node, Apply) and node.op in ("and", "or") and taken(node, facts) is not None:
        return {}
    if isinstance(node, Apply) and node.op == "pick":
        settled = taken(parts[0], facts)
        if settled is not None:
            parts = (parts[1] if settled else parts[2],)
    found: dict[str, None] = {}
    for part in parts:
        found |= _missing(part, facts, memo)
    return found


def taken(condition: Node, facts: Facts) -> bool | None:
    """Whether the choices told so far settle a condition, and how."""
    if isinstance(condition, Is) and isinstance(condition.choice, Variable):
        mask = facts[condition.choice.name].mask
        if not mask & ~condition.mask:
            return True
        return None if mask & condition.mask else False
    if isinstance(condition, Apply) and condition.op == "stated":
        (told,) = condition.args
        return facts[told.name].given if isinstance(told, Variable) else None
    if isinstance(condition, Apply) and condition.op == "not":
        inner = taken(condition.args[0], facts)
        return None if inner is None else not inner
    if isinstance(condition, Apply) and condition.op in ("and", "or"):
        found = [taken(arg, facts) for arg in condition.args]
        decisive = condition.op == "or"
        return decisive if decisive in found else None if None in found else not decisive
    return None
