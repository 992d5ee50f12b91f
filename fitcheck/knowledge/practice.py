"""Rules by what single practices ask for, where those of the trade differ on a limit."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

from fitcheck.knowledge.base import Knowledge
from fitcheck.knowledge.limits import with_limit
from fitcheck.knowledge.parts import Limit, Rule
from fitcheck.language import Compare, Compiled, Known, walk
from fitcheck.language.tree import Call
from fitcheck.quantity import Interval

# Of more limits than these, all are taken at their lower ends, or all at their upper ones.
_MOST_APART = 2


def by_practice(rule: Rule, knowledge: Knowledge) -> tuple[Compiled, ...]:
    """A rule's verdict with its limits as one practice or another has them, compiled once.

    None where everybody asks for the same. What fits by one of them is no fault by all of the
    trade: the builder decides. A maker's own figure is no practice.
    """
    key = ("practice", rule.id)
    found: tuple[Compiled, ...] | None = knowledge.figures.get(key)
    if found is None:
        found = knowledge.figures[key] = tuple(
            _compiled(rule, ends, knowledge) for ends in _practices(rule)
        )
    return found


def _practices(rule: Rule) -> list[dict[str, bool]]:
    """For each practice, whether it takes each limit that is a band at its upper end."""
    scatter = _in_what_is_reckoned(rule)
    wide = [
        limit.name
        for limit in rule.limits.values()
        if not limit.maker and _width(limit) and not _nodes(limit) & scatter
    ]
    if not wide:
        return []
    ends = (False, True)
    all_ends = (
        product(ends, repeat=len(wide))
        if len(wide) <= _MOST_APART
        else ((end,) * len(wide) for end in ends)
    )
    return [dict(zip(wide, one, strict=True)) for one in all_ends]


def _nodes(limit: Limit) -> set[int]:
    return {id(node) for node in walk(limit.node) if isinstance(node, Known)}


def _in_what_is_reckoned(rule: Rule) -> set[int]:
    """What stands in the figure that is judged: the error of an estimate, how a metal varies.

    Nobody asks for that: it is no practice, and a finer figure narrows it.
    """
    found: set[int] = set()
    for root in rule.roots:
        for node in walk(root):
            if isinstance(node, Compare):
                found |= {id(one) for one in walk(node.left)}
            elif isinstance(node, Call):
                found |= {id(one) for one in walk(node)}
    return found


def _width(limit: Limit) -> bool:
    return any(quantity.interval.width for quantity in limit.entries.values())


def _compiled(rule: Rule, ends: dict[str, bool], knowledge: Knowledge) -> Compiled:
    from fitcheck.language import TRUE, Condition, compile_verdicts  # noqa: PLC0415  rarely

    for name, upper in ends.items():
        limit = rule.limits[name]
        values = {
            option: replace(
                quantity,
                interval=Interval.point(
                    quantity.interval.upper if upper else quantity.interval.lower
                ),
            )
            for option, quantity in limit.entries.items()
        }
        rule = with_limit(rule, name, values, limit.source, limit.why)
    lowering = knowledge.lowering
    applies = lowering.truth(rule.applies) if rule.applies else (TRUE, TRUE)
    condition = Condition(applies, tuple(lowering.clauses(rule.requires)))
    return compile_verdicts([condition], "exact")
