"""JSON Schemas of the files that people write, for editors that complete and explain as one types.

Made from the knowledge and the shapes of the files, by JSON Schema draft 7, which YAML language
servers read. What a schema cannot say (that a figure is plausible, that banks hold each cylinder
once, that a tolerance parses) is left to the reader of the file. Names and options stand in it as
they are listed: of another word that a reader understands it tells the names as listed.
"""

from __future__ import annotations

from collections.abc import Callable

from fitcheck.check.read import BuildFile, PartFile
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.knowledge.house import CLAIMS, HouseFile
from fitcheck.model import MOST_CYLINDERS, SIDES, Attribute, Evidence, PartClass
from fitcheck.plan.prices import PriceFile
from fitcheck.plan.routes import RoutesFile
from fitcheck.quantity.units import unit_names
from fitcheck.report.parts import measured_words, value_words, written
from fitcheck.report.phrases import capital
from fitcheck.report.schema_pieces import (
    DATE,
    SCALAR,
    YES_NO,
    Schema,
    any_of,
    closed,
    fragment,
    item_of,
    list_of,
    one_named,
    quantity,
    shape_schema,
)
from fitcheck.screen.mapping import MappingFile
from fitcheck.screen.pile import PileFile

DRAFT = "http://json-schema.org/draft-07/schema#"
PRICE: Schema = {
    "type": "string",
    "pattern": r"^[0-9]{1,9}(\.[0-9]{1,2})? [A-Z]{3}$",
    "errorMessage": "write an amount and the currency's code, as in 85 EUR",
}
WHERE = r"^(?=.)(all|(bank [\w-]+ ?)?((cylinder )?[0-9]{1,2} ?)?((intake|exhaust)s?)?)$"
MOST_NAMED = 5
# What an editor shows of the whole: it marks names that a reader would understand.
WORDS = (
    "Names and options as completed here. fitcheck reads the trade's own words too (keepers, LSA, "
    "seat pressure), which this schema does not know and an editor marks."
)
_SAID = tuple(one.word for one in Evidence if one is not Evidence.USUAL)


def file_schema(kind: str, knowledge: Knowledge) -> Schema:
    """The schema of one kind of file, one of `FILES`.

    >>> from fitcheck.knowledge import load_knowledge
    >>> file_schema("routes", load_knowledge())["required"]
    ['routes', 'ways']
    """
    made = FILES[kind](_Maker(knowledge))
    return {"$schema": DRAFT, "title": f"fitcheck {kind} file", "description": WORDS, **made}


def comment(kind: str) -> str:
    """The line by which a file tells editors its schema, that stands beside it.

    >>> comment("build")
    '# yaml-language-server: $schema=fitcheck-build.schema.json'
    """
    return f"# yaml-language-server: $schema={file_name(kind)}"


def file_name(kind: str) -> str:
    """How the file of a schema is called."""
    return f"fitcheck-{kind}.schema.json"


