"""The inspection sheet of a build: what is still to be measured, by set-up and tool."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fitcheck.check.bind import Binding
from fitcheck.check.checking import BuildCheck
from fitcheck.check.measuring.asks import Ask, Reason, asks
from fitcheck.check.measuring.places import place_of, selectors
from fitcheck.check.needs import taken
from fitcheck.check.records.history import strongest
from fitcheck.check.telling import value_text
from fitcheck.knowledge import Knowledge, Limit, Procedure, Rule
from fitcheck.language import Compare, Known, Node, Step, Variable
from fitcheck.language.tree import Apply
from fitcheck.model import (
    Attribute,
    EngineBuild,
    Evidence,
    Fact,
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

# Blanks that stand side by side in a text.
ACROSS = 8
# On paper, US Letter being the shorter: the rows of a page, their width in letters, the blanks side
# by side, and the rows that a blank, a new set-up and tool, and a caution take.
PAGE, _WIDTH, _ON_PAPER, _OF_A_BLANK, _OF_A_TOOL, _OF_A_CAUTION = 57, 105, 3, 2, 4, 5

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
class DirectLimit:
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
    judged: tuple[DirectLimit, ...]

    @property
    def minutes(self) -> int:
        """The time for all its places."""
        return self.procedure.minutes * len(self.lines)


@frozen
class MeasuringSheet:
    """What is to be measured; the items of one set-up and tool stand together.

    `left_off` is how many more figures there are; None where nothing is left off.
    """

    build: EngineBuild
    knowledge: Knowledge
    items: tuple[Item, ...]
    left_off: int | None = None


def make_sheet(
    build: EngineBuild, knowledge: Knowledge, slots: tuple[str, ...] = (), *, again: bool = False
) -> MeasuringSheet:
    """The sheet of a build, or of some slots with what came inside their parts.

    Only figures that some rule reads stand on it, and, unless `again`, only where they are not
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
    return MeasuringSheet(build, knowledge, _by_set_up(items))


