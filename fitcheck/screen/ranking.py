"""Puts the candidates for a slot in order: by price, by room to spare, by rework; nearest misses.

Room is the margin of a demand as a share of the greater of the two figures compared, so that
demands on lengths and on loads can stand in one order. What is shown of a candidate is the check
of the build with it in place.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Literal

from fitcheck.check import Finding, Verdict
from fitcheck.check.checking import check_build
from fitcheck.knowledge import Operation, Rule
from fitcheck.language import Compare
from fitcheck.language.columns import CONFLICT, FITS, Columns
from fitcheck.language.outcome import Fold, Nodes
from fitcheck.language.plain import Plain
from fitcheck.model import Position
from fitcheck.screen.opening import Factor, Frame, by_rule, ends_of
from fitcheck.screen.screening import JUDGED, Screen, define
from fitcheck.screen.store import Offer

Order = Literal["price", "margin", "rework"]
ORDERS: tuple[Order, ...] = ("price", "margin", "rework")
# A whole mismatch, as of two shapes: no figure could be nearer.
MISMATCH = 1.0
# Candidates whose rework is worked out one by one, at most.
MOST_REWORKED = 400
_PAGE = 50


@dataclass(frozen=True, slots=True)
class Work:
    """What mends a candidate's clashes, where machine work can: each operation and where."""

    steps: tuple[tuple[Operation, str, int], ...]
    hours: Fraction


@dataclass(frozen=True, slots=True)
class Ranked:
    """One candidate in order: its check, what it clashes with, what of it cannot be told yet.

    `room` is its least room to spare where something fits by a figure; `work` what mends its
    clashes, none where there are none, None where machine work alone does not.
    """

    offer: Offer
    clashes: list[Finding]
    questions: list[Finding]
    room: float | None = None
    work: Work | None = None


@dataclass(frozen=True, slots=True)
class Reworked:
    """Candidates by rework; `complete` tells that none left out can need less."""

    ranked: list[Ranked]
    complete: bool


def best(found: Screen, order: Order, count: int) -> list[Ranked]:
    """The best candidates that nothing rules out, by price or by room to spare.

    Those that fit come first, then those of which something cannot be told. A missing price comes
    after all others.
    """
    if order == "margin":
        _make_rooms(found)
        rows = found.catalog.run(
            "SELECT number, room FROM standing JOIN rooms USING (number) WHERE clashes = 0 "
            f"ORDER BY questions > 0, room DESC NULLS LAST, questions, number LIMIT {count}"
        )
    else:
        rows = found.catalog.run(
            f'SELECT number, NULL FROM standing JOIN "{found.opening.slot}" AS p '
            "ON p.rowid = number WHERE clashes = 0 "
            f"ORDER BY questions > 0, price NULLS LAST, questions, number LIMIT {count}"
        )
    offers = found.offers([number for number, _ in rows])
    return [_ranked(found, offer, room) for offer, (_, room) in zip(offers, rows, strict=True)]


def nearest(found: Screen, count: int) -> list[Ranked]:
    """The nearest misses: the fewest clashes first, then the least share of a figure missing."""
    if not found.ruled_out:
        return []
    most = found.catalog.run(
        "SELECT max(clashes) FROM (SELECT clashes FROM standing WHERE clashes > 0 "
        f"ORDER BY clashes LIMIT {count})"
    )[0][0]
    _make_rooms(
        found,
        f"WHERE number IN (SELECT number FROM standing WHERE clashes > 0 AND clashes <= {most})",
    )
    rows = found.catalog.run(
        "SELECT number FROM standing JOIN rooms USING (number) WHERE clashes > 0 "
        f"AND clashes <= {most} ORDER BY clashes, missing, questions, number LIMIT {count}"
    )
    offers = found.offers([number for (number,) in rows])
    return [_ranked(found, offer, None) for offer in offers]


def least_rework(found: Screen, count: int) -> Reworked:
    """The candidates whose clashes are mended in the fewest hours; those without any come first."""
    cheapest = [_least_hours(found, rule) for rule in found.rules]
    bounds = [
        f"CASE WHEN r{i} = {CONFLICT} THEN {hours} ELSE 0e0 END"
        for i, (rule, hours) in enumerate(zip(found.rules, cheapest, strict=True))
        if rule.severity != "advice"
    ]
    bound = f"greatest({', '.join([*bounds, '0e0', '0e0'])})"
    rows = found.catalog.run(
        f'SELECT number, {bound} AS hours FROM standing JOIN "{found.opening.slot}" AS p '
        f"ON p.rowid = number WHERE {bound} < 1e9 "
        f"ORDER BY hours, clashes, price NULLS LAST, number LIMIT {MOST_REWORKED}"
    )
    kept: list[tuple[Fraction, int, Ranked]] = []
    for start in range(0, len(rows), _PAGE):
        page = rows[start : start + _PAGE]
        if len(kept) == count and float(kept[-1][0]) <= page[0][1]:
            return Reworked([one for _, _, one in kept], True)
        for offer in found.offers([number for number, _ in page]):
            ranked = _ranked(found, offer, None)
            work = _work(found.frame, ranked.clashes)
            if work is not None:
                kept.append((work.hours, offer.number, replace(ranked, work=work)))
        kept = sorted(kept, key=lambda one: one[0])[:count]
    sure = len(rows) < MOST_REWORKED or (len(kept) == count and float(kept[-1][0]) <= rows[-1][1])
    return Reworked([one for _, _, one in kept], sure)


def _least_hours(found: Screen, rule: Rule) -> str:
    """The hours that mend a rule's clash at one place at least; endless where none can."""
    hours = [operation.hours.interval.middle for operation in found.frame.works(rule)]
    return f"{float(min(hours)) / 3600!r}e0" if hours else "1e9"


