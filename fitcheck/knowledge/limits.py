"""Limits set over those of the rules: by a shop for all its work, by a maker for his part.

Who sets a limit must say why, or by whom; every answer that rests on it says so.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace

from fitcheck.knowledge.base import Knowledge
from fitcheck.knowledge.files import SourceFile
from fitcheck.knowledge.parts import Citation, Rule
from fitcheck.language import Known, Node, walk
from fitcheck.language.rebuild import Rebuild
from fitcheck.quantity import Quantity
from fitcheck.source import Place, Text


def source_of(name: str, title: str, place: Place, kind: str = "practice") -> Citation:
    """A source for a limit that is set over a rule's own."""
    return Citation(name, SourceFile(title=Text(title, place), kind=Text(kind, place)))


def with_limit(
    rule: Rule, name: str, values: dict[str, Quantity], source: str, why: str, maker: str = ""
) -> Rule:
    """The rule made again with a limit's values replaced everywhere in it."""
    limit = rule.limits[name]
    old = {id(node): node for node in walk(limit.node) if isinstance(node, Known)}
    new: dict[int, Node] = {}
    for option, quantity in values.items():
        # The node of an option is the one with its very interval.
        before = limit.entries[option].interval
        for node in old.values():
            if node.interval is before:
                new[id(node)] = replace(node, interval=quantity.interval)
    rebuild = Rebuild(new)
    entries = {**limit.entries, **values}
    changed = replace(
        limit, entries=entries, node=rebuild(limit.node), source=source, why=why, maker=maker
    )
    message = replace(rule.message, nodes=_all(rebuild, rule.message.nodes))
    fixes = tuple(
        replace(
            fix,
            amount=rebuild(fix.amount) if fix.amount else None,
            look_for=replace(fix.look_for, nodes=_all(rebuild, fix.look_for.nodes))
            if fix.look_for
            else None,
            when=rebuild(fix.when) if fix.when else None,
        )
        for fix in rule.fixes
    )
    return replace(
        rule,
        limits={**rule.limits, limit.name: changed},
        message=message,
        fixes=fixes,
        requires=rebuild(rule.requires),
        applies=rebuild(rule.applies) if rule.applies else None,
    )


def _all(rebuild: Rebuild, nodes: dict[str, Node]) -> dict[str, Node]:
    return {name: rebuild(node) for name, node in nodes.items()}


def with_limits(
    knowledge: Knowledge, rules: dict[str, Rule], sources: dict[str, Citation], text: str
) -> Knowledge:
    """The knowledge with some rules and sources made again; `text` says what was set."""
    digest = hashlib.sha256(text.encode()).hexdigest()[:6]
    made = replace(
        knowledge.with_rules({**knowledge.rules, **rules}),
        sources={**knowledge.sources, **sources},
        digest=f"{knowledge.digest}-{digest}",
    )
    made.forget()
    made.keep_compiled(knowledge)
    return made
