"""A shop's own limits and waivers, with reason, name and expiry, over the knowledge.

Only what is found can be waived: what can't be read or computed stays a problem.
"""

from __future__ import annotations

from dataclasses import field
from datetime import date
from pathlib import Path

from fitcheck.knowledge.base import Knowledge
from fitcheck.knowledge.limits import source_of, with_limit, with_limits
from fitcheck.knowledge.parts import (
    Accountable,
    Citation,
    House,
    HouseLimit,
    Limit,
    Rule,
    Waiver,
)
from fitcheck.knowledge.reading import Reader
from fitcheck.model import EVERYWHERE, LEVELS, Selector, shape, shaped
from fitcheck.quantity import Quantity
from fitcheck.source import BadInput, Mapping, Problem, Problems, Text, read_yaml

CLAIMS = "claims"


@shape
class HouseLimitFile:
    """A limit that a shop sets itself; the key above it is rule.limit."""

    value: Text | None = None
    values: dict[Text, Text] | None = None
    reason: Text
    name: Text
    until: Text | None = None


@shape
class WaiverFile:
    """A finding that a shop accepts."""

    rule: Text
    at: Text | None = None
    build: Text | None = None
    reason: Text
    name: Text
    until: Text


@shape
class HouseFile:
    """The top of a house file."""

    house: Text
    limits: dict[Text, HouseLimitFile] = field(default_factory=dict)
    waivers: list[WaiverFile] = field(default_factory=list)


def with_house(
    knowledge: Knowledge, path: Path, today: date | None = None, text: str | None = None
) -> Knowledge:
    """The knowledge with the limits of a house file in place; raises BadInput."""
    problems = Problems()
    node = read_yaml(path, problems, text)
    file = shaped(HouseFile, node, problems) if isinstance(node, Mapping) else None
    if node is not None and not isinstance(node, Mapping):
        problems.append(
            Problem("a house file starts with keys such as house: and limits:", node.place)
        )
    if file is None or node is None:
        raise BadInput(problems)
    reader = _HouseReader(knowledge, Reader(problems), today or date.today())
    limits = [
        limit
        for key, entry in file.limits.items()
        if (limit := reader.limit(key, entry)) is not None
    ]
    waivers = [waiver for entry in file.waivers if (waiver := reader.waiver(entry)) is not None]
    if problems:
        raise BadInput(problems)
    house = House(str(file.house), str(path), tuple(limits), tuple(waivers))
    return _applied(knowledge, house, node.place.source.text)


class _HouseReader:
    def __init__(self, knowledge: Knowledge, reader: Reader, today: date) -> None:
        self.knowledge = knowledge
        self.reader = reader
        self.today = today

    def limit(self, key: Text, file: HouseLimitFile) -> HouseLimit | None:
        rule_name, _, name = key.partition(".")
        rule = self._rule(Text(rule_name, key.place))
        if rule is None:
            return None
        found = self.reader.one_of(Text(name, key.place), rule.limits, f"limit of '{rule.id}'")
        if found is None:
            return None
        limit = rule.limits[found]
        values = self._values(key, limit, file)
        if not values:
            return None
        before = {option: limit.entries[option] for option in values}
        return HouseLimit(
            rule.id,
            limit.name,
            values,
            before,
            self._answer(key, file.reason, file.name, file.until),
        )

    def _values(self, key: Text, limit: Limit, file: HouseLimitFile) -> dict[str, Quantity]:
        if (file.value is None) == (file.values is None) or (file.values and limit.by is None):
            what = "'value', or 'values' for options" if limit.by else "'value'"
            self.reader.problem(key, f"a house limit has {what}", f"give {what}")
            return {}
        if file.value is not None:
            quantity = self.reader.quantity(file.value, limit.kind)
            return dict.fromkeys(limit.entries, quantity) if quantity else {}
        found = {}
        for option, text in (file.values or {}).items():
            known = self.reader.one_of(option, limit.entries, f"option of '{limit.name}'")
            quantity = self.reader.quantity(text, limit.kind)
            if known is not None and quantity is not None:
                found[known] = quantity
        return found

    def waiver(self, file: WaiverFile) -> Waiver | None:
        rule = self._rule(file.rule)
        if rule is None:
            return None
        if rule.family == CLAIMS:
            self.reader.problem(
                file.rule,
                f"'{rule.id}' judges what a seller says: that is no clash to waive",
                "leave it out",
            )
            return None
        selector = self._selector(file.at, rule) if file.at is not None else EVERYWHERE
        if selector is None:
            return None
        return Waiver(
            rule.id,
            selector,
            str(file.build or ""),
            self._answer(file.rule, file.reason, file.name, file.until),
        )

    def _rule(self, name: Text) -> Rule | None:
        found = self.knowledge.named_rules.find(name)
        if not found:
            self.reader.problem(name, *self.knowledge.named_rules.told(name))
        return self.knowledge.rules.get(found)

    def _selector(self, text: Text, rule: Rule) -> Selector | None:
        selector = Selector.read(text)
        if selector is None:
            self.reader.problem(
                text,
                f"'{text}' names no position",
                "write all, intake, exhaust, cylinder 3 or 3 exhaust",
            )
            return None
        wanted = (
            "valve"
            if selector.side
            else "cylinder"
            if selector.cylinder
            else "bank"
            if selector.bank
            else "engine"
        )
        if LEVELS.index(wanted) > LEVELS.index(rule.each):
            self.reader.problem(
                text,
                f"'{rule.id}' is judged for each {rule.each}, not for each {wanted}",
                "leave 'at' out, or name a larger place",
            )
            return None
        return selector

    def _answer(self, key: Text, reason: Text, name: Text, until: Text | None) -> Accountable:
        for text, what in ((reason, "reason"), (name, "name")):
            if not text.strip():
                self.reader.problem(text, f"the {what} is empty", "say who decides, and why")
        expired = ""
        if until is not None:
            try:
                last = date.fromisoformat(until)
                expired = f"expired on {last}" if last < self.today else ""
            except ValueError:
                expired = f"'{until}' is no date as in 2026-03-09, so it counts as expired"
        return Accountable(str(reason), str(name), str(until or ""), expired, key.place)


def _applied(knowledge: Knowledge, house: House, text: str) -> Knowledge:
    rules: dict[str, Rule] = {}
    sources: dict[str, Citation] = {}
    for own in house.limits:
        if own.answer.expired:
            continue
        source = f"house {own.rule}.{own.limit}"
        title = f"house limit of {house.title}, by {own.answer.name}: {own.answer.reason}"
        sources[source] = source_of(source, title, own.answer.place)
        rule = rules.get(own.rule, knowledge.rules[own.rule])
        rules[own.rule] = with_limit(rule, own.limit, own.values, source, own.answer.reason)
    made = with_limits(knowledge, rules, sources, text)
    made.house = house
    return made
