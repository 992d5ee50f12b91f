"""The pieces of the knowledge, as loaded and checked."""

from __future__ import annotations

from dataclasses import field
from fractions import Fraction
from functools import cached_property
from typing import Literal

from fitcheck.knowledge.files import (
    CautionFile,
    DerivedFile,
    ExamplesFile,
    MateFile,
    OperationFile,
    ProcedureFile,
    QuestionFile,
    RuleFile,
    SourceFile,
)
from fitcheck.language import Node, Step, Variable, variables
from fitcheck.model import LEVELS, Attribute, Each, Selector
from fitcheck.quantity import Interval, Kind, Quantity
from fitcheck.source import Place, frozen

Severity = Literal["stop", "serious", "advice"]
# Who can tell a figure that is not measured.
ASKED = ("seller", "owner")
SEVERITIES: tuple[Severity, ...] = ("stop", "serious", "advice")

# The family of rules that hold two statements of one figure against each other.
CONTRADICTIONS = "contradictions"
# What answers a rule that no part's figure settles.
ANSWERED_BY = ("work", "look")

# What sort of work an operation is. What only looks or washes changes no figure by an amount.
SORTS = ("fits", "removes_metal", "makes_dust", "sets", "looks", "washes")

SOURCE_KINDS = (
    "manual",
    "standard",
    "handbook",
    "magazine",
    "paper",
    "textbook",
    "data",
    "geometry",
    "physics",
    "practice",
    "memory",
)


@frozen
class Citation:
    """Where a figure comes from."""

    id: str
    file: SourceFile

    @property
    def words(self) -> str:
        """The source as it is cited."""
        return str(self.file.title)

    @property
    def defines(self) -> bool:
        """Whether what rests on it follows from a formula and is nobody's choice."""
        return str(self.file.kind) in ("geometry", "physics")


@frozen
class Caution:
    """What to mind where work can hurt someone."""

    id: str
    file: CautionFile


@frozen
class Procedure:
    """How an attribute is measured; `resolution` is None where nothing is read off."""

    id: str
    file: ProcedureFile
    resolution: Quantity | None
    minutes: int

    @property
    def asked(self) -> str:
        """Who tells it, `seller` or `owner`; empty where it is measured or looked at."""
        return str(self.file.asked or "")


@frozen
class Mate:
    """An interface: two classes and the attributes through which they meet."""

    id: str
    file: MateFile


@frozen
class Amount:
    """The amount of an operation: its kind, step and range, and how closely it is held."""

    kind: Kind
    step: Quantity
    range: Interval
    tolerance: Fraction
    means: str


@frozen
class Operation:
    """A machining or assembly step."""

    id: str
    file: OperationFile
    each: Each
    amount: Amount | None
    effects: dict[str, Node]
    hours: Quantity


@frozen
class Derived:
    """A named quantity computed from attributes."""

    id: str
    file: DerivedFile
    kind: Kind
    node: Step


@frozen
class Usual:
    """One branch of what an attribute usually is: a figure or another choice, else a mask.

    The first branch holds whose condition surely does and whose figures are known. `unless_stated`
    names what nobody may have stated, `if_stated` what somebody must have; figures are read at the
    valves on the side `at`, where one is told. A `helper` serves other usual figures only.
    """

    id: str
    attribute: Attribute
    node: Node | None
    mask: int
    when: Node | None
    unless_stated: tuple[str, ...]
    if_stated: tuple[str, ...]
    at: str
    helper: bool
    why: str
    source: str

    @cached_property
    def figures(self) -> tuple[str, ...]:
        """What its figure is reckoned from."""
        return tuple(variables(self.node)) if self.node is not None else ()

    @cached_property
    def conditions(self) -> tuple[str, ...]:
        """What its condition asks about."""
        return tuple(variables(self.when)) if self.when is not None else ()

    @property
    def reads(self) -> frozenset[str]:
        """All that it may depend on."""
        return frozenset((*self.figures, *self.conditions))


@frozen
class JobQuestion:
    """What a person asks of the whole, in a line; its rules decide it."""

    id: str
    file: QuestionFile
    advice_counts: bool