def first_sheet(
    check: BuildCheck, slots: tuple[str, ...] = (), *, ranked: list[Ask] | None = None
) -> MeasuringSheet:
    """One page of it: what decides a clash or a STOP, as far as the page goes.

    Half of it at most for figures on which a clash rests and which nobody measured; then what is
    to be asked for first. Where no STOP is open, what else the first figures tell.
    """
    wanted = set(_slots(check.build, slots))
    ranked = asks(check) if ranked is None else ranked
    ranked = [ask for ask in ranked if ask.attribute.slot in wanted]
    grave = [ask for ask in ranked if ask.reason <= Reason.STOP]
    open_ = [_item(ask.attribute, check, ask.positions) for ask in grave or ranked]
    resting = [
        _item(check.knowledge.attributes[name], check, positions)
        for name, positions in _resting(check).items()
        if check.knowledge.attributes[name].slot in wanted
    ]
    page = _Page(PAGE // 2)
    page.fill(item for item in resting if item is not None)
    page.room += PAGE - PAGE // 2
    page.fill(item for item in open_ if item is not None)
    items = list(page.items.values())
    every = {ask.attribute.name for ask in ranked} | page.items.keys()
    return MeasuringSheet(check.build, check.knowledge, _by_set_up(items), len(every) - len(items))


class _Page:
    """Takes items as long as it has room; what stands on it already takes none."""

    def __init__(self, room: int) -> None:
        self.room = room
        self.items: dict[str, Item] = {}
        self._tools: set[tuple[str, str]] = set()
        self._cautions: set[str] = set()

    def fill(self, items: Iterable[Item]) -> None:
        """The first of the items, until one finds no room."""
        for item in items:
            tool = str(item.procedure.file.setup), str(item.procedure.file.tool)
            cautions = set(map(str, item.procedure.file.cautions))
            height = _height(item) + (0 if tool in self._tools else _OF_A_TOOL)
            height += _OF_A_CAUTION * len(cautions - self._cautions)
            if item.attribute.name in self.items:
                continue
            if height > self.room and self.items:
                return
            self.room -= height
            self._tools.add(tool)
            self._cautions |= cautions
            self.items[item.attribute.name] = item


def _by_nearness(rule: Rule) -> list[str]:
    """The figures of a rule, the fewest steps from what it asks first, then what it depends on."""
    return list(dict.fromkeys([*_beneath([rule.requires]), *_beneath(list(rule.roots))]))


def _beneath(level: list[Node]) -> list[str]:
    """The figures beneath some nodes, step by step."""
    names: dict[str, None] = {}
    seen = {id(node) for node in level}
    while level:
        names |= dict.fromkeys(one.name for one in level if isinstance(one, Variable))
        beneath = {id(part): part for one in level for part in one.parts}
        level = [part for key, part in beneath.items() if key not in seen]
        seen |= beneath.keys()
    return list(names)


def _resting(check: BuildCheck) -> dict[str, dict[Position, None]]:
    """The figures on which a clash rests and that can be measured or seen, but nobody did so.

    Of one clash what it compares itself comes before what that is reckoned from.
    """
    found: dict[str, dict[Position, None]] = {}
    for finding in check.conflicts:
        cited = finding.cited
        for name in sorted(cited, key=_by_nearness(finding.rule).index):
            fact = cited[name]
            procedure = check.knowledge.procedures.get(fact.attribute.measure)
            seen = fact.evidence <= Evidence.PREDICTED or procedure is None or procedure.asked
            if not finding.is_remark and not seen:
                each = fact.attribute.each
                places = (place_of(each, position) for position in finding.positions)
                found.setdefault(name, {}).update(dict.fromkeys(places))
    return found


def _item(attribute: Attribute, check: BuildCheck, positions: Iterable[Position]) -> Item | None:
    procedure = check.knowledge.procedures.get(attribute.measure)
    if procedure is None:
        return None
    lines = tuple(_lines(attribute, procedure, check.build, positions))
    judged = _judged(attribute, check.binding)
    return Item(attribute, procedure, lines, tuple(judged))


def _height(item: Item) -> int:
    """The rows that an item takes in print: what it is, its words and limits, and its blanks."""
    blanks = _OF_A_BLANK * -(-len(item.lines) // _ON_PAPER)
    words = sum(len(word) + 3 for word in item.attribute.option_words)
    return 2 + len(item.judged) + blanks + -(-words // _WIDTH)


def _by_set_up(items: list[Item]) -> tuple[Item, ...]:
    """The items of one set-up and tool together."""
    setups = list(dict.fromkeys(str(item.procedure.file.setup) for item in items))
    return tuple(
        sorted(
            items,
            key=lambda item: (
                setups.index(str(item.procedure.file.setup)),
                str(item.procedure.file.tool),
                item.procedure.id,
            ),
        )
    )


def _slots(build: EngineBuild, wanted: tuple[str, ...]) -> list[str]:
    return [
        slot
        for slot, parts in build.parts.items()
        if not wanted or slot in wanted or parts[0].holder in wanted
    ]


def _lines(
    attribute: Attribute,
    procedure: Procedure,
    build: EngineBuild,
    places: Iterable[Position] | None = None,
) -> Iterator[Line]:
    said = [statement for statement in build.statements() if statement.attribute is attribute]
    positions = build.layout.positions(attribute.each)
    for selector in selectors(attribute, procedure, positions if places is None else places):
        covered = [position for position in positions if selector.covers(position)]
        texts = {evidence: _text(said, evidence, covered) for evidence in Evidence}
        yield Line(
            attribute,
            selector,
            texts[Evidence.CLAIMED],
            texts[Evidence.PREDICTED],
            texts[Evidence.MEASURED],
        )


def _text(said: list[Statement], evidence: Evidence, positions: list[Position]) -> str:
    """What holds on this evidence at all the positions; empty where it is not told for each."""
    own = [statement for statement in said if statement.evidence is evidence]
    held = [strongest(own, position) for position in positions]
    texts = {value_text(statement) if statement else "" for statement in held}
    return texts.pop() if len(texts) == 1 else "differs" if "" not in texts else ""


def _judged(attribute: Attribute, binding: Binding) -> Iterator[DirectLimit]:
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
                        yield DirectLimit(op, known, rule.limits[known.name], rule)


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
