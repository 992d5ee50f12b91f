"""The page of a rule, made from its own file: what, why, figures, examples, what mends it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rich.console import Console

from fitcheck.knowledge import Fix, Knowledge, Limit, Rule, Template
from fitcheck.language import Is, Known, Node, words
from fitcheck.quantity import System, show
from fitcheck.report.writer import Writer


def rule_page(rule: Rule, knowledge: Knowledge, system: System) -> Iterator[tuple[str, str]]:
    """The page as (heading, text) pairs; a heading may repeat for several lines."""
    file = rule.file
    name = FigureNames(knowledge, system, rule.limits)
    yield "Fault", f"{file.title} ({rule.severity}; {rule.family_words})"
    if rule.applies is not None:
        yield "Applies when", words(rule.applies, name)
    yield "Asks that", words(rule.requires, name)
    yield "Why", str(file.why)
    for limit in rule.limits.values():
        yield "Limit", _limit(limit, knowledge, system)
    if file.source:
        yield "Source", knowledge.sources[str(file.source)].words
    for cited in dict.fromkeys(limit.source for limit in rule.limits.values()):
        source = knowledge.sources[cited]
        if source.file.note is not None and not source.defines:
            yield "To look up", f"{source.words}: {source.file.note}"
    for heading, cases in (("Fits", file.examples.fits), ("Clashes", file.examples.conflict)):
        if cases:
            facts = {str(k): v for k, v in {**file.examples.given, **cases[0]}.items()}
            yield f"{heading}, for example", _facts(facts, knowledge)
    for fix in rule.fixes:
        yield "Mends it", _fix(fix, knowledge, name)
    for caution in file.cautions:
        found = knowledge.cautions[str(caution)].file
        yield "Mind", f"{found.title}: {found.text}"


def write_rule_page(rule: Rule, knowledge: Knowledge, console: Console, system: System) -> None:
    """Write the page to a console."""
    writer = Writer(console)
    writer.line(rule.id, "bold")
    for heading, text in rule_page(rule, knowledge, system):
        writer.labelled(f"{heading}:", text, indent=2)


class FigureNames:
    """Names nodes for the words printer: titles, and limits with their figures."""

    def __init__(
        self, knowledge: Knowledge, system: System, limits: Mapping[str, Limit] | None = None
    ) -> None:
        self.limits = limits or {}
        self.knowledge = knowledge
        self.system: System = system

    def __call__(self, node: Node) -> str:
        """The words for a named node."""
        if isinstance(node, Is):
            return self.options(node)
        name = getattr(node, "name", "")
        if name == "shortfall":
            return "what is missing"
        if name in self.limits:
            limit = self.limits[name]
            if limit.by is None:
                return show(limit.entries[""].interval, limit.kind, self.system)
            return f"the limit '{name.replace('_', ' ')}'"
        if isinstance(node, Known) and node.kind is not None:
            return show(node.interval, node.kind, self.system)
        return self.named(name)

    def named(self, name: str) -> str:
        """The title of a figure, given or derived."""
        if name in self.knowledge.derived:
            return str(self.knowledge.derived[name].file.title)
        return attribute_words(name, self.knowledge)

    def options(self, node: Is) -> str:
        """The options that a choice is held against."""
        attribute = self.knowledge.attributes[getattr(node.choice, "name", "side")]
        words_ = dict(zip(attribute.options, attribute.option_words, strict=True))
        return " or ".join(word for i, word in enumerate(words_.values()) if node.mask >> i & 1)

    def template(self, template: Template) -> str:
        """A template with what it will show named in brackets."""
        return "".join(
            before + (f"({words(template.nodes[name], self)})" if name else "")
            for before, name in template.pieces
        )


def attribute_words(name: str, knowledge: Knowledge) -> str:
    """An attribute's title with its part's."""
    attribute = knowledge.attributes.get(name)
    if attribute is None or "." not in name:
        return name.replace("_", " ")
    return knowledge.title_of(attribute)


def _limit(limit: Limit, knowledge: Knowledge, system: System) -> str:
    name = limit.name.replace("_", " ")
    source = knowledge.sources[limit.source].words
    why = f". {limit.why}" if limit.why else ""
    values = "; ".join(
        f"{option.replace('_', ' ')} {show(q.interval, q.kind, system)}".strip()
        for option, q in limit.entries.items()
    )
    return f"{name}: {values} ({source}){why}"


def _facts(facts: Mapping[str, object], knowledge: Knowledge) -> str:
    told = []
    for name, value in facts.items():
        attribute = knowledge.attributes.get(str(name))
        listed = value if isinstance(value, list) else [value]
        options = (
            dict(zip(attribute.options, attribute.option_words, strict=True)) if attribute else {}
        )
        shown = ", ".join(options.get(str(each), str(each)) for each in listed)
        told.append(f"{attribute_words(str(name), knowledge)} {shown}")
    return "; ".join(told)


def _fix(fix: Fix, knowledge: Knowledge, name: FigureNames) -> str:
    note = f" ({fix.note})" if fix.note else ""
    if fix.operation:
        return f"{knowledge.operations[fix.operation].file.title}{note}"
    title = knowledge.classes[fix.replace].title
    look_for = f": {name.template(fix.look_for)}" if fix.look_for else ""
    return f"replace the {title}{look_for}{note}"
