"""A pile of parts beside a build: which of them go together, and what is left to be found.

For each class in the pile its parts compete, with the part that the build lists there as one of
them. One more stands beside them: a part still to be found, of which nothing is known. It costs
more than any work, so the best set leaves the fewest slots to be bought for, then has the fewest
clashes to be worked on, then costs least; of sets alike in this, the one with the fewest questions
open comes first.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from fitcheck.check import BuildCheck, Verdict, check_build
from fitcheck.check.bind import Binding
from fitcheck.check.naming import Naming
from fitcheck.check.read import read_part
from fitcheck.check.verdict import judge_rules
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.language import CONFLICT
from fitcheck.model import EngineBuild, Part, shape, shaped
from fitcheck.screen.candidates import FromParts
from fitcheck.screen.cells import Cells
from fitcheck.screen.mapping import ListFormat
from fitcheck.screen.money import Money
from fitcheck.screen.opening import Frame, Opening
from fitcheck.screen.sets import FoundSet, OpenSlots, SetSearch
from fitcheck.screen.together import fitted
from fitcheck.source import BadInput, Place, Problem, Problems, Text, read_yaml
from fitcheck.source import Mapping as Node

Progress = Callable[[str], None]
MOST_PARTS = 400
# The price of what is still to be found: past any work.
TO_FIND = 1e11
# Sets alike in cost of which the open questions are counted.
MOST_COUNTED = 24
AS_LISTED, WANTED = "as in the build", "to be found"


@shape
class PileFile:
    """The top of a pile file."""

    pile: Text
    about: Text | None = None
    parts: list[Any]


@dataclass(frozen=True, slots=True)
class Piled:
    """One entry of a pile: so many pieces alike. `unidentified`: nobody knows which part it is."""

    slot: str
    parts: tuple[Part, ...]
    name: str
    pieces: int | None
    price: float | None
    unidentified: bool
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class Pile:
    """A pile of parts."""

    title: str
    about: str
    entries: tuple[Piled, ...]
    currency: str = ""


@dataclass
class PileSet:
    """A set: what goes into each slot; `wanted` are slots to be bought for; its check."""

    chosen: dict[str, Piled | None]
    listed: tuple[str, ...]
    wanted: tuple[str, ...]
    clashes: tuple[str, ...]
    price: float
    check: BuildCheck
    questions: int


@dataclass(frozen=True, slots=True)
class Useless:
    """A part that goes with nothing: with the build itself, or with no part of `other` here."""

    entry: Piled
    other: str
    rules: tuple[Rule, ...]


@dataclass
class Sorted:
    """The answer: the best sets, the parts that go with nothing, those of which pieces lack."""

    pile: Pile
    frame: Frame
    sets: list[PileSet] = field(default_factory=list)
    useless: list[Useless] = field(default_factory=list)
    short: list[tuple[Piled, int]] = field(default_factory=list)


def read_pile(path: Path, build: EngineBuild, knowledge: Knowledge) -> Pile:
    """A pile file; raises BadInput with all that is wrong with it."""
    problems = Problems()
    node = read_yaml(path, problems)
    file = shaped(PileFile, node, problems) if node is not None else None
    entries, money = [], Money()
    if file is not None:
        if len(file.parts) > MOST_PARTS:
            problems.append(
                Problem(
                    f"more than {MOST_PARTS} parts in the pile",
                    file.pile.place,
                    "sort it into more than one file",
                )
            )
            raise BadInput(problems)
        for one in file.parts:
            entry = _entry(one, build, knowledge, money, problems)
            if entry is not None:
                entries.append(entry)
    if problems or file is None:
        raise BadInput(problems)
    return Pile(str(file.pile), str(file.about or ""), tuple(entries), money.currency)


# The keys of an entry that are not those of a part.
_OWN = ("pieces", "price", "unidentified")


def _entry(
    one: Any, build: EngineBuild, knowledge: Knowledge, money: Money, problems: list[Problem]
) -> Piled | None:
    if not isinstance(one, Node) or len(one) != 1 or not isinstance(next(iter(one.values())), Node):
        problems.append(
            Problem(
                "an entry is one class with what is known of the part",
                one.place,
                "write - spring: {name: …, measured: {…}}",
            )
        )
        return None
    slot, told = next(iter(one.items()))
    named = Naming(knowledge, problems).part(slot)
    if named == "engine":
        problems.append(Problem("the engine is no part", slot.place, "list it in the build file"))
    if named is None or named == "engine":
        return None
    slot = named
    assert isinstance(told, Node)
    own: dict[str, Text] = {}
    rest = Node()
    rest.place = told.place
    for key, value in told.items():
        if key in _OWN and isinstance(value, Text):
            own[str(key)] = value
        else:
            rest[key] = value
    before = len(problems)
    cells = Cells(knowledge, ListFormat("", "", "", {}, {}, ()))
    read: dict[str, Any] = {}
    if "price" in own:
        read["price"] = money.read(own["price"], problems)
    if "pieces" in own:
        read["pieces"], wrong = cells.stock(own["pieces"])
        if wrong:
            problems.append(Problem(wrong.replace("stock", "pieces"), own["pieces"].place))
    unidentified = str(own.get("unidentified", "no"))
    if unidentified not in ("yes", "no"):
        problems.append(
            Problem(f"'{unidentified}' is neither yes nor no", own["unidentified"].place)
        )
    part = read_part(slot, rest, "", build.layout, knowledge, problems)
    if part is None or len(problems) > before:
        return None
    title = part.name or f"{knowledge.classes[slot].title} of line {slot.place.line}"
    return Piled(
        str(slot),
        (replace(part, name=title),),
        title,
        read.get("pieces"),
        read.get("price"),
        unidentified == "yes",
        slot.place,
    )


def sort_pile(
    pile: Pile,
    build: EngineBuild,
    knowledge: Knowledge,
    wanted: int = 3,
    progress: Progress = lambda _: None,
) -> Sorted:
    """Which parts of a pile go together, in the build that they lie beside."""
    offered = _offered(pile, build)
    frame, candidates = _framed(offered, build, knowledge)
    found = Sorted(pile, frame)
    count = sum(len(some) for some in offered.values())
    progress(f"{count} parts for {len(offered)} slots, {len(frame.factors)} demands")
    problem = OpenSlots(frame, candidates, "operations")
    found.sets = _best(problem, offered, wanted)
    progress("which parts go with nothing")
    found.useless = _useless(frame, candidates, offered)
    for entry in pile.entries:
        places = len(build.layout.positions(knowledge.classes[entry.slot].each))
        if entry.pieces is not None and entry.pieces < places:
            found.short.append((entry, places - entry.pieces))
    return found


def _offered(pile: Pile, build: EngineBuild) -> dict[str, list[Piled]]:
    """For each slot of the pile its parts, the build's own, and one still to be found."""
    offered: dict[str, list[Piled]] = {}
    for entry in pile.entries:
        offered.setdefault(entry.slot, []).append(entry)
    for slot, some in offered.items():
        own = build.parts.get(slot)
        if own and any(part.statements for part in own):
            some.insert(0, Piled(slot, own, AS_LISTED, None, None, False))
        some.append(Piled(slot, (Part(slot, WANTED, "", ()),), WANTED, None, TO_FIND, False))
    return offered


