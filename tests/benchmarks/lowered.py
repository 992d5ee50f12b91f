"""The numeric rules as fitcheck lowers and compiles them."""

from __future__ import annotations

from fitcheck.knowledge import Knowledge
from fitcheck.language import (
    NEAR,
    TRUE,
    Condition,
    Known,
    Lowering,
    Node,
    Step,
    Variable,
    compile_verdicts,
    parse,
)
from fitcheck.quantity import EXACT, KINDS, Quantity, kind_of, read_quantity
from tests.benchmarks.numeric_rules import DERIVED, FITCHECK, LIMITS
from tests.benchmarks.random_figures import RandomBuild


def read_limits() -> dict[str, Quantity]:
    """The limits as quantities."""
    return {
        name: read_quantity(text, kind_of(text) or KINDS["number"], EXACT)
        for name, text in LIMITS.items()
    }


class Lowered:
    """One function that gives the verdicts of all twenty rules, and an exact one for each."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.attributes = knowledge.attributes
        self.limits = read_limits()
        self.steps: dict[str, Node] = {}
        for name, kind_name, plausible, text in DERIVED:
            kind = KINDS[kind_name]
            clip = read_quantity(plausible, kind).interval if plausible else None
            inner = parse(text, self.find)
            self.steps[name] = Step(kind.dimension, (0, 1), name, inner, kind, clip)
        lowering = Lowering()
        rules = [parse(text, self.find, numbers=False) for text in FITCHECK.values()]
        conditions = [Condition((TRUE, TRUE), tuple(lowering.clauses(rule))) for rule in rules]
        self.fast = compile_verdicts(conditions)
        self.exact = [compile_verdicts([condition], "exact") for condition in conditions]

    def find(self, name: str, at: tuple[int, int]) -> Node | None:
        if name in self.steps:
            return self.steps[name]
        if name in self.limits:
            limit = self.limits[name]
            return Known(limit.kind.dimension, at, name, limit.interval, limit.kind)
        attribute = self.attributes.get(name)
        if attribute is None or attribute.kind is None:
            return None
        return Variable(attribute.kind.dimension, at, name, attribute.kind, attribute.plausible)

    def decided(self, codes: tuple[int, ...], build: RandomBuild) -> list[int]:
        """The codes, those too near to a limit for floats decided exactly."""
        if NEAR not in codes:
            return list(codes)
        return [
            self.exact[number].function(build.exact_values(self.exact[number]))[0]
            if code == NEAR
            else code
            for number, code in enumerate(codes)
        ]

    def verdicts(self, build: RandomBuild) -> tuple[list[int], int]:
        """The verdicts, and how many of them had to be decided exactly."""
        codes = self.fast.function(build.values(self.fast))
        return self.decided(codes, build), codes.count(NEAR)
