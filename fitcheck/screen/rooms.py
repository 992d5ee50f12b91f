"""The room that every candidate of a catalog leaves, and what it misses by, in one query.

Room is the margin of a demand as a share of its limit, so that demands on lengths and on loads can
stand in one order. Only what surely fits counts for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from fitcheck.language import CONFLICT, FITS, Compare
from fitcheck.language.columns import Columns
from fitcheck.language.plain import Plain
from fitcheck.screen.opening import Factor, Frame
from fitcheck.screen.screening import JUDGED, Screen, define

# A whole mismatch, as of two shapes: no figure could be nearer.
MISMATCH = 1.0


def make_rooms(found: Screen, where: str = "") -> None:
    """A table of each candidate's least room to spare, and of the most that it misses."""
    demands = [demands_of(found.frame, factor) for factor in found.frame.factors]
    roots = [tree for some in demands for demand in some for tree in demand]
    roots += [factor.outcome.silent for factor in found.frame.factors]
    printed = Columns(found.catalog.inputs(found.opening.slot, found.opening.keep), roots)
    rooms: dict[str, list[str]] = {}
    misses: dict[str, list[str]] = {}
    for factor, some in zip(found.frame.factors, demands, strict=True):
        silent = printed.text(factor.outcome.silent)
        for demand in some:
            low, high, *sizes = map(printed.text, demand)
            size = f"({size_of(low, high, sizes)})"
            for into, text, quiet in ((rooms, low, "1e9"), (misses, f"-{high}", "-1e9")):
                into.setdefault(factor.rule.id, []).append(
                    f"CASE WHEN {silent} THEN {quiet} ELSE {text} / {size} END"
                )
    room, miss = [], []
    for i, rule in enumerate(found.rules):
        if rule.id in rooms and rule.severity != "advice":
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


def size_of(low: str, high: str, limit: Sequence[str]) -> str:
    """What a margin is a share of: the limit or, where that is nothing, the margin itself."""
    whole = f"greatest({', '.join(f'abs({text})' for text in limit)})"
    return f"CASE WHEN {whole} > 0e0 THEN {whole} ELSE greatest(abs({low}), abs({high}), 1e-30) END"


def demands_of(frame: Frame, factor: Factor) -> list[tuple[Plain, ...]]:
    """The ends of each margin of a rule, and the ends of its limit, folded."""
    knowledge = frame.knowledge
    fold, some = frame.fold(factor.rule, factor.positions[0]), []
    for clause in knowledge.condition(factor.rule).clauses:
        if clause.margin is not None and isinstance(clause.node, Compare):
            limit = knowledge.lowering.interval(clause.node.right)
            trees: Iterable[Plain] = (*clause.margin, *limit)
            some.append(tuple(fold.of(tree) for tree in trees))
    return some