def _framed(
    offered: Mapping[str, Sequence[Piled]], build: EngineBuild, knowledge: Knowledge
) -> tuple[Frame, dict[str, FromParts]]:
    openings = {slot: Opening(slot) for slot in offered}
    emptied = build
    for opening in openings.values():
        emptied = opening.emptied(emptied)
    candidates = {
        slot: FromParts(
            [one.parts for one in some],
            emptied,
            openings[slot],
            knowledge,
            [one.price or 0.0 for one in some],
        )
        for slot, some in offered.items()
    }
    frame = Frame(
        build,
        knowledge,
        list(openings.values()),
        lambda name, at: candidates[name.partition(".")[0]].alike(name, at),
    )
    return frame, candidates


def _best(problem: OpenSlots, offered: Mapping[str, Sequence[Piled]], wanted: int) -> list[PileSet]:
    if not problem.possible():
        return []
    sets: list[PileSet] = []
    alike: list[PileSet] = []
    cost: tuple[Any, ...] | None = None
    for found in SetSearch(problem).sets():
        own = (found.price, len(found.clashes))
        if cost is not None and (own != cost or len(alike) == MOST_COUNTED):
            sets += sorted(alike, key=lambda one: one.questions)
            alike = []
            if len(sets) >= wanted or own == cost:
                break
        cost = own
        alike.append(_set(problem, offered, found))
    sets += sorted(alike, key=lambda one: one.questions)
    return sets[:wanted]


