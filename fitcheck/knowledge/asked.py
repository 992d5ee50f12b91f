"""The knowledge with what the makers of a build's parts ask for in place of general limits."""

from __future__ import annotations

from fitcheck.knowledge.base import Knowledge
from fitcheck.knowledge.parts import Citation, Rule
from fitcheck.model import EngineBuild, MakerLimit


def as_makers_ask(knowledge: Knowledge, build: EngineBuild) -> Knowledge:
    """The knowledge with the limits that the makers of a build's parts ask for."""
    base = knowledge.before_makers or knowledge
    if build.asked == knowledge.asked:
        return knowledge
    if not build.asked:
        return base
    made = _with_asked(base, build.asked)
    made.asked, made.before_makers = build.asked, base
    return made


def _with_asked(base: Knowledge, asked: tuple[MakerLimit, ...]) -> Knowledge:
    from fitcheck.knowledge.limits import source_of, with_limit, with_limits  # noqa: PLC0415

    rules: dict[str, Rule] = {}
    sources: dict[str, Citation] = {}
    for one in asked:
        title = f"what the maker of the {base.classes[one.slot].title} asks, by {one.by}"
        source = f"maker {one.slot} {one.by}"
        sources[source] = source_of(source, title, one.place, "manual")
        rule = rules.get(one.rule, base.rules[one.rule])
        rules[one.rule] = with_limit(rule, one.limit, one.values, source, "", title)
    return with_limits(base, rules, sources, repr(asked))
