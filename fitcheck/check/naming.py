"""Which part or attribute the keys of a file mean; what is not understood is told."""

from __future__ import annotations

import re

from fitcheck.check.options import chosen
from fitcheck.check.printed import Printing
from fitcheck.knowledge import Knowledge
from fitcheck.knowledge.hints import cut, with_article
from fitcheck.knowledge.words import NOT_SAID, TYPE, Word
from fitcheck.quantity.units import kinds_of_unit
from fitcheck.source import Node, Problem, Text

_BEHIND = re.compile(
    r"(.*[^\s(@])\s*(?:\(([^()]+)\)|(?:@|\bat\b)\s*(.+)|,\s*(?:in\s+)?([a-z]{2,12}))", re.I
)
_LONG = 80
# What to write instead is told of so many: what further odd names mean is not even looked for.
MOST_TOLD = 25


class Naming:
    """Reads names; each adds a problem and gives None where it can't."""

    def __init__(self, knowledge: Knowledge, problems: list[Problem]) -> None:
        self.knowledge = knowledge
        self.problems = problems
        self._told = 0

    def part_and_side(self, key: Text) -> tuple[Text | None, str]:
        """The class of parts that a key names, and the side that stands in front of it."""
        if key not in self.knowledge.classes and self._told < MOST_TOLD:
            sided = self.knowledge.words.part_on_a_side(key)
            if sided.name and not self.knowledge.words.part(key).name:
                return Text(sided.name, key.place), sided.side
        return self.part(key), ""

    def part(self, key: Text) -> Text | None:
        """The class of parts that a key names."""
        if key in self.knowledge.classes:
            return key
        if self._told >= MOST_TOLD:
            self._tell_shortly(key, "there is no part class")
            return None
        found = self.knowledge.words.part(key)
        if not found.name:
            self._tell(key, *self.knowledge.hints.part(key))
        return Text(found.name, key.place) if found.name else None

    def parted(self, slot: str, key: Text, node: Node) -> tuple[Text, Node]:
        """A key and its value, with what stands behind the key moved behind the figure.

        Tables print `Free length (mm)` over 52.1, `Lobe lift, inches` over .340, `Flow @ .500`
        beside 245 cfm and `Hot lash` beside .022.
        """
        if not isinstance(node, Text) or len(key) >= _LONG or self._told >= MOST_TOLD:
            return key, node
        if self.knowledge.words.attribute(slot, key).name:
            return key, node
        match = _BEHIND.fullmatch(key)
        if match is None:
            return self._in_its_state(slot, key, node)
        head = self.knowledge.words.attribute(slot, match[1])
        if match[4] and not kinds_of_unit(match[4].casefold()):
            return key, node
        if not (head.name or any(name.startswith(f"{slot}.") for name in head.may)):
            return key, node
        behind = match[2] or match[4] or f"@ {match[3]}"
        return Text(match[1], key.place), Text(f"{node} {behind}", node.place)

    def _in_its_state(self, slot: str, key: Text, node: Text) -> tuple[Text, Text]:
        """A key and its value, with the state that the key names moved behind the figure."""
        words, forms = self.knowledge.words, self.knowledge.word_lists.forms.get(slot)
        states = forms.state if forms is not None else {}
        typed = key.split()
        for name, state in states.items():
            options = words.options(self.knowledge.attributes[f"{slot}.{state}"])
            named = [word for word in typed if options.find(word).name]
            rest = " ".join(word for word in typed if word not in named)
            if len(named) == 1 and rest and words.attribute(slot, rest).name == f"{slot}.{name}":
                return Text(rest, key.place), Text(f"{node} {named[0]}", node.place)
        return key, node

    def attribute(self, slot: str, key: Text, node: Node) -> Word | None:
        """The attribute of a class that a key names, in full; the lift that stands behind a figure
        may decide between two."""
        if f"{slot}.{key}" in self.knowledge.attributes and key not in NOT_SAID:
            word = Word(f"{slot}.{key}")
            return self._by_figure(word, node) if isinstance(node, Text) else word
        if self._told >= MOST_TOLD:
            title = self.knowledge.classes[slot].title
            self._tell_shortly(key, f"{with_article(title)} has no attribute")
            return None
        found = self.knowledge.words.attribute(slot, key)
        if not found.name and isinstance(node, Text):
            name = Printing(self.knowledge).named_at(slot, key, node)
            found = Word(name) if name else self._by_option(slot, key, node, found)
        if found.name and isinstance(node, Text):
            found = self._by_figure(found, node)
        if not found.name:
            said = str(node) if isinstance(node, Text) else ""
            self._tell(key, *self.knowledge.hints.attribute(slot, key, found=found, said=said))
        return found if found.name else None

    def figure(self, key: Text) -> str:
        """The attribute that a text such as `cam.lobe lift` names; empty after a problem."""
        found = self.knowledge.words.figure(key)
        if not found.name:
            self._tell(key, *self.knowledge.hints.figure(key))
        return found.name

    def _by_figure(self, found: Word, node: Text) -> Word:
        """A figure where a choice is made, that only one thing of its kind can be: the stem of a
        valve is solid or hollow, and `stem: 11/32` its diameter."""
        attribute = self.knowledge.attributes[found.name]
        if not attribute.options or attribute.flag or not re.match(r"\.?\d", node):
            return found
        if node in attribute.options or self.knowledge.words.option(attribute, node).name:
            return found
        alike = self.knowledge.hints.figures_like(attribute, node)
        return Word(alike[0], side=found.side, short=True) if len(alike) == 1 else found

    def _by_option(self, slot: str, key: Text, node: Text, found: Word) -> Word:
        """What the option decides that stands behind a word: 'type: beehive' is said of the shape.

        The word then keeps all that it `may` be, for an option may be said of several at once.
        """
        names = tuple(name for name in found.may if name.startswith(f"{slot}."))
        if not names and self.knowledge.words.spelling.tokens(key) == (TYPE,):
            names = tuple(self.knowledge.classes[slot].attributes)
        pieces = chosen(names, node, self.knowledge)
        return Word(pieces[0].attribute.name, may=names) if pieces else found

    def _tell_shortly(self, key: Text, what: str) -> None:
        self._tell(key, f"{what} '{cut(key)}'")

    def _tell(self, key: Text, what: str, mend: str = "") -> None:
        self._told += 1
        self.problems.append(Problem(what, key.place, mend))
