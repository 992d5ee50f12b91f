"""A load read at a height, against what each listed spring presses with there.

A list states a load at a height of its own choice. The derived figures that carry it to the height
at which a spring stands (rules/derived/spring_loads.yaml) are asked over all listed springs with
the height of the reading in its place; what a list does not tell is as wide as such springs come.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from fitcheck.check.one_figure import plain
from fitcheck.check.printed import Printing
from fitcheck.knowledge import Knowledge
from fitcheck.language import Known, Node, Step, Variable, walk
from fitcheck.language.columns import Columns, number
from fitcheck.model import Part, Statement
from fitcheck.quantity import Interval, Quantity
from fitcheck.screen.screening import define
from fitcheck.screen.store import Catalog

SLOT = "spring"
# A load with its height, the greater height first.
PAIRS = (("spring.load_1", "spring.load_1_height"), ("spring.load_2", "spring.load_2_height"))
# What a spring presses with, and the height in whose place the reading's is put.
_CARRIED = (("seat_load_by_catalogue", "fitted_height"), ("open_load_by_catalogue", "open_height"))
_FREE, _RATE, _RATE_LISTED = "free_length_by_load", "catalogue_rate", "rate_fitted"


@dataclass(frozen=True, slots=True)
class Load:
    """A load and the height at which it was read; `at` is the pair's place in `PAIRS`."""

    at: int
    load: Interval
    height: Interval

    @property
    def told(self) -> dict[str, Interval]:
        """The same by the attributes that tell it."""
        return dict(zip(PAIRS[self.at], (self.load, self.height), strict=True))


@dataclass
class _Asked:
    """What is asked of every listed spring: figures, each as two columns, and what must hold."""

    nodes: list[Node] = field(default_factory=list)
    demands: list[str] = field(default_factory=list)

    def figure(self, node: Node) -> tuple[str, str]:
        """The columns of a figure's two ends."""
        self.nodes.append(node)
        return f"r{2 * len(self.nodes) - 2}", f"r{2 * len(self.nodes) - 1}"

    def meet(self, node: Node, low: str, high: str, unless: str = "FALSE") -> None:
        """A figure must have a value in common with others; one that can't be told may."""
        own = self.figure(node)
        apart = " OR ".join(f"isnan({one})" for one in own)
        self.demands.append(f"({unless} OR {apart} OR ({own[0]} <= {high} AND {own[1]} >= {low}))")


def loads_of(parts: Iterable[Part]) -> list[Load]:
    """The loads of a part at hand that were told with their heights."""
    return [
        Load(at, _interval(one), _interval(other))
        for part in parts
        for at, (load, height) in enumerate(PAIRS)
        for one in _said(part, load)
        for other in _said(part, height)
        if one.selector == other.selector
    ]


def named_loads(slot: str, texts: Sequence[str], knowledge: Knowledge) -> list[tuple[str, str]]:
    """Loads such as `125 lbs @ 1.800` by the attributes they tell, the greatest height first.

    Fewer than the texts where one is no such load, or there are more than lists have.
    """
    read = []
    for text in texts if slot == SLOT else ():
        may = [(at, height) for at in range(len(PAIRS)) if (height := _height(at, text, knowledge))]
        if may:
            read.append((max(height for _, height in may), text, {at for at, _ in may}))
    read.sort(reverse=True, key=lambda one: one[0])
    if len(read) == 1:
        return [(_own(min(read[0][2])), read[0][1])]
    return [
        (_own(at), text)
        for at, (_, text, may) in enumerate(read)
        if at in may and len(read) <= len(PAIRS)
    ]


def _own(at: int) -> str:
    return PAIRS[at][0].partition(".")[2]


