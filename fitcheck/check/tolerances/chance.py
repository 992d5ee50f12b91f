"""Chance: of many assemblies drawn within the tolerances, how many clear each rule.

Every given figure is drawn within its own range, for each place anew: evenly, or normally with
the range as three standard deviations either way. Figures that nobody gave are not drawn, so a
rule that waits for one is left out. Each share carries its own sampling error, the Wilson score
interval (E. B. Wilson, Journal of the American Statistical Association 22, 1927, p. 209).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from math import sqrt
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from fitcheck.check.bind import Binding
from fitcheck.check.checking import CLAIMS, BuildCheck
from fitcheck.check.tolerances.stackup import Stackup, stackup
from fitcheck.knowledge import Rule
from fitcheck.language.spans import Span, Spans, SpanWalk
from fitcheck.model import Fact, Position
from fitcheck.source import frozen

Array = NDArray[Any]
Spread = Literal["even", "normal"]
DRAWN = 20000
# A calculation is asked one assembly at a time.
MOST_CALLED = 400
SURE = 1.959963984540054  # of 95 %, two-sided


@frozen
class Share:
    """So many of so many, and between which shares the true one lies, 19 times of 20."""

    cleared: int
    drawn: int

    @property
    def value(self) -> float:
        """The share."""
        return self.cleared / self.drawn

    @property
    def error(self) -> tuple[float, float]:
        """The Wilson score interval."""
        n, z2 = self.drawn, SURE**2
        middle = (self.value + z2 / (2 * n)) / (1 + z2 / n)
        half = SURE * sqrt(self.value * (1 - self.value) / n + z2 / (4 * n * n)) / (1 + z2 / n)
        return max(0.0, middle - half), min(1.0, middle + half)


@frozen
class Chance:
    """One rule: the share of assemblies in which all its places clear it.

    `disputed` counts those in which a place lies where practice disagrees on the limit, and none
    fails. `worst` is the place with the lowest share, `at_worst` that share, `stack` its tolerances
    stacked up, where they add up.
    """

    rule: Rule
    positions: tuple[Position, ...]
    all_places: Share
    disputed: int
    worst: Position
    at_worst: Share
    stack: Stackup | None


@frozen
class Chances:
    """The chances of a build's rules, of all of them together, and the rules not drawn."""

    each: list[Chance]
    together: Share | None
    left_out: list[Rule]


def chances(
    check: BuildCheck, *, spread: Spread = "even", drawn: int = DRAWN, seed: int = 1
) -> Chances:
    """Draw assemblies and judge each rule on them."""
    by_rule: dict[str, list[Any]] = defaultdict(list)
    left_out: dict[str, Rule] = {}
    for finding in check.findings:
        if finding.missing:
            left_out[finding.rule.id] = finding.rule
        by_rule[finding.rule.id].append(finding)
    draws = _Draws(check.binding, spread, drawn, seed)
    found: list[Chance] = []
    everything: list[Array] = []
    for id_, findings in by_rule.items():
        if id_ in left_out or findings[0].rule.family == CLAIMS or findings[0].rule.ways:
            continue
        chance, clear = _chance(findings, draws)
        found.append(chance)
        if chance.rule.severity != "advice":
            everything.append(clear)
    together = None
    if everything:
        shortest = min(map(len, everything))
        all_clear = np.logical_and.reduce([clear[:shortest] for clear in everything])
        together = Share(int(all_clear.sum()), shortest)
    found.sort(key=lambda chance: chance.all_places.value)
    return Chances(found, together, list(left_out.values()))


class _Draws:
    """The drawn figures: one array for each attribute at each place, the same for every rule."""

    def __init__(self, binding: Binding, spread: Spread, count: int, seed: int) -> None:
        self.binding = binding
        self.spread = spread
        self.count = count
        self.seed = seed
        self._known: dict[tuple[str, Position], Array] = {}

    def of(self, name: str, position: Position) -> Array:
        """The figures of an attribute at a position."""
        attribute = self.binding.knowledge.attributes[name]
        levels = {
            "engine": Position(),
            "bank": Position(bank=position.bank),
            "cylinder": Position(position.bank, position.cylinder),
            "valve": position,
        }
        place = levels[attribute.each]
        found = self._known.get((name, place))
        if found is None:
            fact = self.binding.fact(name, position)
            random = np.random.default_rng([self.seed, *f"{name} {place}".encode()])
            found = self._known[name, place] = drawn_within(fact, random, self.spread, self.count)
        return found


def drawn_within(fact: Fact, random: np.random.Generator, spread: Spread, count: int) -> Array:
    """Figures drawn within a fact's range."""
    if spread == "even":
        return random.uniform(fact.low, fact.high, count)
    middle, half = (fact.low + fact.high) / 2, (fact.high - fact.low) / 2
    return np.clip(random.normal(middle, half / 3, count), fact.low, fact.high)


def _chance(findings: list[Any], draws: _Draws) -> tuple[Chance, Array]:
    rule: Rule = findings[0].rule
    knowledge = draws.binding.knowledge
    condition = knowledge.condition(rule)
    roots = [
        *condition.applies,
        *(clause.certain for clause in condition.clauses),
        *(clause.possible for clause in condition.clauses),
    ]
    walk = SpanWalk(roots, generous=True)
    calls = any(node.op == "call" for node in walk.nodes)
    count = min(draws.count, MOST_CALLED) if calls else draws.count
    clears: dict[Position, Array] = {}
    fails = np.zeros(count, bool)
    for finding in findings:
        for position in finding.positions:
            inputs = _inputs(finding.facts, draws, position, count)
            answers = [np.broadcast_to(one, count) for one, _ in walk.over(inputs)]
            applies, may_apply, *demands = answers
            half = len(demands) // 2
            certain = np.logical_and.reduce(demands[:half])
            possible = np.logical_and.reduce(demands[half:])
            clears[position] = ~may_apply | certain
            fails |= applies & ~possible & ~certain
    everywhere = np.logical_and.reduce(list(clears.values()))
    worst = min(clears, key=lambda position: int(clears[position].sum()))
    stack = next(stackup(finding) for finding in findings if worst in finding.positions)
    return Chance(
        rule,
        tuple(sorted(clears, key=Position.order)),
        Share(int(everywhere.sum()), count),
        int((~everywhere & ~fails).sum()),
        worst,
        Share(int(clears[worst].sum()), count),
        stack,
    ), everywhere


def _inputs(facts: Mapping[str, Fact], draws: _Draws, position: Position, count: int) -> Spans:
    found: dict[tuple[str, str], Span] = {}
    for name, fact in facts.items():
        if fact.interval is not None and fact.given and fact.open:
            value = draws.of(name, position)[:count]
            found[name, "lower"] = found[name, "upper"] = (value, value)
            found[name, "rank"] = (fact.rank, fact.rank)
        else:
            for end in ("lower", "upper", "mask", "rank"):
                found[name, end] = (fact.end(end),) * 2
    return found
