"""Small changes to a rule that its examples must notice.

Every limit moved one last digit either way, every comparison turned round, made strict or made
lax, every question about a choice answered the other way: a rule whose examples still hold with
one of these has examples that prove too little.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from fitcheck.check.proofs.examples import examples_of, outcome
from fitcheck.knowledge import Knowledge, Limit, Rule
from fitcheck.language import TRUTH, Compare, Is, Known, Node, Step
from fitcheck.language.rebuild import Rebuild
from fitcheck.language.tree import Among, Apply, Call, Same
from fitcheck.quantity import Interval
from fitcheck.source import Problem, frozen

_TURNED = {
    ">=": ("<=", ">"),
    ">": ("<", ">="),
    "<=": (">=", "<"),
    "<": (">", "<="),
    "==": ("!=",),
    "!=": ("==",),
}


@frozen
class Mutant:
    """A changed rule and what was changed."""

    rule: Rule
    change: str


def mutants(rule: Rule) -> Iterator[Mutant]:
    """Every small change to a rule."""
    for limit in rule.limits.values():
        for option, interval in _moved(limit):
            yield from _limit_mutants(rule, limit, option, interval)
    for node in _own_nodes(rule):
        match node:
            case Compare(op=op):
                for other in _TURNED[op]:
                    if _tells_apart(node, other):
                        yield _with(rule, node, replace(node, op=other), f"{op} read as {other}")
            case Is() | Same() | Among():
                negated = Apply(TRUTH, node.at, "not", (node,))
                yield _with(rule, node, negated, f"the question at {node.at[0]} turned round")


def _tells_apart(node: Compare, other: str) -> bool:
    """Whether any figures can tell a comparison from the other one.

    `>=` and `>` differ only where both sides are exactly equal, which a rounded figure never is.
    """
    return other[0] != node.op[0] or (_exact(node.left) and _exact(node.right))


def _exact(node: Node) -> bool:
    """Whether a quantity can come out without any rounding."""
    match node:
        case Call():
            return False
        case Known(kind=None):  # pi
            return False
        case Apply(op="agree", args=ways):
            return any(map(_exact, ways))
        case Apply(op="pick", args=(_, yes, no)):
            return _exact(yes) or _exact(no)
    return all(map(_exact, node.parts))


def survivors(rule: Rule, knowledge: Knowledge) -> list[str]:
    """The changes that no example of the rule notices."""
    return [mutant.change for mutant in mutants(rule) if not _noticed(mutant.rule, knowledge)]


def _noticed(rule: Rule, knowledge: Knowledge) -> bool:
    fresh = knowledge.with_rules({rule.id: rule})
    problems: list[Problem] = []
    return any(
        outcome(rule, example, fresh, problems) != example.expected for example in examples_of(rule)
    )


def _moved(limit: Limit) -> Iterator[tuple[str, Interval]]:
    for option, quantity in limit.entries.items():
        low, high, step = quantity.lower, quantity.upper, quantity.step
        if low == high:
            yield option, Interval(low - step, high - step)
            yield option, Interval(low + step, high + step)
        else:
            yield option, Interval(low - step, high)
            yield option, Interval(low + step, high)
            yield option, Interval(low, high - step)
            yield option, Interval(low, high + step)


def _limit_mutants(rule: Rule, limit: Limit, option: str, interval: Interval) -> Iterator[Mutant]:
    old = limit.entries[option].interval
    # The node of the option is the one with its very interval object.
    for node in _walk_limit(limit.node):
        if isinstance(node, Known) and node.interval is old:
            where = f" for {option}" if option else ""
            direction = (
                "up" if (interval.lower, interval.upper) > (old.lower, old.upper) else "down"
            )
            yield _with(
                rule,
                node,
                replace(node, interval=interval),
                f"limit '{limit.name}'{where} moved {direction} to {interval}",
            )


def _walk_limit(node: Node) -> Iterator[Node]:
    yield node
    for part in node.parts:
        yield from _walk_limit(part)


def _own_nodes(rule: Rule) -> Iterator[Node]:
    """The nodes written in the rule itself: not those of limits or derived quantities."""

    def walk(node: Node) -> Iterator[Node]:
        yield node
        if not isinstance(node, Step):
            for part in node.parts:
                yield from walk(part)

    yield from walk(rule.requires)
    if rule.applies is not None:
        yield from walk(rule.applies)


def _with(rule: Rule, old: Node, new: Node, change: str) -> Mutant:
    rebuild = Rebuild({id(old): new})
    applies = rebuild(rule.applies) if rule.applies is not None else None
    return Mutant(replace(rule, requires=rebuild(rule.requires), applies=applies), change)
