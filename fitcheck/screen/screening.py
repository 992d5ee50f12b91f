"""Screens the candidates for one open slot: every rule over every row, in one query.

The query answers in floats with the same bound on rounding as a check does. What is too near a
limit to tell so is decided again exactly, once for each set of figures that a rule reads.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from inspect import Parameter, Signature
from typing import Any

from fitcheck.check.bind import Binding
from fitcheck.check.verdict import code_of, judge_rules
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.language import CONFLICT, NEAR, SILENT, STRADDLES
from fitcheck.language.columns import Called, Columns
from fitcheck.model import SIDES, EngineBuild, Position
from fitcheck.screen.cost import Need, need_of
from fitcheck.screen.opening import Frame, Opening, by_rule
from fitcheck.screen.store import Catalog, CatalogPart, PartReader
from fitcheck.screen.tables import AT, inputs_of
from fitcheck.source import Problem

JUDGED = "judged"
# What a rule that could not be computed counts as: never a pass.
FAILED = STRADDLES
Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Count:
    """How many candidates a rule rules out, how many it alone does, how many it leaves open."""

    rule: Rule
    out: int
    alone: int
    open: int


@dataclass
class Screen:
    """The answer over all candidates; `offers` finds single ones again.

    A rule counts where it depends on the candidate; what it says elsewhere, whatever is fitted, is
    in `frame.fixed` and rules no candidate out. Remarks rule nothing out and are counted apart.
    `exact` is how many answers were too near a limit for floats and were decided exactly. `build`
    is the build as it stands, with what is in the slot now; `need` is what is ordered for it.
    `kits` bring one together with parts of other slots, and are screened with those.
    """

    frame: Frame
    opening: Opening
    catalog: Catalog
    total: int
    fits: int
    possible: int
    ruled_out: int
    counts: list[Count]
    remarks: list[Count]
    exact: int
    rules: list[Rule]
    build: EngineBuild
    need: Need
    kits: int = 0
    failures: list[Problem] = field(default_factory=list)

    def column(self, rule: Rule) -> str:
        """The column of a rule's standings in the table of answers."""
        return f"r{self.rules.index(rule)}"

    def offers(self, numbers: Sequence[int]) -> list[CatalogPart]:
        """Candidates by their numbers."""
        return self.catalog.listed(self.opening.slot, numbers)


def screen(
    catalog: Catalog,
    build: EngineBuild,
    opening: Opening,
    progress: Progress = lambda _: None,
    spares: int = 0,
    frame: Frame | None = None,
    where: str = "kit IS NULL",
) -> Screen:
    """Judge every candidate of a catalog for one slot of a build; those alone `where` it says.

    Who screens share after share gives the frame, which is the same for all.
    """
    opening = replace(opening, sided=catalog.sided(opening.slot))
    frame = frame or Frame(build, catalog.knowledge, [opening])
    groups = by_rule(frame.factors)
    rules = [groups[id_][0].rule for id_ in groups]
    catalog.make(opening.slot)
    total, kits = catalog.run(f'SELECT count(*) - count(kit), count(kit) FROM "{opening.slot}"')[0]
    progress(f"{total:,} candidates, {len(rules)} rules")
    judge_all(catalog, frame, opening, where)
    failures: list[Problem] = []
    exact = _decide_near(catalog, frame, opening, rules, failures, progress)
    need = need_of(build, catalog.knowledge, opening, spares)
    found = Screen(
        frame, opening, catalog, total, 0, 0, 0, [], [], exact, rules, build, need, kits, failures
    )
    _count(found)
    return found


