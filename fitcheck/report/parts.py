"""What there is to say of parts: each figure, its units or options, how it is measured, which
questions it serves; what a part meets and what a change of it puts in question."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fitcheck.knowledge import Knowledge
from fitcheck.knowledge.graph import Questioned, figure_graph, meetings, questioned
from fitcheck.model import Attribute, PartClass
from fitcheck.quantity import KINDS, Interval, Kind, System, Tolerance, show
from fitcheck.quantity.units import unit_names
from fitcheck.report.phrases import capital, counted
from fitcheck.report.writer import Writer

if TYPE_CHECKING:
    from fitcheck.report.writer import Output

# Of the build's layout, or the part's own place: not written among a part's figures.
NOT_WRITTEN = ("present", "comes_with_head")
MOST_OPTIONS = 8
MOST_NAMED = 3


def written(part_class: PartClass) -> list[Attribute]:
    """The attributes that a build file can say of a part."""
    return [
        attribute
        for name, attribute in part_class.attributes.items()
        if name.partition(".")[2] not in NOT_WRITTEN
    ]


def value_words(attribute: Attribute, system: System) -> str:
    """What may be written for an attribute: a figure within a range, options, words.

    >>> value_words(Attribute("spring.damper", "damper", "valve", options=("no", "yes")), "inch")
    'yes or no'
    """
    if attribute.kind is not None and attribute.plausible is not None:
        what = "a whole number" if attribute.kind.name == "count" else "a figure"
        return f"{what} within {show(attribute.plausible, attribute.kind, system)}"
    if attribute.text:
        return "words"
    if attribute.flag:
        return "yes or no"
    some = "some of: " if attribute.several else "one of: "
    return some + ", ".join(attribute.options)


def tolerance_words(tolerance: Tolerance, kind: Kind, system: System) -> str:
    """A plus-minus: of the kind itself, or a share of the figure."""
    if tolerance.relative:
        kind = KINDS["share"]
    return f"+-{show(Interval.point(tolerance.amount), kind, system)}"


def measured_words(attribute: Attribute, knowledge: Knowledge) -> str:
    """How an attribute comes to be known; empty where nothing says how."""
    procedure = knowledge.procedures.get(attribute.measure)
    return f"{procedure.file.title} ({procedure.file.tool})" if procedure else ""


def write_parts(knowledge: Knowledge, output: Output) -> None:
    """All parts, with how much there is to say of each."""
    writer = Writer(output)
    writer.line("What a build file can list; 'fitcheck parts SLOT' tells what there is to say.")
    for part_class in sorted(knowledge.classes.values(), key=lambda one: one.title):
        own = written(part_class)
        rules = {rule.id for attribute in own for rule in knowledge.readers.get(attribute.name, ())}
        optional = ", may be left out" if part_class.optional else ""
        writer.labelled(
            f"{part_class.id}:",
            f"{part_class.title}{optional}; {counted(len(own), 'figure')} for "
            f"{counted(len(rules), 'question')}",
            indent=2,
            hang=4,
        )


class PartReport(Writer):
    """What there is to say of one part, or of one of its attributes."""

    def __init__(self, knowledge: Knowledge, output: Output, system: System) -> None:
        super().__init__(output)
        self.knowledge = knowledge
        self.system: System = system

    def part(self, part_class: PartClass) -> None:
        """A part, attribute by attribute."""
        optional = " An engine may do without it." if part_class.optional else ""
        self.line(f"{part_class.id}: {part_class.title}", "bold")
        self.line(f"{part_class.about}{optional}")
        for attribute in written(part_class):
            self.attribute(attribute)
        self.heading("What it meets")
        for other, mates in meetings(self.knowledge, part_class.id).items():
            self.labelled(f"{other}:", ", ".join(str(mate.file.title) for mate in mates), 2, 4)
        names = [attribute.name for attribute in written(part_class)]
        self.questioned(self._questioned(names))

    def attribute(self, attribute: Attribute) -> None:
        """One attribute in a few lines."""
        name = attribute.short_name
        about = f" ({attribute.about})" if attribute.about else ""
        self.labelled(f"{name}:", f"{attribute.title}{about}", 2, 4)
        value = value_words(attribute, self.system)
        if len(attribute.options) > MOST_OPTIONS:
            value = (
                f"one of {len(attribute.options)} options, listed by 'fitcheck parts "
                f"{attribute.name}'"
            )
        each = f"; one for each {attribute.each}" if attribute.each != "engine" else ""
        self.line(f"{value}{each}", indent=6)
        serves = self.knowledge.readers.get(attribute.name, [])
        how = measured_words(attribute, self.knowledge)
        named = [rule.id for rule in serves[:MOST_NAMED]]
        more = len(serves) - len(named)
        asked = ", ".join(named) + (f" and {more} more" if more else "")
        for text in (how, f"for {asked}" if asked else "for the record: no question reads it"):
            self.line(capital(text), "dim", indent=6)

    def one(self, attribute: Attribute) -> None:
        """One attribute in full."""
        self.line(f"{attribute.name}: {attribute.title}", "bold")
        self.line(capital(attribute.about))
        worded = any(o != w for o, w in zip(attribute.options, attribute.option_words, strict=True))
        value = value_words(attribute, self.system)
        self.labelled("Write:", capital(value.partition(": ")[0] + ":" if worded else value))
        if attribute.kind is not None:
            names = [name for name in unit_names(attribute.kind) if name]
            self.labelled("Units:", ", ".join(names))
        for option, words in zip(attribute.options, attribute.option_words, strict=True):
            if worded:
                self.line(f"- {option}: {words}", indent=5)
        if attribute.each != "engine":
            self.labelled("Where:", f"one for each {attribute.each}; all alike unless told apart")
        if attribute.claim is not None and attribute.kind is not None:
            good = tolerance_words(attribute.claim, attribute.kind, self.system)
            self.labelled("A seller's figure", f"is taken as good to {good}")
        procedure = self.knowledge.procedures.get(attribute.measure)
        if procedure is not None:
            self.labelled("Measured:", capital(measured_words(attribute, self.knowledge)))
            for number, step in enumerate(procedure.file.steps, 1):
                self.line(f"{number}. {step}", indent=5)
        self.questioned(self._questioned([attribute.name]), every=True)

    def _questioned(self, names: list[str]) -> Questioned:
        return questioned(self.knowledge, figure_graph(self.knowledge), names)

    def questioned(self, found: Questioned, *, every: bool = False) -> None:
        """What a change puts in question."""
        self.heading("A change of it puts in question")
        families: dict[str, list[str]] = {}
        for name in found.rules:
            families.setdefault(self.knowledge.rules[name].family_words, []).append(name)
        for family, rules in families.items():
            self.labelled(f"{capital(family)}:", ", ".join(rules), 2, 4)
        if not found.rules:
            self.line("Nothing: no question reads it.", indent=2)
        derived = [str(self.knowledge.derived[name].file.title) for name in found.derived]
        self.labelled("Figures that follow from it:", ", ".join(derived), 2, 4)
        beside = [
            f"{slot} ({', '.join(n.partition('.')[2] for n in names)})" if every else slot
            for slot, names in found.beside.items()
        ]
        self.labelled("Judged together with:", ", ".join(beside), 2, 4)
        self.labelled("To be measured again after work on it:", ", ".join(found.undone), 2, 4)


def parts_data(knowledge: Knowledge, slots: list[str], system: System) -> list[dict[str, Any]]:
    """Parts as data."""
    graph = figure_graph(knowledge)
    told = []
    for slot in slots:
        part_class = knowledge.classes[slot]
        own = written(part_class)
        change = questioned(knowledge, graph, [attribute.name for attribute in own])
        told.append(
            {
                "part": slot,
                "title": part_class.title,
                "about": part_class.about,
                "optional": part_class.optional,
                "attributes": [_attribute_data(one, knowledge, system) for one in own],
                "meets": {
                    other: [mate.id for mate in mates]
                    for other, mates in meetings(knowledge, slot).items()
                },
                "change": {
                    "rules": list(change.rules),
                    "derived": list(change.derived),
                    "beside": {other: list(names) for other, names in change.beside.items()},
                    "measured_again": list(change.undone),
                },
            }
        )
    return told


def _attribute_data(attribute: Attribute, knowledge: Knowledge, system: System) -> dict[str, Any]:
    told: dict[str, Any] = {
        "attribute": attribute.name,
        "title": attribute.title,
        "about": attribute.about,
        "each": attribute.each,
        "write": value_words(attribute, system),
        "measured": measured_words(attribute, knowledge),
        "rules": [rule.id for rule in knowledge.readers.get(attribute.name, ())],
    }
    if attribute.kind is not None:
        told["units"] = [name for name in unit_names(attribute.kind) if name]
    if attribute.options:
        told["options"] = dict(zip(attribute.options, attribute.option_words, strict=True))
        told["several"] = attribute.several
    return told