def _height(at: int, text: str, knowledge: Knowledge) -> Fraction | None:
    """The height of a load such as `125 lbs @ 1.800`; None where it is none."""
    load, height = (knowledge.attributes[name] for name in PAIRS[at])
    pieces = Printing(knowledge, bare=True).pieces(load, text, sided=False, claimed=False)
    told = [plain(height, piece.text) for piece in pieces if piece.attribute is height]
    return told[0].interval.middle if told and told[0] is not None else None


def agreeing(catalog: Catalog, loads: Sequence[Load]) -> str:
    """A query for the numbers of the listed springs that may press so."""
    knowledge, asked = catalog.knowledge, _Asked()
    for one in loads:
        low, high = (number(float(end)) for end in (one.load.lower, one.load.upper))
        for name, height in _CARRIED:
            asked.meet(_with(knowledge, name, {height: one.height}), low, high)
        # By its free length only where no load is listed: a rate is that between two heights.
        free = _with(knowledge, _FREE, Load(0, one.load, one.height).told)
        unless = "load_1 IS NOT NULL OR load_2 IS NOT NULL OR free_length IS NULL"
        asked.meet(free, "free_length__lo", "free_length__hi", unless)
    pairs = {one.at: one for one in loads}
    if len(pairs) == len(PAIRS):
        rate = asked.figure(_with(knowledge, _RATE, pairs[0].told | pairs[1].told))
        asked.meet(knowledge.derived[_RATE_LISTED].node, *rate)
    return (
        f"SELECT number FROM ({_query(catalog, asked.nodes)}) WHERE {' AND '.join(asked.demands)}"
    )


def pressed_at(
    catalog: Catalog, numbers: Sequence[int]
) -> tuple[str, list[tuple[float, float]]] | None:
    """The height for which most of some springs list a load, and what each presses with there.

    None where one of them lists no load.
    """
    some = f"rowid IN ({', '.join(map(str, numbers))})"
    heights = catalog.run(
        "SELECT load_1_height, any_value(load_1_height__lo), any_value(load_1_height__hi), "
        f"count(*) FROM {SLOT} WHERE {some} AND load_1 IS NOT NULL AND load_1_height IS NOT NULL "
        "GROUP BY load_1_height ORDER BY count(*) DESC, load_1_height"
    )
    if sum(row[-1] for row in heights) < len(numbers):
        return None
    text, low, high, _ = heights[0]
    height = Interval.point((Fraction(low) + Fraction(high)) / 2)
    node = _with(catalog.knowledge, _CARRIED[0][0], {_CARRIED[0][1]: height})
    query = _query(catalog, [node], f" WHERE {some}")
    return text, [(row[1], row[2]) for row in catalog.run(f"SELECT number, r0, r1 FROM ({query})")]


def _query(catalog: Catalog, nodes: Sequence[Node], where: str = "") -> str:
    """The ends of figures of each listed spring, r0, r1…, with its number and what it lists."""
    roots = [end for node in nodes for end in catalog.knowledge.lowering.interval(node)]
    printed = Columns(catalog.inputs(SLOT), roots)
    define(catalog, printed.calls.values())
    keep = ["number", "load_1", "load_2", "free_length", "free_length__lo", "free_length__hi"]
    return printed.query(f"(SELECT rowid AS number, * FROM {SLOT}{where})", keep)


def _with(knowledge: Knowledge, name: str, told: Mapping[str, Interval]) -> Node:
    """A derived figure with some of the figures and attributes beneath it told."""
    from fitcheck.language.rebuild import Rebuild  # noqa: PLC0415

    root = knowledge.derived[name].node
    new: dict[int, Node] = {
        id(node): Known(node.type, node.at, node.name, told[node.name], node.kind)
        for node in walk(root)
        if isinstance(node, Step | Variable) and node.name in told
    }
    return Rebuild(new)(root)


def _said(part: Part, name: str) -> list[Statement]:
    return [one for one in part.statements if one.attribute.name == name]


def _interval(statement: Statement) -> Interval:
    assert isinstance(statement.value, Quantity)
    return statement.value.interval