def judge_all(catalog: Catalog, frame: Frame, opening: Opening, where: str) -> None:
    """Fill the table of answers: a row a candidate, a column a rule in the order of the factors."""
    roots = [part for factor in frame.factors for part in factor.outcome.parts]
    texts = inputs_of(opening.slot, frame.knowledge, opening.keep, opening.sided)
    printed = Columns(texts, roots)
    results = [
        f"CAST({printed.standing([factor.outcome for factor in factors])} AS TINYINT) AS r{i}"
        for i, factors in enumerate(by_rule(frame.factors).values())
    ]
    table = f'(SELECT rowid AS number, * FROM "{opening.slot}" WHERE {where})'
    query = printed.query(table, ["number"], results)
    define(catalog, printed.calls.values())
    # One table, and each figure once: looking for a better way would take longer than most lists.
    catalog.run("PRAGMA disable_optimizer")
    try:
        catalog.run(f"CREATE OR REPLACE TEMP TABLE {JUDGED} AS {query}")
    finally:
        catalog.run("PRAGMA enable_optimizer")


def define(catalog: Catalog, calls: Iterable[Called]) -> None:
    """Give the engine the calculations that a query calls, each over whole arrays."""
    connection: Any = catalog.connection  # its stubs know no engine of arrays
    for called in calls:
        with suppress(Exception):  # it is there only after an earlier screening
            connection.remove_function(called.name)
        connection.create_function(
            called.name,
            over_arrays(called),
            ["DOUBLE"] * called.count,
            "DOUBLE",
            type="arrow",
        )


def over_arrays(called: Called) -> Callable[..., Any]:
    """A calculation's bound as the engine calls it; NaN where it fails."""
    import numpy as np  # noqa: PLC0415
    import pyarrow  # noqa: PLC0415

    from fitcheck.language.spans import asked  # noqa: PLC0415

    def over(*columns: Any) -> Any:
        values = asked(called.calculation, called.end, [np.asarray(one) for one in columns])
        return pyarrow.array(values)

    # The engine counts the parameters.
    names = [f"a{i}" for i in range(called.count)]
    one = Parameter.POSITIONAL_ONLY
    over.__signature__ = Signature([Parameter(name, one) for name in names])  # type: ignore[attr-defined]
    return over


def _decide_near(
    catalog: Catalog,
    frame: Frame,
    opening: Opening,
    rules: Sequence[Rule],
    failures: list[Problem],
    progress: Progress,
) -> int:
    """Decide exactly what floats cannot tell, once for each set of figures."""
    if not rules:
        return 0
    sums = ", ".join(f"count(*) FILTER (r{i} = {NEAR})" for i in range(len(rules)))
    near = catalog.run(f"SELECT {sums} FROM {JUDGED}")[0]
    reader = PartReader(catalog.knowledge, opening.slot)
    for i, rule in enumerate(rules):
        if near[i]:
            progress(f"{near[i]:,} answers of {rule.id} lie at a limit: decided exactly")
            _decide_rule(catalog, frame, opening, rule, i, reader, failures)
    return sum(near)


def _decide_rule(
    catalog: Catalog,
    frame: Frame,
    opening: Opening,
    rule: Rule,
    at: int,
    reader: PartReader,
    failures: list[Problem],
) -> None:
    read = told_by(opening, rule, catalog.knowledge)
    names = ", ".join(f'"{own}"' for own in [*read, "evidence"])
    rows = catalog.run(
        f'SELECT DISTINCT {names} FROM "{opening.slot}" AS p JOIN {JUDGED} AS j '
        f"ON p.rowid = j.number WHERE j.r{at} = {NEAR}"
    )
    decided = decide(frame, opening, rule, rows, reader, failures)
    columns = ", ".join(f'"{own}" VARCHAR' for own in read)
    comma = ", " if columns else ""
    catalog.run(
        f"CREATE OR REPLACE TEMP TABLE decided ({columns}{comma}evidence INT, standing INT)"
    )
    catalog.connection.executemany(
        f"INSERT INTO decided VALUES ({', '.join('?' * (len(read) + 2))})", decided
    )
    same = " AND ".join(f'd."{own}" IS NOT DISTINCT FROM p."{own}"' for own in [*read, "evidence"])
    catalog.run(
        f'UPDATE {JUDGED} SET r{at} = d.standing FROM "{opening.slot}" AS p, decided AS d '
        f"WHERE p.rowid = {JUDGED}.number AND {JUDGED}.r{at} = {NEAR} AND {same}"
    )


