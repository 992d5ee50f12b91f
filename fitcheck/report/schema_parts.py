"""JSON Schemas of parts and of what is said of them: names, words, figures and options."""

from __future__ import annotations

from collections.abc import Iterable

from fitcheck.check.read import PartFile
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.model import SIDES, Attribute, Evidence, PartClass
from fitcheck.quantity.units import unit_names
from fitcheck.report.parts import measured_words, value_words, written
from fitcheck.report.phrases import capital
from fitcheck.report.schema_pieces import (
    DATE,
    SCALAR,
    YES_NO,
    Schema,
    any_of,
    by_place,
    closed,
    fragment,
    list_of,
    one_named,
    or_worded,
    quantity,
    shape_schema,
)
from fitcheck.report.schema_words import WordPatterns, any_case

FIGURE = r"^\s*\.?[0-9]"  # where a choice is made: the size of what the word names
MOST_NAMED = 5
ANYTHING = {"$ref": "#/definitions/anything"}
_SAID = tuple(one.word for one in Evidence if one is not Evidence.USUAL)


class PartSchemas:
    """Makes the schemas of parts over one knowledge, and keeps what several refer to."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self.patterns = WordPatterns(knowledge.words)
        slots = one_named((slot, one.title) for slot, one in knowledge.classes.items())
        self.slots = or_worded(slots, self.patterns.part, "a part, as in spring or valve springs")
        self.values: dict[str, Schema] = {}
        self.attributes: dict[str, Schema] = {}

    def shared(self, name: str, schema: Schema) -> Schema:
        """A reference to a schema, which is kept under a name."""
        self.values[fragment(name)] = schema
        return {"$ref": f"#/definitions/{fragment(name)}"}

    @staticmethod
    def ref(what: str, slot: str, more: str = "") -> Schema:
        """A reference to a definition."""
        return {"$ref": f"#/definitions/{more or what}_{slot}"}

    def definitions(
        self, *, slots: bool = False, piled: dict[str, Schema] | None = None
    ) -> dict[str, Schema]:
        """What is said of the parts of each class; with `slots`, how a build's slots are filled."""
        found: dict[str, Schema] = {}
        for slot, part_class in self.knowledge.classes.items():
            found[f"said_{slot}"] = self.said(part_class)
            if piled is None:
                found[f"part_{slot}"] = self.part(slot)
            elif slot != "engine":
                found[f"piled_{slot}"] = self.part(slot, piled)
            if slots:
                found[f"inner_{slot}"] = self.slot(part_class, self.ref("part", slot))
                found[f"whole_{slot}"] = self.part(
                    slot, {"contains": {"$ref": "#/definitions/contains"}}
                )
                found[f"slot_{slot}"] = self.slot(part_class, self.ref("whole", slot))
        if slots:
            found["contains"] = self.by_part("inner")
        anything = by_place(any_of([SCALAR, list_of(SCALAR)]))
        return found | self.attributes | self.values | {"anything": anything}

    def by_part(self, what: str, slots: Iterable[str] = ()) -> Schema:
        """A mapping from parts, in whatever words, to what is said of each."""
        slots = list(slots or self.knowledge.classes)
        plain = {slot: self.ref(what, slot) for slot in slots}
        worded = {self._beside(slot, self.patterns.parts(slot)): plain[slot] for slot in slots}
        sided = {"anyOf": [{"type": "object"}, {"const": "none"}]}
        return closed(plain, also=worded | {self.patterns.part: sided})

    @staticmethod
    def _beside(name: str, pattern: str) -> str:
        """The words besides the name itself, which is told by its own."""
        return f"(?!^{name}$){pattern}"

    def slot(self, part_class: PartClass, part: Schema) -> Schema:
        """What a slot holds: a part, one for each side, or none."""
        ways: list[Schema] = [part, {"const": "none", "description": "there is no such part"}]
        if part_class.each == "valve":
            sides = {**closed(dict.fromkeys(SIDES, part)), "minProperties": 1}
            ways.insert(1, sides)
        return {"title": part_class.title, "description": part_class.about, "anyOf": ways}

    def part(self, slot: str, more: dict[str, Schema] | None = None) -> Schema:
        """A part: its name and what is said of it on each evidence."""
        one = self.ref("said", slot)
        said = any_of([one, list_of(one), {"type": "null"}])  # a block may wait for its figures
        words = {
            "measured": "found on the part itself",
            "predicted": "what it was ordered as, or is to become",
            "claimed": "by a seller, a catalogue or a card",
            "assumed": "nobody says so, but you take it to be so",
        }
        own: dict[str, Schema] = {
            **{word: {**said, "description": words[word]} for word in _SAID},
            "instead of": self.shared("part", self.slots),
            **(more or {}),
        }
        return shape_schema(PartFile, own, "" if "contains" in own else "contains")

    def said(self, part_class: PartClass) -> Schema:
        """What can be said of a part: its attributes, and who says so, when, found with what."""
        about = {
            "by": {**SCALAR, "description": "who says so, or who measured it"},
            "when": {**DATE, "description": f"when it was measured: {DATE['description']}"},
            "with": {**SCALAR, "description": "measured with what"},
        }
        also = {f"(?!^{key}$)^{any_case(key)}$": said for key, said in about.items()}
        own = {}
        for one in written(part_class):
            own[short(one.name)] = self.attribute(one)
            if words := self.patterns.attributes(one.name):
                also[self._beside(short(one.name), words)] = own[short(one.name)]
        also[self.patterns.attribute(part_class.id)] = ANYTHING
        return closed({**about, **own}, also=also)

    def attribute(self, attribute: Attribute) -> Schema:
        """An attribute, by its definition: one value, or one for each of some places."""
        name = attribute.kind.name if attribute.kind else attribute.options_name or "words"
        name = f"{'some of ' if attribute.several else ''}{name}"
        self.values[fragment(name)] = self.value(attribute)
        if attribute.each != "engine":
            value, name = {"$ref": f"#/definitions/{fragment(name)}"}, f"{name} by place"
            self.values[fragment(name)] = by_place(value)
        # Words beside a reference are not read by draft 7, so the reference stands in a list; no
        # title, which a language server would keep for all that refer to it.
        about = f"about_{attribute.name}"
        self.attributes[about] = {
            "description": self.told(attribute),
            "allOf": [{"$ref": f"#/definitions/{fragment(name)}"}],
        }
        return {"$ref": f"#/definitions/{about}"}

    def told(self, attribute: Attribute) -> str:
        """What an attribute is, for whoever points at it."""
        pieces = [attribute.title, attribute.about, value_words(attribute, "inch")]
        if attribute.kind is not None and unit_names(attribute.kind):
            pieces.append(f"units: {', '.join(unit_names(attribute.kind))}")
        if attribute.each != "engine":
            pieces.append(f"one for each {attribute.each}, or told for all")
        how = measured_words(attribute, self.knowledge)
        pieces.append(f"measured: {how}" if how else "")
        rules: list[Rule] = self.knowledge.readers.get(attribute.name, [])
        named = ", ".join(rule.id for rule in rules[:MOST_NAMED])
        more = f" and {len(rules) - MOST_NAMED} more" if len(rules) > MOST_NAMED else ""
        pieces.append(f"for: {named}{more}" if rules else "")
        return ". ".join(capital(piece) for piece in pieces if piece) + "."

    def value(self, attribute: Attribute) -> Schema:
        """One value of an attribute."""
        if attribute.kind is not None:
            return quantity(attribute.kind)
        if attribute.text:
            return SCALAR
        words = self.patterns.option(attribute)
        if attribute.flag:
            return {"anyOf": [YES_NO, {"type": ["string", "boolean"], "pattern": words}]}
        one = one_named(zip(attribute.options, attribute.option_words, strict=True))
        told = f"write {'some' if attribute.several else 'one'} of: {', '.join(attribute.options)}"
        one = or_worded(one, f"{words}|{FIGURE}", told)
        return any_of([one, list_of(one)]) if attribute.several else one


def short(name: str) -> str:
    """The name of an attribute without its part."""
    return name.partition(".")[2]
