"""What to ask for: what the neighbours of a slot leave a part that is to go there.

The part that is there now, if any, counts for nothing but what was measured of its place. Each
figure of the class has the range in which no neighbour surely conflicts, with the rules that end
it; conditions on several figures of the part at once stand beside, in words. Where nothing is
left, the fewest neighbours that contradict each other are named.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from fitcheck.check.bind import Binding
from fitcheck.check.checking import CLAIMS, check_build
from fitcheck.check.finding import RuleFinding
from fitcheck.check.needs import missing
from fitcheck.check.verdict import Verdict
from fitcheck.knowledge import Knowledge, Rule, as_makers_ask
from fitcheck.knowledge.figures import Figures
from fitcheck.knowledge.parts import Derived
from fitcheck.language import variables
from fitcheck.model import SIDES, Attribute, EngineBuild, Selector
from fitcheck.plan.at_place import emptied
from fitcheck.plan.howfar import HowFar, how_far
from fitcheck.plan.safe import OrderBound, asked_of
from fitcheck.quantity import Interval, System

_FROM_LISTING = ("present", "comes_with_head")


@dataclass(frozen=True, slots=True)
class Envelope:
    """What the neighbours leave one attribute, at some places.

    Where nothing is left, `contradicting` names the fewest slots whose parts leave it nothing.
    """

    far: HowFar
    contradicting: tuple[str, ...]

    @property
    def bounded(self) -> bool:
        """Whether the neighbours rule anything out."""
        far = self.far
        whole = far.possible[:1]
        return not whole or whole[0].first > 0 or whole[0].last < len(far.values) - 1

    @property
    def narrower(self) -> bool:
        """Whether a narrower range surely fits."""
        ends = [
            [(one.first, one.last) for one in some]
            for some in (self.far.possible, self.far.certain)
        ]
        return bool(ends[1]) and ends[0] != ends[1]


@dataclass(frozen=True, slots=True)
class Order:
    """The note: what is asked of single figures, and of several of them at once.

    `asked` is safe at every place; `envelopes` are what the neighbours leave each figure; `stands`
    is what the place itself gives, as derived quantities with their ranges over the places.
    `joint` are the findings of the rules that read several figures of the part, at the places
    where they are not met whatever the part is.
    """

    slot: str
    build: EngineBuild
    envelopes: list[Envelope]
    joint: list[RuleFinding]
    asked: list[OrderBound]
    stands: list[tuple[Derived, Interval]]

    @property
    def possible(self) -> bool:
        """Whether the neighbours leave anything at all."""
        return all(envelope.far.possible for envelope in self.envelopes)

    @property
    def certain(self) -> bool:
        """Whether a part that keeps to the note is sure to fit."""
        ranges = [(one.far.possible, one.far.certain) for one in self.envelopes]
        same = all(
            [(x.first, x.last) for x in possible] == [(x.first, x.last) for x in certain]
            for possible, certain in ranges
        )
        return same and not self.joint


def order(build: EngineBuild, knowledge: Knowledge, slot: str, system: System = "inch") -> Order:
    """What to ask for in a slot."""
    without = emptied(build, knowledge, slot)
    knowledge = as_makers_ask(knowledge, without)
    attributes = knowledge.classes[slot].attributes
    binding = Binding(without, knowledge)
    stated = {
        statement.attribute.name for part in without.parts[slot] for statement in part.statements
    }
    envelopes = []
    asked: list[OrderBound] = []
    for attribute in attributes.values():
        if not _asked_for(attribute, knowledge) or attribute.name in stated:
            continue
        fars = []
        for selector in _places(attribute, binding, knowledge):
            far = how_far(without, knowledge, attribute, selector, system)
            slots = (
                () if far.possible else _contradicting(without, knowledge, far, selector, system)
            )
            fars.append(far)
            envelope = Envelope(far, slots)
            if envelope.bounded or envelope.narrower:
                envelopes.append(envelope)
        if all(far.possible for far in fars):
            asked += asked_of(fars)
    several = [rule for rule in knowledge.rules.values() if _joins(rule, attributes)]
    findings = check_build(without, knowledge, several).findings
    joint = [finding for finding in findings if finding.verdict is not Verdict.FITS]
    stands = _stands(knowledge.classes[slot].order_tells, binding)
    return Order(slot, without, envelopes, joint, asked, stands)


def _stands(names: Iterable[str], binding: Binding) -> list[tuple[Derived, Interval]]:
    """What the place gives, where its figures are told: the hull over all valves."""
    stands = []
    for name in names:
        derived = binding.knowledge.derived[name]
        read = list(variables(derived.node))
        places = binding.build.layout.positions("valve")
        facts = [{one: binding.fact(one, at) for one in read} for at in places]
        if any(missing(derived.node, read_there) for read_there in facts):
            continue
        figures = Figures(binding.knowledge, [derived.node], ("order", name))
        values = [figures.of(read_there)[id(derived.node)] for read_there in facts]
        ends = min(one.lower for one in values), max(one.upper for one in values)
        stands.append((derived, Interval(*ends)))
    return stands


def _joins(rule: Rule, attributes: Mapping[str, Attribute]) -> bool:
    """Whether a rule reads several figures of the part and something of its neighbours."""
    figures = [name for name in rule.inputs if name in attributes and _figure(attributes[name])]
    return (
        rule.family != CLAIMS
        and rule.ways is None
        and len(figures) > 1
        and any(name not in attributes for name in rule.inputs)
    )


def _figure(attribute: Attribute) -> bool:
    name = attribute.short_name
    return not (attribute.text or attribute.several) and name not in _FROM_LISTING


def _asked_for(attribute: Attribute, knowledge: Knowledge) -> bool:
    """Whether a neighbour can say anything about a figure."""
    rules = knowledge.readers.get(attribute.name, ())
    return _figure(attribute) and any(
        rule.family != CLAIMS
        and rule.ways is None
        and any(other != attribute.slot for other in rule.slots)
        for rule in rules
    )


def _places(attribute: Attribute, binding: Binding, knowledge: Knowledge) -> list[Selector]:
    """Both sides apart where the neighbours differ between them, else everywhere at once."""
    if attribute.each != "valve":
        return [Selector()]
    rules = knowledge.readers.get(attribute.name, ())
    apart = any(
        len({position.side for position in group}) == 1
        for rule in rules
        for group in binding.groups(rule.each, rule.inputs)
    )
    return [Selector(side=side) for side in SIDES] if apart else [Selector()]


def _contradicting(
    build: EngineBuild, knowledge: Knowledge, far: HowFar, selector: Selector, system: System
) -> tuple[str, ...]:
    """The fewest neighbours that leave nothing: whatever can be left out is left out."""
    attribute = far.attribute
    binders = far.contradicting
    slots = list(
        dict.fromkeys(
            slot
            for binder in binders
            for slot in binder.rule.slots
            if slot != attribute.slot and slot in build.parts
        )
    )
    for slot in list(slots):
        fewer = _only(build, attribute.slot, [other for other in slots if other != slot])
        if not how_far(fewer, knowledge, attribute, selector, system).possible:
            slots.remove(slot)
    return tuple(slots)


def _only(build: EngineBuild, asked: str, slots: Iterable[str]) -> EngineBuild:
    """The build in which only the parts of some slots are known."""
    kept = {asked, *slots}
    parts = {
        slot: parts if slot in kept else tuple(replace(one, statements=()) for one in parts)
        for slot, parts in build.parts.items()
    }
    return replace(build, parts=parts)
