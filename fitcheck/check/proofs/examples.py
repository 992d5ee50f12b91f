"""Runs the examples that each rule carries, and the changes that must break one of them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from fitcheck.check.bind import Binding
from fitcheck.check.verdict import judge_rules
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.model import (
    EVERYWHERE,
    SIDES,
    Attribute,
    EngineBuild,
    Evidence,
    Layout,
    Origin,
    Part,
    Statement,
)
from fitcheck.quantity import EXACT, Quantity, QuantityError, read_quantity
from fitcheck.source import Problem, Sequence, Text, frozen, nearest

EXPECTED = ("fits", "conflict", "straddles", "unmeasured", "not_applicable")
NOT_APPLICABLE = "not_applicable"
_PRESENCE = ("present", "comes_with_head")


@frozen
class Example:
    """Facts and the verdict that a rule must give on them."""

    expected: str
    facts: dict[Text, Any]
    given: dict[Text, Any]

    @property
    def all_facts(self) -> dict[Text, Any]:
        """The case's facts over the shared ones."""
        merged = {str(key): (key, value) for key, value in self.given.items()}
        merged |= {str(key): (key, value) for key, value in self.facts.items()}
        return dict(merged.values())


def examples_of(rule: Rule) -> Iterator[Example]:
    """The examples in a rule's file."""
    for expected in EXPECTED:
        for facts in getattr(rule.examples, expected):
            yield Example(expected, facts, rule.examples.given)


def outcome(rule: Rule, example: Example, knowledge: Knowledge, problems: list[Problem]) -> str:
    """The verdict that a rule gives on an example's facts; adds a problem for facts it can't read.

    The engine of an example has one cylinder; both its valves are alike unless `side` is given,
    and then only that side is judged.
    """
    build, side = build_of(rule, example, knowledge, problems)
    failures: list[Problem] = []
    judged = judge_rules(Binding(build, knowledge), [rule], failures)
    problems += failures
    verdicts = {
        one.verdict.value if one.verdict else NOT_APPLICABLE
        for one in judged
        if side is None or any(p.side == side for p in one.positions)
    }
    return " and ".join(sorted(verdicts))


def build_of(
    rule: Rule, example: Example, knowledge: Knowledge, problems: list[Problem]
) -> tuple[EngineBuild, str | None]:
    """The engine of an example, and the side judged; adds a problem for what can't be read."""
    statements: dict[str, list[Statement]] = {}
    absent: set[str] = set()
    holders: dict[str, str] = {}
    sellers: dict[str, str] = {}  # of parts that do not come with the head
    side = None
    for key, value in example.all_facts.items():
        slot, _, attribute_name = key.partition(".")
        if key == "side":
            side = str(value)
            if side not in SIDES:
                problems.append(Problem(f"'{value}' is no side", key.place, "intake or exhaust"))
            continue
        if attribute_name in _PRESENCE and slot in knowledge.classes:
            statements.setdefault(slot, [])
            if value != "yes" and attribute_name == "present":
                absent.add(slot)
            elif value == "yes" and attribute_name == "comes_with_head":
                holders[slot] = "head"
            elif attribute_name == "comes_with_head":
                sellers[slot] = "another seller"
            continue
        attribute = knowledge.attributes.get(key)
        if attribute is None:
            problems.append(
                Problem(f"'{key}' is no attribute", key.place, nearest(key, knowledge.attributes))
            )
            continue
        read = _value(attribute, value, problems)
        if read is not None:
            statements.setdefault(slot, []).append(
                Statement(attribute, EVERYWHERE, Evidence.MEASURED, read, Origin(), key.place)
            )
    if holders:
        statements.setdefault("head", [])
    parts: dict[str, tuple[Part, ...]]
    parts = {
        slot: (Part(slot, "", sellers.get(slot, ""), tuple(said), holders.get(slot, "")),)
        for slot, said in statements.items()
        if slot not in absent
    }
    layout = Layout(1, (("left", (1,)),))
    return EngineBuild(rule.id, "", layout, parts, frozenset(absent)), side


def _value(
    attribute: Attribute, value: Any, problems: list[Problem]
) -> Quantity | int | str | None:
    if attribute.kind is not None and isinstance(value, Text):
        try:
            found = read_quantity(value, attribute.kind, EXACT)
        except QuantityError as error:
            problems.append(Problem(error.what, value.place, error.mend))
            return None
        if attribute.plausible and not found.interval.within(attribute.plausible):
            problems.append(
                Problem(f"{value} is outside the plausible range of {attribute.name}", value.place)
            )
            return None
        return found
    mask = 0
    for option in value if isinstance(value, Sequence | list) else [value]:
        if option not in attribute.options:
            problems.append(
                Problem(
                    f"'{option}' is no option of {attribute.name}",
                    option.place,
                    nearest(str(option), attribute.options),
                )
            )
            return None
        mask |= 1 << attribute.options.index(str(option))
    return mask


def prove(rule: Rule, knowledge: Knowledge) -> list[Problem]:
    """Problems with a rule's examples: those that go wrong, and kinds that are missing."""
    problems: list[Problem] = []
    found = list(examples_of(rule))
    for example in found:
        count = len(problems)
        given = outcome(rule, example, knowledge, problems)
        if given != example.expected and len(problems) == count:
            place = next(iter(example.facts), None)
            problems.append(
                Problem(
                    f"an example of '{rule.id}' must give {example.expected} and gives {given}",
                    place.place if place is not None else rule.place,
                    "mend the example or the rule",
                )
            )
    wanted_kinds = ["fits", "conflict"]
    # What comes with a claim that was made is told by it; without the claim a rule is silent.
    brought = {
        f"{slot}.{own}"
        for name in rule.only_given
        for slot in knowledge.attributes[name].brings
        for own in _PRESENCE
    }
    if not set(rule.inputs) <= {*rule.only_given, *brought}:
        wanted_kinds.append("unmeasured")
    if rule.applies is not None or rule.only_given:
        wanted_kinds.append(NOT_APPLICABLE)
    for wanted in wanted_kinds:
        if not any(example.expected == wanted for example in found):
            problems.append(
                Problem(
                    f"'{rule.id}' has no example for {wanted}",
                    rule.place,
                    f"add one under examples: {wanted}:",
                )
            )
    return problems