def decide(
    frame: Frame,
    opening: Opening,
    rule: Rule,
    rows: Iterable[Sequence[Any]],
    reader: PartReader,
    failures: list[Problem],
) -> list[tuple[Any, ...]]:
    """Rows of what a rule rests on (`told_by`, then the evidence), each with the exact standing."""
    read = told_by(opening, rule, frame.knowledge)
    places = [p for factor in by_rule(frame.factors)[rule.id] for p in factor.positions]
    decided = []
    for *texts, evidence in rows:
        part = reader.part("", "", evidence, dict(zip(read, texts, strict=True)))
        build = opening.fitted(frame.build, part)
        standing = standing_of(rule, build, frame.knowledge, places, failures)
        decided.append((*texts, evidence, standing))
    return decided


def told_by(opening: Opening, rule: Rule, knowledge: Knowledge) -> list[str]:
    """The columns of an open slot that a rule rests on."""
    read: list[str] = []
    for name in rule.inputs:
        attribute = knowledge.attributes.get(name)
        if attribute is None or attribute.slot != opening.slot or name in opening.keep:
            continue
        for one in (name, attribute.spread_of):
            own = one.partition(".")[2]
            if one and own not in ("present", "comes_with_head", *read):
                read.append(own)
                if one in opening.sided and not knowledge.attributes[one].spread_of:
                    read += [f"{own}{AT}{side}" for side in SIDES]
    return read


def standing_of(
    rule: Rule,
    build: EngineBuild,
    knowledge: Knowledge,
    places: Iterable[Position],
    failures: list[Problem],
) -> int:
    """The worst that a rule says at some places of a build, decided as a check decides it."""
    own: list[Problem] = []
    wanted = set(places)
    judged = judge_rules(Binding(build, knowledge), [rule], own)
    if own and all(own[0].what != known.what for known in failures):
        failures.append(own[0])
    found = [code_of(one.verdict) for one in judged if not wanted.isdisjoint(one.positions)]
    return max([*found, *([FAILED] if own else [])], default=SILENT)


def _count(found: Screen) -> None:
    """Add up the table of answers, and keep of each candidate how much it clashes."""
    rules = found.rules
    binding = [i for i, rule in enumerate(rules) if rule.severity != "advice"]
    out = " + ".join(f"CAST(r{i} = {CONFLICT} AS INT)" for i in binding) or "0"
    open_ = " + ".join(f"CAST(r{i} = {STRADDLES} AS INT)" for i in binding) or "0"
    found.catalog.run(
        f"CREATE OR REPLACE TEMP VIEW standing AS SELECT *, CAST({out} AS INT) AS clashes, "
        f"CAST({open_} AS INT) AS questions FROM {JUDGED}"
    )
    sums = [
        text
        for i in range(len(rules))
        for text in (
            f"count(*) FILTER (WHERE r{i} = {CONFLICT})",
            f"count(*) FILTER (WHERE r{i} = {CONFLICT} AND clashes = 1)",
            f"count(*) FILTER (WHERE r{i} = {STRADDLES})",
        )
    ]
    row = found.catalog.run(
        "SELECT count(*) FILTER (WHERE clashes = 0 AND questions = 0), "
        "count(*) FILTER (WHERE clashes = 0 AND questions > 0), "
        "count(*) FILTER (WHERE clashes > 0)"
        + "".join(f", {text}" for text in sums)
        + " FROM standing"
    )[0]
    found.fits, found.possible, found.ruled_out = row[:3]
    counts = [Count(rule, *row[3 + 3 * i : 6 + 3 * i]) for i, rule in enumerate(rules)]
    found.counts, found.remarks = in_order(counts)


def in_order(counts: Iterable[Count]) -> tuple[list[Count], list[Count]]:
    """What rules out most first; remarks apart."""
    some = sorted(counts, key=lambda one: (-one.out, -one.open, one.rule.id))
    return (
        [one for one in some if one.rule.severity != "advice"],
        [one for one in some if one.rule.severity == "advice"],
    )
