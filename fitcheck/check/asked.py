"""Reads what a part's maker asks for instead of the limits of rules."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from fitcheck.knowledge import Knowledge, Limit, Rule
from fitcheck.knowledge.reading import Reader
from fitcheck.model import MakerLimit, Part
from fitcheck.quantity import Quantity
from fitcheck.source import Mapping, Problem, Sequence, Text

_WAY = "write it as in coil_bind.least: 0.040 in"


class AskedReader:
    """Reads `maker_asks` blocks of one part: who says so, and limits of rules with their values."""

    def __init__(self, slot: str, side: str, knowledge: Knowledge, problems: list[Problem]) -> None:
        self.slot = slot
        self.side = side
        self.knowledge = knowledge
        self.reader = Reader(problems)

    def read(self, node: Any) -> Iterator[MakerLimit]:
        """What one block, or each of a list of them, asks for."""
        for block in node if isinstance(node, Sequence) else [node]:
            if isinstance(block, Mapping):
                yield from self._block(block)
            elif block is not None:
                self._problem(block.place, "'maker_asks' holds limits and their values", _WAY)

    def _problem(self, place: Any, what: str, mend: str) -> None:
        self.reader.problems.append(Problem(what, place, mend))

    def _block(self, block: Mapping) -> Iterator[MakerLimit]:
        by = block.get(Text("by", block.place))
        if not isinstance(by, Text) or not by.strip():
            self._problem(
                block.place,
                "it is not said where the maker asks for this",
                "add 'by:' with the maker's paper and its page",
            )
            return
        for key, value in block.items():
            found = self._limit(key) if key != "by" else None
            if found is None:
                continue
            rule, limit = found
            values = self._values(key, value, limit)
            if values:
                yield MakerLimit(self.slot, rule.id, limit.name, values, str(by), key.place)

    def _limit(self, key: Text) -> tuple[Rule, Limit] | None:
        rules = self.knowledge.rules
        typed, dot, own = (piece.strip() for piece in key.partition("."))
        name = self.knowledge.named_rules.find(typed)
        rule = rules.get(name)
        if rule is None or not dot:
            mend = _WAY if rule is not None else self.knowledge.named_rules.told(typed)[1]
            self._problem(key.place, f"'{key}' names no limit of a rule", mend)
            return None
        limit = rule.limits.get(own)
        if limit is None:
            has = ", ".join(f"{name}.{one}" for one in rule.limits) or "none"
            self._problem(key.place, f"'{name}' has no limit '{own}'", f"its limits: {has}")
            return None
        if self.slot not in ("engine", *rule.slots):
            whose = self.knowledge.classes[self.slot].title
            self._problem(
                key.place,
                f"'{name}' asks nothing of a {whose}",
                f"write it beneath one of: {', '.join(rule.slots)}, or beneath engine",
            )
            return None
        return rule, limit

    def _values(self, key: Text, value: Any, limit: Limit) -> dict[str, Quantity]:
        by_side = limit.by is not None and limit.by.name == "side"
        if self.side and not by_side:
            self._problem(
                key.place,
                f"'{key}' is one limit for intake and exhaust",
                "write it beneath engine, once",
            )
            return {}
        if isinstance(value, Mapping):
            given = list(value.items())
        else:
            options = [self.side] if self.side else list(limit.entries)
            given = [(Text(option, key.place), value) for option in options]
        values: dict[str, Quantity] = {}
        for option, text in given:
            known = self._option(option, limit)
            quantity = self._quantity(text, limit)
            if known is not None and quantity is not None:
                values[known] = quantity
            if quantity is None:
                break  # told once, though it is meant for several options
        return values

    def _option(self, option: Text, limit: Limit) -> str | None:
        if limit.by is None and option:
            self._problem(option.place, f"'{limit.name}' is one figure", _WAY)
            return None
        if self.side and option != self.side:
            self._problem(option.place, f"a limit for '{option}' beneath {self.side}", "move it")
            return None
        return self.reader.one_of(option, limit.entries, f"option of '{limit.name}'")

    def _quantity(self, text: Any, limit: Limit) -> Quantity | None:
        if isinstance(text, Text):
            return self.reader.quantity(text, limit.kind)
        self._problem(text.place, f"'{limit.name}' is one value", _WAY)
        return None


def tell_doubles(parts: Iterable[Part], problems: list[Problem]) -> None:
    """Add a problem for each limit that two makers ask for."""
    first: dict[tuple[str, str, str], MakerLimit] = {}
    for part in parts:
        for one in part.asked:
            for option in one.values:
                other = first.setdefault((one.rule, one.limit, option), one)
                if other is not one:
                    problems.append(
                        Problem(
                            f"{one.rule}.{one.limit} is asked for twice: it stands already at "
                            f"{other.place}",
                            one.place,
                            "keep the stricter one, or whichever maker rules here",
                        )
                    )
                    break
