"""JSON Schemas of the files that people write, for editors that complete and explain as one types.

Made from the knowledge and the shapes of the files, by JSON Schema draft 7, which YAML language
servers read. What a schema cannot say (that a figure is plausible, that banks hold each cylinder
once, that a tolerance parses, which of two things a word means) is left to the reader of the file.
Names and options are completed as they are listed; the other words that a reader understands pass.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from fitcheck.check.read import BuildFile
from fitcheck.knowledge import Knowledge
from fitcheck.knowledge.house import CLAIMS, HouseFile
from fitcheck.model import MOST_CYLINDERS, SIDES
from fitcheck.plan.prices import PriceFile
from fitcheck.plan.routes import RoutesFile
from fitcheck.report.parts import written
from fitcheck.report.schema_parts import PartSchemas, short
from fitcheck.report.schema_pieces import (
    DATE,
    SCALAR,
    WHERE,
    YES_NO,
    Schema,
    any_of,
    closed,
    item_of,
    list_of,
    one_named,
    or_worded,
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
# What an editor shows of the whole.
WORDS = (
    "Names and options as completed here, or the trade's own words for them (keepers, LSA, seat "
    "pressure): those pass here, and fitcheck says how it read them."
)


def file_schema(kind: str, knowledge: Knowledge) -> Schema:
    """The schema of one kind of file, one of `FILES`.

    >>> from fitcheck.knowledge import load_knowledge
    >>> sorted(file_schema("routes", load_knowledge())["properties"])
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


class _Maker(PartSchemas):
    """Makes the schemas over one knowledge."""

    def build(self) -> Schema:
        """A build file."""
        parts = self.by_part("slot")
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
        figure = self.shared(
            "figure",
            {"anyOf": [{"enum": every}, {"type": "string", "pattern": self.patterns.figure}]},
        )
        shifts = {
            name: self.shared(one.kind.name, quantity(one.kind))
            for name, one in attributes.items()
            if one.kind
        }
        offer = shape_schema(
            item_of(PriceFile, "parts"),
            {
                "fits": self.slots,
                "side": {"enum": list(SIDES)},
                "price": PRICE,
                "undoes": list_of(figure),
                "shifts": self.shared(
                    "shifts",
                    closed(shifts, also=self.otherwise(every, self.patterns.figure, SCALAR)),
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
                        "keeps": list_of(self.ref("kept", slot)),
                    }
                },
            }
            for slot, one in self.knowledge.classes.items()
        ]
        titled = f"^{self.patterns.titled(self.knowledge.named_operations.scope)}$"
        worked = closed(operations, also=self.otherwise(operations, titled, PRICE))
        own = {
            "hour": PRICE,
            "operations": self.shared("operations", worked),
            "parts": list_of(self.shared("offer", offer)),
        }
        kept = {  # figures of the part itself, or in full of another
            f"kept_{slot}": {
                "anyOf": [
                    {"enum": [*map(short, one.attributes)]},
                    {"type": "string", "pattern": self.patterns.attribute(slot)},
                    figure,
                ]
            }
            for slot, one in self.knowledge.classes.items()
        }
        return {**shape_schema(PriceFile, own), "definitions": self.definitions() | kept}

    @staticmethod
    def otherwise(names: Iterable[str], pattern: str, said: Schema) -> dict[str, Schema]:
        """What is said under words of a pattern that are none of these names."""
        return {f"(?!^({'|'.join(map(re.escape, names))})$){pattern}": said}

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
        worded = {self._beside(slot, self.patterns.parts(slot)): entries[slot] for slot in entries}
        other = {self.patterns.part: {"type": "object"}}
        entry = {**closed(entries, also=worded | other), "minProperties": 1, "maxProperties": 1}
        piled = {
            "pieces": {"type": ["string", "integer"], "pattern": "[0-9]"},
            "price": PRICE,
            "unidentified": YES_NO,
        }
        top = shape_schema(PileFile, {"parts": list_of(entry)})
        return {**top, "definitions": self.definitions(piled=piled)}

    def house(self) -> Schema:
        """A house file."""
        rules = self.knowledge.rules
        limit = shape_schema(item_of(HouseFile, "limits"), {"until": DATE})
        limits = {}
        for rule in rules.values():
            for one in rule.limits.values():
                said = "; ".join(f"{option} {q.text}".strip() for option, q in one.entries.items())
                limits[f"{rule.id}.{one.name}"] = {
                    "title": f"{rule.file.title}: {one.name.replace('_', ' ')}",
                    "description": f"{one.why} Without this it is {said}.".strip(),
                    "allOf": [self.shared("limit", limit)],
                }
        named = "|".join(sorted({name for rule in rules.values() for name in rule.limits}))
        # By a rule's title; a limit of a rule's own name is listed.
        words = self.patterns.titled(self.knowledge.named_rules.scope)
        titled = rf"(?!^({'|'.join(rules)})(\.|$))^{words}"
        also = {rf"{titled}\.({named})$": self.shared("limit", limit)}
        waivable = [one for one in rules.values() if one.family != CLAIMS]
        waiver = shape_schema(
            item_of(HouseFile, "waivers"),
            {
                "rule": or_worded(
                    one_named((rule.id, str(rule.file.title)) for rule in waivable),
                    f"{titled}$",
                    "write the name of a rule that is not of the family of claims",
                ),
                "at": {"type": ["string", "integer"], "pattern": WHERE},
            },
        )
        own = {
            "limits": self.shared("limits", closed(limits, also=also)),
            "waivers": list_of(self.shared("waiver", waiver)),
        }
        return {**shape_schema(HouseFile, own), "definitions": self.values}

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
        own = sorted({short(a.name) for c in self.knowledge.classes.values() for a in written(c)})
        # The short form bears the unit behind the name.
        word = f"({'|'.join(own)}|{self.patterns.any_attribute})"
        brief: Schema = {"type": "string", "pattern": f"^{word}( .+)?$"}
        column = {
            **closed(
                {
                    "attribute": {
                        "anyOf": [{"enum": own}, {"type": "string", "pattern": f"^{word}$"}]
                    },
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
                "columns": {"type": "object", "additionalProperties": any_of([brief, column])},
            },
        )


FILES: dict[str, Callable[[_Maker], Schema]] = {
    "build": _Maker.build,
    "house": _Maker.house,
    "prices": _Maker.prices,
    "routes": _Maker.routes,
    "pile": _Maker.pile,
    "columns": _Maker.columns,
}