@frozen
class Limit:
    """A named limit of a rule; `entries` holds one quantity, or one for each option.

    `maker` says whose figure it is where a part's maker asks for another than the rule.
    """

    name: str
    entries: dict[str, Quantity]
    by: Attribute | None
    source: str
    why: str
    kind: Kind
    node: Node
    place: Place = field(repr=False)
    maker: str = ""


@frozen(eq=False)
class Template:
    """A text with named values to fill in: words, then a node, then words…"""

    pieces: tuple[tuple[str, str | None], ...]
    nodes: dict[str, Node]


@frozen
class Fix:
    """What mends a conflict: an operation with its amount, or another part in a slot."""

    operation: str
    replace: str
    amount: Node | None
    look_for: Template | None
    note: str
    when: Node | None = None


@frozen
class Rule:
    """One rule of fit, named after the fault it finds.

    `branching` tells that some input may not matter, by a choice or a second way to a figure;
    `told` names what its texts and fixes read beyond what it judges by. The rule has nothing to
    say where nobody gave one of `only_given`: a claim that was not made, a figure not stated; nor
    where somebody gave one of `unless_given`: a maker's own figure, which another rule holds to.
    `ways` are the two ways to one figure that a rule on their contradiction holds together.
    """

    id: str
    family: str
    file: RuleFile
    severity: Severity
    applies: Node | None
    requires: Node
    limits: dict[str, Limit]
    message: Template
    fixes: tuple[Fix, ...]
    inputs: dict[str, Variable]
    each: Each
    place: Place = field(repr=False)
    branching: bool
    told: frozenset[str]
    only_given: tuple[str, ...]
    unless_given: tuple[str, ...] = ()
    ways: tuple[Node, Node] | None = None

    @property
    def roots(self) -> list[Node]:
        """The conditions that decide the verdict."""
        return [self.requires, *([self.applies] if self.applies else [])]

    @property
    def by_work(self) -> bool:
        """Whether work that is still to be done answers it."""
        return self.file.answered_by == "work"

    @property
    def never_usual(self) -> bool:
        """Whether usual figures say nothing of it: they would agree with what is stated."""
        return self.family == CONTRADICTIONS or self.file.never_usual == "yes"

    @property
    def by_look(self) -> bool:
        """Whether one look at parts held against each other answers it."""
        return self.file.answered_by == "look"

    @property
    def examples(self) -> ExamplesFile:
        """The rule's own examples."""
        return self.file.examples

    @property
    def family_words(self) -> str:
        """The family in words."""
        return self.family.replace("_", " ")

    @property
    def slots(self) -> list[str]:
        """The slots it reads, in order of appearance."""
        return list(dict.fromkeys(name.partition(".")[0] for name in self.inputs if "." in name))


def level_of(nodes: list[Node], attributes: dict[str, Attribute]) -> Each:
    """The finest level at which any of the nodes can differ."""
    names = {name for node in nodes for name in variables(node)}
    levels = [attributes[name].each for name in names if name in attributes]
    return max(levels, key=LEVELS.index, default="engine")


@frozen
class Accountable:
    """Who answers for a deviation, why, and how long; `expired` says why it counts no more."""

    reason: str
    name: str
    until: str
    expired: str
    place: Place = field(repr=False)


@frozen
class HouseLimit:
    """A limit of a rule as the shop sets it, beside what the rule says."""

    rule: str
    limit: str
    values: dict[str, Quantity]
    before: dict[str, Quantity]
    answer: Accountable


@frozen
class Waiver:
    """A clash that the shop accepts, at some places, in one build or in all."""

    rule: str
    selector: Selector
    build: str
    answer: Accountable


@frozen
class House:
    """What a shop decides for itself."""

    title: str
    file: str
    limits: tuple[HouseLimit, ...]
    waivers: tuple[Waiver, ...]

    @property
    def counts(self) -> str:
        """Its decisions, counted."""
        answers = [
            *(limit.answer for limit in self.limits),
            *(waiver.answer for waiver in self.waivers),
        ]
        expired = sum(bool(answer.expired) for answer in answers)
        return f"house limits: {len(self.limits)}, waivers: {len(self.waivers)}, expired: {expired}"
