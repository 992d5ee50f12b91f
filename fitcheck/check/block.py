"""Reads the blocks of a part: on one evidence, which attributes have which figures and options.

Names are read by the words of the trade and figures as they are printed; what was understood from
more than a plain name and a plain figure is kept as readings, to be shown.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date

from fitcheck.check.naming import Naming
from fitcheck.check.values import Said, ValueReader, selector_words
from fitcheck.knowledge.word_lists import Forms, Signs
from fitcheck.knowledge.words import Word
from fitcheck.model import (
    EVERYWHERE,
    Attribute,
    Evidence,
    Layout,
    Origin,
    PartClass,
    Selector,
    Statement,
    UnderstoodText,
)
from fitcheck.quantity import Quantity, tidied
from fitcheck.quantity.units import find_unit
from fitcheck.source import Mapping, Node, Place, TellsProblems, Text

_ABOUT_A_BLOCK = ("by", "when", "with")
# No name of the trade has more words.
_LONGEST_NAME = 8
_SIGNED = re.compile(r"([+-]?)\s*(\S.*)")


class BlockReader(TellsProblems):
    """Reads blocks; each problem is added to those of the naming."""

    def __init__(self, naming: Naming, *, bare: bool) -> None:
        self.naming = naming
        self.knowledge = naming.knowledge
        self.problems = naming.problems
        self.values = ValueReader(naming.knowledge, naming.problems, bare=bare)
        self.layout: Layout | None = None
        self.readings: list[UnderstoodText] = []
        self._by_word: set[Place] = set()  # of figures whose word tells their sign

    def read(
        self,
        part_class: PartClass,
        block: Mapping,
        evidence: Evidence,
        side: str,
        *,
        alone: bool = False,
    ) -> list[Statement]:
        """What a block says of a part, or of the one on a side; `alone` it came with no other."""
        origin = self._origin(block)
        statements: list[Statement] = []
        first: dict[tuple[str, str], Text] = {}
        for typed, said in block.items():
            if typed.casefold() in _ABOUT_A_BLOCK:
                continue
            key, node = self.naming.parted(part_class.id, typed, said)
            word = self.naming.attribute(part_class.id, key, node)
            if word is None or self._said_before(word.name, word.side, key, first):
                continue
            attribute = part_class.attributes[word.name]
            if alone and evidence is Evidence.CLAIMED and self._wants_it(attribute, key, node):
                continue
            values: list[tuple[Selector | None, Node]] = [(EVERYWHERE, node)]
            if isinstance(node, Mapping):
                values = [
                    (self.values.selector(where, attribute, self.layout), each)
                    for where, each in node.items()
                ]
            for selector, each in values:
                narrowed = self._on_side(selector, side or word.side, key) if selector else None
                found = self._said(attribute, word, each, evidence, narrowed)
                if narrowed is None:
                    continue
                for one in found:
                    beside = one.attribute is not attribute
                    if beside and any(
                        one.attribute is said.attribute and one.value == said.value
                        for said in statements
                    ):
                        continue  # each figure of a card names the lift that all are stated at
                    if beside and self._said_before(one.attribute.name, one.side, key, first):
                        continue
                    where = self._on_side(narrowed, one.side, key)
                    assert where is not None
                    place = each.place
                    statements.append(
                        Statement(one.attribute, where, evidence, one.value, origin, place)
                    )
                self._echo(word, key, each, found, narrowed)
        return statements

    def _wants_it(self, attribute: Attribute, key: Text, node: Node) -> bool:
        """Whether what a part sold alone is said to have may be what its maker wants: asked."""
        forms = self.knowledge.word_lists.forms.get(attribute.slot, Forms())
        wanted = forms.alone.get(attribute.short_name, "")
        if not wanted or key == attribute.short_name:
            return False
        title = self.knowledge.attributes[f"{attribute.slot}.{wanted}"].title
        self.problem(
            key.place,
            f"'{key}' of a {self.knowledge.classes[attribute.slot].title} sold alone can be meant "
            f"in two ways: {title}, as sellers say it, or {attribute.title} as somebody fitted it",
            f"write '{wanted}: {node}' or '{attribute.short_name}: {node}', whichever it is",
        )
        return True

    def _said(
        self,
        attribute: Attribute,
        word: Word,
        node: Node,
        evidence: Evidence,
        selector: Selector | None,
    ) -> list[Said]:
        if word.may and isinstance(node, Text):
            return self.values.chosen(word.may, node)
        if attribute.kind is not None and isinstance(node, Text):
            signed = self._with_sign(attribute, word, node)
            if signed is None:
                return []
            node = signed
        sided = selector is not None and selector.side is not None
        return self.values.said(attribute, node, evidence, sided=sided)

    def _with_sign(self, attribute: Attribute, word: Word, text: Text) -> Text | None:
        """The figure with the sign that counts, by its word or by a word behind it."""
        figure, named = self._named_behind(attribute, text)
        text, sign = Text(figure, text.place), word.sign or named
        match = _SIGNED.fullmatch(tidied(text)) if sign else None
        if match is None:
            return text
        self._by_word.add(text.place)
        if ".." in text:
            self.problem(
                text.place,
                f"a range can't be read under this word: '{text}'",
                f"write it as {attribute.short_name}: {attribute.about}",
            )
            return None
        minus = sign == "-" and match[1] != "-"
        return Text(f"-{match[2]}" if minus else match[2], text.place)

    def _named_behind(self, attribute: Attribute, text: Text) -> tuple[str, str]:
        """The figure without words behind it that name it once more, and the sign these give it:
        .008 in the hole, 12 cc dish."""
        typed = tidied(text).split()
        assert attribute.kind is not None
        if len(typed) > 1 and find_unit(typed[-1], attribute.kind):
            return text, ""
        scope = self.knowledge.words.attributes(attribute.slot)
        for first in range(max(1, len(typed) - _LONGEST_NAME), len(typed)):
            found = scope.find(" ".join(typed[first:]))
            if found.name == attribute.name and not found.short:
                return " ".join(typed[:first]), found.sign
        return text, ""

    def _signs(self, attribute: Attribute) -> Signs | None:
        forms = self.knowledge.word_lists.forms.get(attribute.slot)
        return forms.signs.get(attribute.short_name) if forms is not None else None

    def check_signs(self, statements: Iterable[Statement]) -> None:
        """A figure of a part must have the sign that a choice beside it asks for.

        Sellers print some signs the other way round: what contradicts is asked, never turned.
        """
        said = list(statements)
        for one in said:
            signs = self._signs(one.attribute)
            if signs is None or not isinstance(one.value, Quantity):
                continue
            chosen = {
                other.attribute.options[other.value.bit_length() - 1]
                for other in said
                if other.attribute.name == f"{one.attribute.slot}.{signs.by}"
                and isinstance(other.value, int)
                and not other.value & other.value - 1
            }
            below, above = one.value.upper < 0, one.value.lower > 0
            wrong = chosen & set(signs.above if below else signs.below if above else ())
            if one.place in self._by_word:
                if wrong and below:
                    self.problem(
                        one.place,
                        f"{one.attribute.title} below nought, and {signs.by} is {min(wrong)}",
                        "mend one of the two",
                    )
            elif wrong or (below and not chosen and len(said) > 1):
                self._ask_sign(one, signs, min(wrong, default=""))

    def _ask_sign(self, one: Statement, signs: Signs, chosen: str) -> None:
        lists = self.knowledge.word_lists.attributes[one.attribute.slot]
        up, down = lists.positive[one.attribute.name][0], lists.negative[one.attribute.name][0]
        assert isinstance(one.value, Quantity)
        size = tidied(one.value.text).lstrip("+-").strip()
        because = f", and {signs.by} is said to be {chosen}" if chosen else ""
        self.problem(
            one.place,
            f"{one.attribute.title} of {one.value.text} can be meant in two ways{because}: "
            f"here it is {one.attribute.about}, and sellers print it the other way round",
            f"write '{up}: {size}' or '{down}: {size}', whichever it is",
        )

    def _said_before(
        self, name: str, side: str, key: Text, said: dict[tuple[str, str], Text]
    ) -> bool:
        """Whether a block says the same twice, in two words."""
        first = said.setdefault((name, side), key)
        if first is not key:
            self.problem(
                key.place,
                f"'{key}' and '{first}' in line {first.place.line} are the same: {name}",
                "keep one of them",
            )
        return first is not key

    def _echo(
        self,
        word: Word,
        key: Text,
        node: Node,
        found: list[Said],
        selector: Selector | None,
    ) -> None:
        """Keep what was understood from more than a plain name and figure."""
        if not found or not isinstance(node, Text):
            return
        plain = len(found) == 1 and found[0].text == node and not found[0].side
        if plain and not (word.short or word.may):
            return
        part = self.knowledge.classes[found[0].attribute.slot].title
        where = "" if selector in (None, EVERYWHERE) else f" ({selector_words(selector)})"
        parts, last = [], None
        for one in found:
            title = "" if one.attribute is last else f"{one.attribute.title} "
            parts.append(f"{title}{f'{one.side} ' if one.side else ''}{one.text}")
            last = one.attribute
        bare = len(found) == 1 and not word.short and found[0].text.startswith(f"{node} ")
        self.readings.append(
            UnderstoodText(f"{key}: {node}", f"{part}{where}: {', '.join(parts)}", node.place, bare)
        )

    def _origin(self, block: Mapping) -> Origin:
        found: dict[str, Text] = {}
        for key, value in block.items():
            name = key.casefold()
            if name in _ABOUT_A_BLOCK and isinstance(value, Text):
                found[name] = value
            elif name in _ABOUT_A_BLOCK:
                self.problem(value.place, f"'{name}' is plain text")
        when = None
        if "when" in found:
            try:
                when = date.fromisoformat(found["when"])
            except ValueError:
                self.problem(
                    found["when"].place,
                    f"'{found['when']}' is no date",
                    "write year-month-day, as in 2026-03-09",
                )
        return Origin(str(found.get("by", "")), when, str(found.get("with", "")))

    def _on_side(self, selector: Selector, side: str, key: Text) -> Selector | None:
        if not side:
            return selector
        if selector.side not in (None, side):
            self.problem(key.place, f"a value for the {selector.side} beneath {side}")
            return None
        return Selector(selector.bank, selector.cylinder, side)
