"""The knowledge with what the makers of a build's parts ask for in place of general limits."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.knowledge.base import Knowledge
from fitcheck.knowledge.parts import Rule, Source
from fitcheck.model import Asked, Build


def as_makers_ask(knowledge: Knowledge, build: Build) -> Knowledge:
    """The knowledge with the limits that the makers of a build's parts ask for.

    Rules of common practice are left out where a maker's figure was given that another rule holds
    to. What an earlier build asked for is left behind.
    """
    base = knowledge.before_makers or knowledge
    asked, hushed = build.asked, _hushed(base, build)
    if (asked, hushed) == (knowledge.asked, knowledge.hushed):
        return knowledge
    if not asked and not hushed:
        return base
    made = _with_asked(base, asked) if asked else replace(base)
    if not asked:
        made.by_level = base.by_level  # what is left out is passed over there
    made.rules = {name: rule for name, rule in made.rules.items() if name not in hushed}
    made.asked, made.hushed, made.before_makers = asked, hushed, base
    return made


def _hushed(base: Knowledge, build: Build) -> frozenset[str]:
    return frozenset(
        rule
        for statement in build.statements()
        for rule in base.hushed_by.get(statement.attribute.name, ())
    )


def _with_asked(base: Knowledge, asked: tuple[Asked, ...]) -> Knowledge:
    from fitcheck.knowledge.limits import source_of, with_limit, with_limits  # noqa: PLC0415

    rules: dict[str, Rule] = {}
    sources: dict[str, Source] = {}
    for one in asked:
        title = f"what the maker of the {base.classes[one.slot].title} asks, by {one.by}"
        source = f"maker {one.slot} {one.by}"
        sources[source] = source_of(source, title, one.place, "manual")
        rule = rules.get(one.rule, base.rules[one.rule])
        rules[one.rule] = with_limit(rule, one.limit, one.values, source, "", title)
    return with_limits(base, rules, sources, repr(asked))
