"""How a list's columns are to be read: which column is which attribute, and in which unit."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fitcheck.check.naming import Naming
from fitcheck.knowledge import Knowledge
from fitcheck.knowledge.words import Word
from fitcheck.model import Evidence, shape, shaped
from fitcheck.quantity.units import find_unit, kinds_of_unit, unit_names
from fitcheck.screen.tables import AT
from fitcheck.source import (
    BadInput,
    Mapping,
    Problem,
    Problems,
    TellsProblems,
    Text,
    read_yaml,
)

# Headers that need no mapping file: these, and `rate [lbf/in]` or `shape` for attributes.
PLAIN = ("class", "item", "name", "seller", "price", "pack", "stock")
_HEADER = re.compile(r"(?P<name>[^\[\]]+?)\s*(?:\[(?P<unit>[^\[\]]*)\])?")
_PER = re.compile(r"price_?(?:per|for|/)_?(?P<pieces>[1-9][0-9]{0,4})(?:_?(?:pieces|pcs|off))?")
_SIDED = re.compile(r"\b(?:int|in|ex|exh|intakes?|exhausts?|inlet)\b", re.IGNORECASE)
_EVIDENCE = {e.word: e for e in (Evidence.MEASURED, Evidence.CLAIMED, Evidence.ASSUMED)}
# What a header that begins with the part is worth in `_fitness`.
_NAMED = 2


@shape
class MappingFile:
    """A mapping file."""

    catalog: Text | None = None
    about: Text | None = None
    classes: Any = None
    item: Text | None = None
    name: Text | None = None
    seller: Text | None = None
    price: Text | None = None
    currency: Text | None = None
    pack: Text | None = None
    stock: Text | None = None
    evidence: Text | None = None
    thousands: Text | None = None
    decimal: Text | None = None
    sheet: Text | None = None
    columns: dict[Text, Any] | None = None


@shape
class ColumnFile:
    """One column of a mapping file."""

    attribute: Text
    unit: Text | None = None
    digits: Text | None = None
    words: dict[Text, Text] | None = None


@dataclass(frozen=True, slots=True)
class Column:
    """One column: what it tells of each class, the unit of bare figures, its digits, its words.

    `digits` is for figures that a spreadsheet holds as numbers, which lose the zeros at their end.
    """

    header: str
    names: dict[str, str]  # the attribute's short name by class, and its side: lobe_lift@intake
    unit: str = ""
    digits: int | None = None
    words: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ListFormat:
    """How a list is read. `about` holds the headers of what `PLAIN` names but the class.

    `currency` is what the prices are in, by its ISO 4217 code; they are for `per` pieces. Where no
    mark is named, a decimal is a point, and a price in which it may part thousands is not taken.
    """

    title: str
    slot: str
    slot_header: str
    slot_words: dict[str, str]
    about: dict[str, str]
    columns: tuple[Column, ...]
    evidence: Evidence = Evidence.CLAIMED
    thousands: str = ""
    decimal: str = ""
    sheet: str = ""
    currency: str = ""
    per: int = 1


def read_mapping(path: Path, knowledge: Knowledge) -> ListFormat:
    """A mapping file; raises BadInput with all that is wrong with it."""
    problems = Problems()
    node = read_yaml(path, problems)
    file = shaped(MappingFile, node, problems) if node is not None else None
    found = _MappingReader(knowledge, problems).reading(file, path) if file is not None else None
    if problems or found is None:
        raise BadInput(problems)
    return found


class _MappingReader(TellsProblems):
    def __init__(self, knowledge: Knowledge, problems: list[Problem]) -> None:
        self.knowledge = knowledge
        self.problems = problems
        self.naming = Naming(knowledge, problems)
        self.slots: list[str] = list(knowledge.classes)

    def reading(self, file: MappingFile, path: Path) -> ListFormat:
        slot, header, words = self._classes(file.classes)
        if slot or words:
            self.slots = [one for one in (slot, *words.values()) if one in self.knowledge.classes]
        named = {own: getattr(file, own) for own in PLAIN[1:]}
        evidence = _EVIDENCE.get(str(file.evidence or "claimed"))
        if evidence is None:
            assert file.evidence is not None
            self.problem(
                file.evidence.place,
                f"'{file.evidence}' is no evidence",
                f"write one of: {', '.join(_EVIDENCE)}",
            )
        for name, allowed in (("thousands", ",.' "), ("decimal", ".,")):
            said = getattr(file, name)
            if said is not None and (len(said) != 1 or said not in allowed):
                self.problem(said.place, f"'{said}' is no mark for {name}", "quote one character")
        thousands, decimal = str(file.thousands or ""), str(file.decimal or "")
        if thousands and not decimal:
            decimal = "."
        if file.thousands is not None and thousands == decimal:
            self.problem(
                file.thousands.place,
                "thousands and decimals have the same mark",
                'write decimal: "," beside thousands: "."',
            )
        columns = [
            column
            for name, node in (file.columns or {}).items()
            if (column := self._column(name, node)) is not None
        ]
        return ListFormat(
            str(file.catalog or path.stem),
            slot,
            header,
            words,
            {own: str(text) for own, text in named.items() if text is not None},
            tuple(columns),
            evidence or Evidence.CLAIMED,
            thousands,
            decimal,
            str(file.sheet or ""),
            str(file.currency or ""),
        )

    def _classes(self, node: Any) -> tuple[str, str, dict[str, str]]:
        """One class for the whole list, or the column that names it and what its words mean."""
        if node is None:
            return "", "class", {}
        if isinstance(node, Text):
            return self._class(node), "", {}
        if isinstance(node, Mapping) and isinstance(node.get(Text("column", node.place)), Text):
            words = node.get(Text("words", node.place))
            known = words.items() if isinstance(words, Mapping) else ()
            found = {
                str(word): self._class(value) for word, value in known if isinstance(value, Text)
            }
            return "", str(node[node.key("column")]), found
        self.problem(
            node.place,
            "'classes' is one class, or the column that names it",
            "write classes: spring, or classes: {column: Kind, words: {Springs: spring}}",
        )
        return "", "", {}

    def _class(self, text: Text) -> str:
        return str(self.naming.part(text) or "")

    def _column(self, header: Text, node: Any) -> Column | None:
        if isinstance(node, Text):
            node = _as_mapping(node)
        file = shaped(ColumnFile, node, self.problems)
        if file is None:
            return None
        digits = None
        if file.digits is not None:
            digits = int(file.digits) if file.digits in tuple("0123456") else None
            if digits is None:
                self.problem(
                    file.digits.place,
                    f"'{file.digits}' is no number of digits",
                    "write a whole number from 0 to 6",
                )
        own = str(file.attribute)
        names = names_of(own, self.slots, self.knowledge)
        if not names:
            self.problem(file.attribute.place, *self._unknown(own))
        self._check_unit(file, names, own)
        words = {str(word): str(value) for word, value in (file.words or {}).items()}
        return Column(str(header), names, str(file.unit or ""), digits, words)

    def _unknown(self, own: str) -> tuple[str, str]:
        """A word that names no attribute for certain: asked back where a class may have it."""
        hints = self.knowledge.hints
        if len(self.slots) == 1:
            return hints.attribute(self.slots[0], own)
        for slot in self.slots:
            if self.knowledge.words.attributes(slot).find(own).may:
                return hints.attribute(slot, own)
        return f"no class has an attribute '{own}'", hints.figure(own)[1]

    def _check_unit(self, file: ColumnFile, names: dict[str, str], own: str) -> None:
        if file.unit is None:
            return
        kinds = [
            self.knowledge.attributes[f"{slot}.{name.partition(AT)[0]}"].kind
            for slot, name in names.items()
        ]
        for kind in kinds:
            if kind is None:
                self.problem(file.unit.place, f"'{own}' is a choice and has no unit")
                return
            if find_unit(str(file.unit), kind) is not None:
                return
        if kinds and (kind := kinds[0]) is not None:
            self.problem(
                file.unit.place,
                f"'{file.unit}' is no unit of {own}",
                f"write one of: {', '.join(unit_names(kind))}",
            )


def _as_mapping(text: Text) -> Mapping:
    """The short form `Rate: rate lbf/in`: the name in one word or more, then the unit if any."""
    words = str(text).split()
    until = next(
        (n for n in range(1, len(words)) if kinds_of_unit(" ".join(words[n:]))), len(words)
    )
    name, unit = " ".join(words[:until]), " ".join(words[until:])
    found = Mapping()
    found.place = text.place
    found[Text("attribute", text.place)] = Text(name, text.place)
    if unit:
        found[Text("unit", text.place)] = Text(unit.strip(), text.place)
    return found


def names_of(own: str, slots: Iterable[str], knowledge: Knowledge) -> dict[str, str]:
    """The attribute that a word means, by the classes it means one for certain."""
    found = {}
    exact = own.strip().lower().replace(" ", "_")
    for slot in slots:
        if f"{slot}.{exact}" in knowledge.classes[slot].attributes:
            found[slot] = exact
            continue
        # Not by shortened words: a list has columns that are no attributes at all.
        word = sided_word(own, slot, knowledge)
        if word.name and not (word.sign or word.short):
            side = f"{AT}{word.side}" if word.side else ""
            found[slot] = f"{word.name.partition('.')[2]}{side}"
    return found


def sided_word(text: str, slot: str, knowledge: Knowledge) -> Word:
    """The attribute that a word means, with the side that stands before or behind it."""
    found = knowledge.words.attributes(slot).find(text)
    if found.name or found.may or not _SIDED.search(text):
        return found
    word = knowledge.words.attribute(slot, text)
    return word if word.name else found


def named_in(headers: Sequence[str], knowledge: Knowledge) -> int:
    """How many of some headers name anything."""
    found = from_headers([one for one in headers if one], "", knowledge)
    return len(found.about) + len(found.columns) + bool(found.slot_header)


def from_headers(
    headers: Sequence[str], title: str, knowledge: Knowledge, slot: str = ""
) -> ListFormat:
    """How a list is read whose headers are attributes, as in `rate [lbf/in]`."""
    about: dict[str, str] = {}
    columns: list[Column] = []
    currency, per = "", 1
    slots = [slot] if slot else list(knowledge.classes)
    for header in headers:
        match = _HEADER.fullmatch(header.strip())
        typed = match["name"].strip() if match else ""
        own = typed.lower().replace(" ", "_")
        each = _PER.fullmatch(own)
        own = "price" if each else own
        unit = (match["unit"] or "").strip() if match else ""
        if own in PLAIN and (own == "price" or not unit):
            if about.setdefault(own, header) == header and own == "price":  # of two the first
                currency, per = unit, int(each["pieces"]) if each else 1
        elif typed and (names := names_of(typed, slots, knowledge)):
            columns.append(Column(header, names, unit))
    slot_header = about.pop("class", "")
    _settle(columns, knowledge)
    return ListFormat(
        title,
        slot,
        slot_header if not slot else "",
        {},
        about,
        tuple(columns),
        currency=currency,
        per=per,
    )


def _settle(columns: Sequence[Column], knowledge: Knowledge) -> None:
    """Of columns that could tell the same of a part the one holds that names the part.

    So beside `retainer lock_angle` a column `locks angle` is of the locks alone.
    """
    told: dict[tuple[str, str], list[Column]] = {}
    for column in columns:
        for slot, name in column.names.items():
            told.setdefault((slot, name), []).append(column)
    for (slot, _), some in told.items():
        marks = [_fitness(column, slot, knowledge) for column in some]
        if max(marks) >= _NAMED and marks.count(max(marks)) == 1:
            for column, mark in zip(some, marks, strict=True):
                if mark < max(marks) and len(column.names) > 1:
                    del column.names[slot]


def _fitness(column: Column, slot: str, knowledge: Knowledge) -> int:
    """How surely a column is of a class: its header begins with it, or just names its figure."""
    match = _HEADER.fullmatch(column.header.strip())
    words = (match["name"] if match else column.header).lower().replace("_", " ").split()
    parts = (knowledge.words.part(" ".join(words[:n])) for n in range(len(words) - 1, 0, -1))
    front = next((word.name for word in parts if word.name and not word.short), "")
    exact = [one for one, name in column.names.items() if name == "_".join(words)]
    return _NAMED * (front == slot) + (slot in exact) - (bool(exact) and slot not in exact)