def _set(problem: OpenSlots, offered: Mapping[str, Sequence[Piled]], found: FoundSet) -> PileSet:
    frame = problem.frame
    entries = {slot: offered[slot][number] for slot, number in found.chosen.items()}
    rules = {factor.rule.id: factor.rule for factor in frame.factors}
    build = fitted(frame, problem.candidates, found.chosen)
    check = check_build(build, frame.knowledge, rules.values())
    wanted = tuple(slot for slot, one in entries.items() if one.name == WANTED)
    listed = tuple(slot for slot, one in entries.items() if one.name == AS_LISTED)
    questions = sum(finding.verdict.undecided for finding in check.worst_by_rule)
    price = found.price - TO_FIND * len(wanted)
    chosen = {slot: None if slot in wanted else one for slot, one in entries.items()}
    return PileSet(chosen, listed, wanted, found.clashes, price, check, questions)


def _useless(
    frame: Frame, candidates: Mapping[str, FromParts], offered: Mapping[str, Sequence[Piled]]
) -> list[Useless]:
    """Parts that clash for good with what stays, or with every part of the pile they meet.

    What machine work mends counts for nothing here.
    """
    found = []
    unknown = {slot: len(some) - 1 for slot, some in offered.items()}
    for slot, some in offered.items():
        for number, entry in enumerate(some):
            if entry.name in (AS_LISTED, WANTED):
                continue
            against = _against(frame, candidates, {**unknown, slot: number}, slot)
            if against:
                found.append(Useless(entry, "", against))
                continue
            for other in _met(frame, slot):
                pairs = [
                    _against(frame, candidates, {**unknown, slot: number, other: i}, slot, other)
                    for i in range(len(offered[other]) - 1)
                ]
                if pairs and all(pairs):
                    rules = {rule.id: rule for pair in pairs for rule in pair}
                    found.append(Useless(entry, other, tuple(rules.values())))
    return found


def _met(frame: Frame, slot: str) -> list[str]:
    """The open slots that a rule ties to one."""
    found = dict.fromkeys(s for f in frame.factors if slot in f.slots for s in f.slots)
    return [other for other in found if other != slot]


def _against(
    frame: Frame, candidates: Mapping[str, FromParts], chosen: Mapping[str, int], *slots: str
) -> tuple[Rule, ...]:
    """The rules that read all of some slots and clash for good."""
    rules = {f.rule.id: f.rule for f in frame.factors if set(slots) <= set(f.slots)}
    judged = judge_rules(
        Binding(fitted(frame, candidates, chosen), frame.knowledge), rules.values(), []
    )
    found = {
        one.rule.id: one.rule
        for one in judged
        if one.verdict is Verdict.CONFLICT
        and one.rule.severity != "advice"
        and frame.fixed.get(one.rule.id) != CONFLICT
        and not frame.works(one.rule)
    }
    return tuple(found.values())
