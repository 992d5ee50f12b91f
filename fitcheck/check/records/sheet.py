"""The inspection sheet of a build: what is still to be measured, by set-up and tool."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.check.bind import Binding
from fitcheck.check.needs import taken
from fitcheck.check.records.history import strongest
from fitcheck.knowledge import Knowledge, Limit, Procedure, Rule
from fitcheck.language import Compare, Known, Node, Step, Variable
from fitcheck.language.tree import Apply
from fitcheck.model import (
    EVERYWHERE,
    SIDES,
    Attribute,
    Build,
    Evidence,
    Fact,
    Layout,
    Position,
    Selector,
    Statement,
)
from fitcheck.source import frozen

# The columns that are read back, and those that only tell: a row that is cut off lacks the latter.
READ = ("attribute", "where", "measured", "unit", "by", "when", "with")
TOLD = (
    "part",
    "figure",
    "write",
    "claimed",
    "ordered",
    "measured before",
    "judged by",
    "resolution",
    "minutes",
    "tool",
    "set-up",
)

_TURNED = {">=": "<=", "<=": ">=", ">": "<", "<": ">"}


@frozen
class Line:
    """One figure at one place, with what is said of it so far."""

    attribute: Attribute
    selector: Selector
    claimed: str
    ordered: str
    measured: str


@frozen
class Judged:
    """A limit that a figure is held against just as it is read; `op` as in `figure op limit`."""

    op: str
    known: Known
    limit: Limit
    rule: Rule


@frozen
class Item:
    """A figure to take, at its places."""

    attribute: Attribute
    procedure: Procedure
    lines: tuple[Line, ...]
    judged: tuple[Judged, ...]

    @property
    def minutes(self) -> int:
        """The time for all its places."""
        return self.procedure.minutes * len(self.lines)


@frozen
class Sheet:
    """What is to be measured; the items of one set-up and tool stand together."""

    build: Build
    knowledge: Knowledge
    items: tuple[Item, ...]


def make_sheet(
    build: Build, knowledge: Knowledge, slots: tuple[str, ...] = (), *, again: bool = False
) -> Sheet:
    """The sheet of a build, or of some slots with what came inside their parts.

    Only figures that some rule reads are asked for, and, unless `again`, only where they are not
    measured yet.
    """
    binding = Binding(build, knowledge)
    items = []
    for slot in _slots(build, slots):
        for attribute in knowledge.classes[slot].attributes.values():
            procedure = knowledge.procedures.get(attribute.measure)
            if procedure is None or attribute.name not in knowledge.readers:
                continue
            fact = binding.fact(attribute.name, build.layout.positions(attribute.each)[0])
            if fact.given and fact.statement is None and not attribute.spread_of:
                continue  # the build's own layout tells it
            lines = tuple(
                line for line in _lines(attribute, procedure, build) if again or not line.measured
            )
            if lines:
                items.append(Item(attribute, procedure, lines, tuple(_judged(attribute, binding))))
    setups = list(dict.fromkeys(str(item.procedure.file.setup) for item in items))
    items.sort(
        key=lambda item: (
            setups.index(str(item.procedure.file.setup)),
            str(item.procedure.file.tool),
            item.procedure.id,
        )
    )
    return Sheet(build, knowledge, tuple(items))


def _slots(build: Build, wanted: tuple[str, ...]) -> list[str]:
    return [
        slot
        for slot, parts in build.parts.items()
        if not wanted or slot in wanted or parts[0].holder in wanted
    ]


def _lines(attribute: Attribute, procedure: Procedure, build: Build) -> Iterator[Line]:
    said = [statement for statement in build.statements() if statement.attribute is attribute]
    positions = build.layout.positions(attribute.each)
    for selector in _selectors(attribute, procedure, build.layout):
        covered = [position for position in positions if selector.covers(position)]
        texts = {evidence: _text(said, evidence, covered) for evidence in Evidence}
        yield Line(
            attribute,
            selector,
            texts[Evidence.CLAIMED],
            texts[Evidence.PREDICTED],
            texts[Evidence.MEASURED],
        )


def _selectors(attribute: Attribute, procedure: Procedure, layout: Layout) -> list[Selector]:
    """The places a figure is taken at; what is read on paper or by eye is alike on a side."""
    positions = layout.positions(attribute.each)
    if procedure.resolution is not None and attribute.kind is not None:
        return [
            Selector(p.bank if p.cylinder is None else None, p.cylinder, p.side) for p in positions
        ]
    if attribute.each == "valve":
        return [Selector(side=side) for side in SIDES]
    return [EVERYWHERE]


def _text(said: list[Statement], evidence: Evidence, positions: list[Position]) -> str:
    """What holds on this evidence at all the positions; empty where it is not told for each."""
    own = [statement for statement in said if statement.evidence is evidence]
    held = [strongest(own, position) for position in positions]
    texts = {value_text(statement) if statement else "" for statement in held}
    return texts.pop() if len(texts) == 1 else "differs" if "" not in texts else ""


def value_text(statement: Statement) -> str:
    """What a statement says, as it was typed or in the words of its options."""
    attribute, value = statement.attribute, statement.value
    if isinstance(value, str):
        return value
    if isinstance(value, int):
        return ", ".join(word for i, word in enumerate(attribute.option_words) if value >> i & 1)
    return value.text


def _judged(attribute: Attribute, binding: Binding) -> Iterator[Judged]:
    """The limits that a figure is held against directly, where what they depend on is known."""
    for rule in binding.knowledge.readers[attribute.name]:
        position = binding.build.layout.positions(rule.each)[0]
        facts = {name: binding.fact(name, position) for name in rule.inputs}
        if rule.applies is not None and taken(rule.applies, facts) is False:
            continue
        for compare in _all_of(rule.requires):
            if not isinstance(compare, Compare) or compare.op not in _TURNED:
                continue
            ways = (
                (compare.left, compare.right, compare.op),
                (compare.right, compare.left, _TURNED[compare.op]),
            )
            for figure, limit, op in ways:
                if isinstance(figure, Variable) and figure.name == attribute.name:
                    known = _settled(limit, facts)
                    if isinstance(known, Known) and known.name in rule.limits:
                        yield Judged(op, known, rule.limits[known.name], rule)


def _all_of(node: Node) -> Iterator[Node]:
    if isinstance(node, Apply) and node.op == "and":
        for part in node.args:
            yield from _all_of(part)
    else:
        yield node


def _settled(node: Node, facts: dict[str, Fact]) -> Node | None:
    """A choice between limits, where it is settled."""
    while isinstance(node, Step) or (isinstance(node, Apply) and node.op == "pick"):
        if isinstance(node, Step):
            node = node.inner
            continue
        condition, yes, no = node.args
        which = taken(condition, facts)
        if which is None:
            return None
        node = yes if which else no
    return node