def _work(frame: Frame, clashes: Sequence[Finding]) -> Work | None:
    """The fewest hours that mend each clash; None where an operation is not enough for one."""
    ways: list[list[tuple[Operation, str, tuple[Position, ...]]]] = []
    for finding in clashes:
        mends = [m for m in frame.mends(finding) if m.enough]
        if not mends:
            return None
        ways.append([(m.operation, m.text, finding.positions) for m in mends if m.operation])
    best_: tuple[Fraction, dict[tuple[str, Position], tuple[Operation, str]]] | None = None

    def choose(
        at: int, hours: Fraction, done: dict[tuple[str, Position], tuple[Operation, str]]
    ) -> None:
        nonlocal best_
        if best_ is not None and hours >= best_[0]:
            return
        if at == len(ways):
            best_ = hours, done
            return
        for operation, text, positions in ways[at]:
            new = {
                (operation.id, p): (operation, text)
                for p in positions
                if (operation.id, p) not in done
            }
            more = operation.hours.interval.middle / 3600 * len(new)
            choose(at + 1, hours + more, done | new)

    choose(0, Fraction(0), {})
    assert best_ is not None
    steps: dict[str, tuple[Operation, str, int]] = {}
    for operation, text in best_[1].values():
        known = steps.get(operation.id)
        steps[operation.id] = (operation, known[1] if known else text, known[2] + 1 if known else 1)
    return Work(tuple(steps.values()), best_[0])


def _ranked(found: Screen, offer: Offer, room: float | None) -> Ranked:
    """A candidate with its own check: what depends on it, told in full."""
    build = found.opening.fitted(found.frame.build, offer.part)
    knowledge = found.frame.knowledge
    check = check_build(build, knowledge, found.rules)
    places = {
        id_: {p for factor in factors for p in factor.positions}
        for id_, factors in by_rule(found.frame.factors).items()
    }
    mine = [
        one
        for one in check.findings
        if one.rule.severity != "advice" and not places[one.rule.id].isdisjoint(one.positions)
    ]
    clashes = [one for one in mine if one.verdict is Verdict.CONFLICT]
    return Ranked(offer, clashes, [one for one in mine if one.verdict.undecided], room)


def _make_rooms(found: Screen, where: str = "") -> None:
    """A table of each candidate's least room to spare, and of the most that it misses."""
    demands = [_demands(found, factor) for factor in found.frame.factors]
    roots = [tree for some in demands for demand in some for tree in demand]
    roots += [factor.outcome.silent for factor in found.frame.factors]
    printed = Columns(found.catalog.inputs(found.opening.slot, found.opening.keep), roots)
    rooms: dict[str, list[str]] = {}
    misses: dict[str, list[str]] = {}
    for factor, some in zip(found.frame.factors, demands, strict=True):
        silent = printed.text(factor.outcome.silent)
        for demand in some:
            low, high, *sizes = map(printed.text, demand)
            size = f"greatest({', '.join(f'abs({text})' for text in sizes)}, 1e-30)"
            for into, text, quiet in ((rooms, low, "1e9"), (misses, f"-{high}", "-1e9")):
                into.setdefault(factor.rule.id, []).append(
                    f"CASE WHEN {silent} THEN {quiet} ELSE {text} / {size} END"
                )
    room, miss = [], []
    for i, rule in enumerate(found.rules):
        if rule.id in rooms:
            least = f"least({', '.join([*rooms[rule.id], '1e9'])})"
            room.append(f"CASE WHEN r{i} = {FITS} THEN {least} ELSE 1e9 END")
        if rule.severity != "advice":
            most = ", ".join([*misses.get(rule.id, []), "-1e9"])
            missed = f"greatest({most})" if rule.id in misses else str(MISMATCH)
            miss.append(f"CASE WHEN r{i} = {CONFLICT} THEN {missed} ELSE 0e0 END")
    define(found.catalog, printed.calls.values())
    least = f"least({', '.join([*room, '1e9', '1e9'])})"
    results = [
        f"CASE WHEN {least} < 1e9 THEN {least} END AS room",
        f"greatest({', '.join([*miss, '0e0', '0e0'])}) AS missing",
    ]
    source = (
        "(SELECT p.rowid AS number, p.*, j.* EXCLUDE (number) "
        f'FROM "{found.opening.slot}" AS p JOIN '
        f"{JUDGED} AS j ON p.rowid = j.number {where.replace('number IN', 'j.number IN')})"
    )
    keep = ["number", *(f"r{i}" for i in range(len(found.rules)))]
    query = printed.query(source, keep, results)
    found.catalog.run(f"CREATE OR REPLACE TEMP TABLE rooms AS {query}")


def _demands(found: Screen, factor: Factor) -> list[tuple[Plain, ...]]:
    """The ends of each margin of a rule, and the ends of the figures compared, folded."""
    frame, knowledge = found.frame, found.frame.knowledge
    position = factor.positions[0]
    known: dict[tuple[str, str], Any] = {}
    for name in factor.rule.inputs:
        if frame.opening_of(name, position) is None:
            known |= ends_of(name, frame.binding.fact(name, position))
    fold, some = Fold(known, Nodes()), []
    for clause in knowledge.condition(factor.rule).clauses:
        if clause.margin is not None and isinstance(clause.node, Compare):
            sides = (
                knowledge.lowering.interval(side) for side in (clause.node.left, clause.node.right)
            )
            trees: Iterable[Plain] = (*clause.margin, *(end for side in sides for end in side))
            some.append(tuple(fold.of(tree) for tree in trees))
    return some