class _Maker:
    """Makes the schemas over one knowledge."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self.slots = one_named((slot, one.title) for slot, one in knowledge.classes.items())
        self.values: dict[str, Schema] = {}
        self.rule = one_named((rule.id, str(rule.file.title)) for rule in knowledge.rules.values())

    def build(self) -> Schema:
        """A build file."""
        parts: Schema = closed({slot: self.ref("slot", slot) for slot in self.knowledge.classes})
        cylinders = {
            "type": ["string", "integer"],
            "pattern": r"^\s*[0-9]{1,3}\s*$",
            "minimum": 1,
            "maximum": MOST_CYLINDERS,
            "description": "how many; a whole number",
        }
        top = shape_schema(
            BuildFile,
            {
                "build": {**SCALAR, "description": "what the build is called"},
                "cylinders": cylinders,
                "parts": {**parts, "description": f"the parts in their slots. {WORDS}"},
            },
        )
        return {**top, "definitions": self.definitions(slots=True)}

    def prices(self) -> Schema:
        """A price file."""
        operations = {
            name: {**PRICE, "title": str(one.file.title), "description": str(one.file.does)}
            for name, one in self.knowledge.operations.items()
        }
        attributes = self.knowledge.attributes
        every = [name for name in attributes if "." in name]
        offer = shape_schema(
            item_of(PriceFile, "parts"),
            {
                "fits": self.slots,
                "side": {"enum": list(SIDES)},
                "price": PRICE,
                "undoes": list_of({"enum": every}),
                "shifts": closed(
                    {name: quantity(one.kind) for name, one in attributes.items() if one.kind}
                ),
                "part": {"type": "object"},
            },
        )
        offer["allOf"] = [
            {
                "if": {"properties": {"fits": {"const": slot}}, "required": ["fits"]},
                "then": {
                    "properties": {
                        "part": self.ref("part", slot),
                        "keeps": list_of(
                            {"enum": [*map(_short, one.attributes), *every]}  # or another part's
                        ),
                    }
                },
            }
            for slot, one in self.knowledge.classes.items()
        ]
        own = {"hour": PRICE, "operations": closed(operations), "parts": list_of(offer)}
        return {**shape_schema(PriceFile, own), "definitions": self.definitions()}

    def pile(self) -> Schema:
        """A pile file."""
        entries = {
            slot: {
                "allOf": [self.ref("part", slot, "piled")],
                "title": one.title,
                "description": one.about,
            }
            for slot, one in self.knowledge.classes.items()
            if slot != "engine"
        }
        entry = {**closed(entries), "minProperties": 1, "maxProperties": 1}
        piled = {
            "pieces": {"type": ["string", "integer"], "pattern": "[0-9]"},
            "price": PRICE,
            "unidentified": YES_NO,
        }
        top = shape_schema(PileFile, {"parts": list_of(entry)})
        return {**top, "definitions": self.definitions(piled=piled)}

    def house(self) -> Schema:
        """A house file."""
        limits = {}
        for rule in self.knowledge.rules.values():
            for limit in rule.limits.values():
                one = shape_schema(item_of(HouseFile, "limits"), {"until": DATE})
                one["title"] = f"{rule.file.title}: {limit.name.replace('_', ' ')}"
                said = "; ".join(
                    f"{option} {q.text}".strip() for option, q in limit.entries.items()
                )
                one["description"] = f"{limit.why} Without this it is {said}.".strip()
                limits[f"{rule.id}.{limit.name}"] = one
        waivable = [one for one in self.knowledge.rules.values() if one.family != CLAIMS]
        waiver = shape_schema(
            item_of(HouseFile, "waivers"),
            {
                "rule": one_named((rule.id, str(rule.file.title)) for rule in waivable),
                "at": {"type": ["string", "integer"], "pattern": WHERE},
            },
        )
        return shape_schema(HouseFile, {"limits": closed(limits), "waivers": list_of(waiver)})

    def routes(self) -> Schema:
        """A routes file."""
        bought = {
            "type": "string",
            "pattern": r"^[0-9]{1,9}(\.[0-9]{1,2})? ([A-Z]{3}|h)$",
            "errorMessage": "write a price, as in 640 EUR, or hours, as in 2.5 h",
        }
        way = shape_schema(
            item_of(RoutesFile, "ways"),
            {"bought": {"type": "object", "additionalProperties": bought}},
        )
        return shape_schema(RoutesFile, {"ways": list_of(way)})

    def columns(self) -> Schema:
        """A file that says what the columns of a list are."""
        words: Schema = {"type": "object", "additionalProperties": self.slots}
        classes = closed({"column": SCALAR, "words": words}, ["column"])
        own = sorted({_short(a.name) for c in self.knowledge.classes.values() for a in written(c)})
        # The short form bears the unit behind the name.
        short: Schema = {"type": "string", "pattern": f"^({'|'.join(own)})( .+)?$"}
        column = {
            **closed(
                {
                    "attribute": {"enum": own},
                    "unit": SCALAR,
                    "digits": {"enum": [*range(7), *map(str, range(7))]},
                    "words": {"type": "object", "additionalProperties": SCALAR},
                },
                ["attribute"],
            )
        }
        return shape_schema(
            MappingFile,
            {
                "classes": any_of([self.slots, classes]),
                "evidence": {"enum": ["measured", "claimed", "assumed"]},
                "thousands": {"enum": [",", ".", "'", " "]},
                "decimal": {"enum": [".", ","]},
                "columns": {"type": "object", "additionalProperties": any_of([short, column])},
            },
        )

    # Parts and what is said of them.

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
            found["contains"] = closed(
                {slot: self.ref("inner", slot) for slot in self.knowledge.classes}
            )
        return found | self.values

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
            "instead of": {"enum": [*self.knowledge.classes]},
        }
        shape = shape_schema(PartFile, own)
        shape["properties"].pop("contains")
        shape["properties"] |= more or {}
        return shape

    def said(self, part_class: PartClass) -> Schema:
        """What can be said of a part: its attributes, and who says so, when, found with what."""
        about = {
            "by": {**SCALAR, "description": "who says so, or who measured it"},
            "when": {**DATE, "description": f"when it was measured: {DATE['description']}"},
            "with": {**SCALAR, "description": "measured with what"},
        }
        own = {_short(one.name): self.attribute(one) for one in written(part_class)}
        return closed({**about, **own})

    def attribute(self, attribute: Attribute) -> Schema:
        """An attribute: one value, or one for each of some places."""
        name = attribute.kind.name if attribute.kind else attribute.options_name or "words"
        name = f"{'some of ' if attribute.several else ''}{name}"
        self.values[name] = self.value(attribute)
        if attribute.each != "engine":
            value, name = {"$ref": f"#/definitions/{fragment(name)}"}, f"{name} by place"
            places = {
                "type": "object",
                "patternProperties": {WHERE: value},
                "additionalProperties": False,
                "minProperties": 1,
            }
            self.values[name] = {"anyOf": [value, places]}
        # Words beside a reference are not read by draft 7, so the reference stands in a list; no
        # title, which a language server would keep for all that refer to it.
        return {
            "description": self.told(attribute),
            "allOf": [{"$ref": f"#/definitions/{fragment(name)}"}],
        }

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

    @staticmethod
    def value(attribute: Attribute) -> Schema:
        """One value of an attribute."""
        if attribute.kind is not None:
            return quantity(attribute.kind)
        if attribute.text:
            return SCALAR
        if attribute.flag:
            return YES_NO
        one = one_named(zip(attribute.options, attribute.option_words, strict=True))
        names, between = "|".join(attribute.options), ", *" if attribute.several else " or "
        listed = {"type": "string", "pattern": f"^({names})({between}({names}))+$"}
        if attribute.several:
            return any_of([one, list_of(one), listed])
        return {"anyOf": [*one["anyOf"], {**listed, "description": "nobody knows which of them"}]}


def _short(name: str) -> str:
    return name.partition(".")[2]


FILES: dict[str, Callable[[_Maker], Schema]] = {
    "build": _Maker.build,
    "house": _Maker.house,
    "prices": _Maker.prices,
    "routes": _Maker.routes,
    "pile": _Maker.pile,
    "columns": _Maker.columns,
}
