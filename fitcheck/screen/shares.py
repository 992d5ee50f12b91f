"""A folder of parts in shares: whoever has a share screens it as one machine does, few are left.

What a rule surely rules out stays where it is. Of each share the cheapest candidates left and the
nearest misses are handed on, with the counts; two such answers make one, slot by slot, and the
last is screened or combined as any catalog is. A kit counts once for each of its parts, so that a
kit is known to be left whole wherever its parts lie.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, NamedTuple, Protocol

from fitcheck.knowledge import Knowledge
from fitcheck.model import EngineBuild
from fitcheck.plan.at_place import remembered
from fitcheck.screen.folder import ClassFiles, currency_of, listed_in
from fitcheck.screen.opening import Frame, Opening
from fitcheck.screen.screening import Count, Screen, in_order, screen
from fitcheck.screen.store import Catalog, quoted
from fitcheck.source import BadInput, Problem

# So many of a slot come here: the cheapest that nothing rules out, and the nearest misses.
MOST_LEFT = 2000
MOST_MISSES = 50
# Rows of a share: planning the query costs half a second, and a share must fit in memory.
ROWS = 100_000
_LEFT = [("cost", "ascending"), ("source", "ascending"), ("row", "ascending")]
_MISSES = [("clashes", "ascending"), ("source", "ascending"), ("row", "ascending")]


class FileShare(NamedTuple):
    """Some rows of a file of a class."""

    slot: str
    path: str
    first: int
    last: int

    @property
    def where(self) -> str:
        """The rows, as a condition."""
        return f"file_row_number BETWEEN {self.first} AND {self.last}"


@dataclass
class ShareJob:
    """What every worker is told. With `kits` their parts are judged too, slot by slot."""

    knowledge: Knowledge
    build: EngineBuild
    openings: dict[str, Opening]
    listed: dict[str, ClassFiles]
    spares: int
    kits: bool
    frames: dict[str, Frame] = field(default_factory=dict)

    def shares(self) -> list[FileShare]:
        """All that is to be looked at."""
        return [
            FileShare(slot, path, first, min(first + ROWS, rows) - 1)
            for slot, listed in self.listed.items()
            if self.kits or slot in self.openings
            for path, rows in listed.rows.items()
            for first in range(0, rows, ROWS)
        ]

    def frame(self, slot: str) -> Frame:
        """The rules of a slot; made once by each worker."""
        if slot not in self.frames:
            self.frames[slot] = Frame(self.build, self.knowledge, [self.openings[slot]])
        return self.frames[slot]


@dataclass(frozen=True)
class SlotAnswer:
    """What is handed on of a slot: tables of candidates, and the counts of all by rule."""

    left: Any
    misses: Any
    counted: tuple[int, ...]
    rules: dict[str, tuple[int, ...]]
    failures: tuple[Problem, ...]

    def with_(self, other: SlotAnswer) -> SlotAnswer:
        """The answer over both."""
        return SlotAnswer(
            _first(_LEFT, MOST_LEFT, self.left, other.left),
            _first(_MISSES, MOST_MISSES, self.misses, other.misses),
            _sums(self.counted, other.counted),
            {id_: _sums(own, other.rules[id_]) for id_, own in self.rules.items()},
            tuple({one.what: one for one in (*self.failures, *other.failures)}.values()),
        )


@dataclass(frozen=True)
class KitParts:
    """A kit: how many parts it has, how many of an open slot that nothing rules out; its price."""

    parts: int
    left: int
    price: float | None

    @property
    def whole(self) -> bool:
        """Whether each part has an open slot and may go there."""
        return self.left == self.parts

    def with_(self, other: KitParts) -> KitParts:
        """The same kit, more of its parts known."""
        prices = [one for one in (self.price, other.price) if one is not None]
        return KitParts(
            self.parts + other.parts, self.left + other.left, sum(prices) if prices else None
        )


@dataclass(frozen=True)
class Unread:
    """What stood in the way of reading some shares."""

    problems: tuple[Problem, ...]

    def with_(self, other: Unread) -> Unread:
        """All that stood in the way."""
        return Unread(tuple({str(one): one for one in (*self.problems, *other.problems)}.values()))


@dataclass(frozen=True)
class SlotRows:
    """Rows of a table of candidates."""

    table: Any

    def with_(self, other: SlotRows) -> SlotRows:
        """The rows of both."""
        import pyarrow  # noqa: PLC0415

        return SlotRows(pyarrow.concat_tables([self.table, other.table]))


# What an answer is of: a class, a kit or, with no name, what could not be read.
Key = tuple[str, str]
Work = Callable[[ShareJob, FileShare], Iterator[tuple[Key, Any]]]
Of = Callable[[tuple[Key, Any]], Any]


class Answers(Protocol):
    """Answers by key, wherever they lie."""

    def filter(self, of: Of, /) -> Answers:
        """Some of them."""
        ...

    def collect(self) -> list[Any]:
        """All of them, here."""
        ...

    def first(self, most: int, key: Of, /) -> list[Any]:
        """The first of them by a key, here."""
        ...


Engine = Callable[[ShareJob, Work, Sequence[FileShare]], Answers]


@dataclass
class Fewer:
    """The catalog of those that came here, and what was counted, by slot."""

    catalog: Catalog
    judged: dict[str, SlotAnswer]

    @property
    def cut(self) -> list[str]:
        """The slots of which more were left than came here."""
        return [slot for slot, one in self.judged.items() if sum(one.counted[:2]) > MOST_LEFT]

    def counted(self, found: Screen) -> Screen:
        """A screening of those that came here, with the counts of all."""
        own, rules = self.judged[found.opening.slot], self.catalog.knowledge.rules
        fits, possible, out, exact = own.counted
        counts, remarks = in_order(Count(rules[id_], *some) for id_, some in own.rules.items())
        return replace(
            found,
            total=fits + possible + out,
            fits=fits,
            possible=possible,
            ruled_out=out,
            counts=counts,
            remarks=remarks,
            exact=exact,
            failures=list(own.failures),
        )


def job_of(
    folder: Path,
    catalog: Catalog,
    build: EngineBuild,
    openings: Sequence[Opening],
    spares: int = 0,
) -> ShareJob:
    """What there is to do in a folder, which is looked through before any engine starts."""
    if not folder.is_dir():
        raise BadInput([Problem(f"there is no folder {folder}", None, _WRITE)])
    listed = listed_in(folder, catalog)
    missing = [one.slot for one in openings if one.slot not in listed]
    if missing:
        wrong = [f"{folder} has no Parquet file in a folder '{slot}'" for slot in missing]
        raise BadInput([Problem(what, None, _WRITE) for what in wrong])
    knowledge, sided = catalog.knowledge, dict[str, Opening]()
    for one in openings:
        listed[one.slot].take_into(catalog, where="FALSE")
        sided[one.slot] = replace(one, sided=catalog.sided(one.slot))
    build = remembered(build, knowledge, sided)
    for one in openings:  # each is judged with the others open too
        build = one.emptied(build)
    several = len(openings) > 1 and not any(one.side for one in openings)
    return ShareJob(knowledge, build, sided, listed, spares, several)


_WRITE = "write one: fitcheck catalog CATALOG --parquet FOLDER"


def left_of(job: ShareJob, folder: Path, catalog: Catalog, engine: Engine) -> Fewer:
    """What is left of a folder, in a catalog that is empty but for its tables."""
    answers = engine(job, judge, job.shares())
    judged = {}
    for (kind, name), found in answers.filter(_no_kit).collect():
        if kind == _UNREAD:
            raise BadInput(list(found.problems))
        judged[name] = found
    for slot, one in judged.items():
        _take(catalog, slot, one.left, one.misses)
    for slot in [slot for slot in job.openings if slot not in judged]:  # files of no rows
        judged[slot] = SlotAnswer(None, None, (0, 0, 0, 0), {}, ())
    if job.kits:
        whole = answers.filter(_whole_kit).first(MOST_LEFT, _cheapest)
        _take_kits(catalog, job, engine, [name for (_, name), _ in whole])
    if currency := currency_of(folder):
        catalog.priced_in(currency)
    return Fewer(catalog, judged)


def _take(catalog: Catalog, slot: str, *tables: Any) -> None:
    for table in tables:
        with catalog.lent("came", table):
            own = "SELECT * EXCLUDE (clashes, cost) FROM came"
            catalog.run(f'INSERT INTO "{slot}" BY NAME {own}')


def _take_kits(catalog: Catalog, job: ShareJob, engine: Engine, kits: Sequence[str]) -> None:
    if not kits:
        return
    some = ", ".join(map(quoted, kits))
    shares = [share for share in job.shares() if share.slot in job.openings]
    for (kind, slot), found in engine(job, rows_where(f"kit IN ({some})"), shares).collect():
        if kind == _UNREAD:
            raise BadInput(list(found.problems))
        with catalog.lent("came", found.table):
            catalog.run(f'INSERT INTO "{slot}" BY NAME SELECT * FROM came ORDER BY source, row')


_SLOT, _KIT, _UNREAD = "slot", "kit", "unread"


def _no_kit(answer: tuple[Key, Any]) -> bool:
    return answer[0][0] != _KIT


def _whole_kit(answer: tuple[Key, Any]) -> bool:
    return answer[0][0] == _KIT and answer[1].whole


def _cheapest(answer: tuple[Key, Any]) -> tuple[bool, float, str]:
    (_, name), kit = answer
    return kit.price is None, kit.price or 0.0, name


def judge(job: ShareJob, share: FileShare) -> Iterator[tuple[Key, Any]]:
    """Screen a share, on a worker."""
    with Catalog(job.knowledge) as catalog:
        try:
            if share.slot in job.openings:
                yield from _screened(job, share, catalog)
            else:
                job.listed[share.slot].take_into(catalog, [share.path], share.where)
                own = f'SELECT kit, count(*) FROM "{share.slot}" WHERE kit IS NOT NULL GROUP BY kit'
                yield from (((_KIT, kit), KitParts(n, 0, None)) for kit, n in catalog.run(own))
        except BadInput as wrong:
            yield (_UNREAD, ""), Unread(tuple(wrong.problems))


def rows_where(where: str) -> Work:
    """What hands on the rows of a share for which a condition holds."""

    def rows(job: ShareJob, share: FileShare) -> Iterator[tuple[Key, Any]]:
        with Catalog(job.knowledge) as catalog:
            try:
                listed = job.listed[share.slot]
                listed.take_into(catalog, [share.path], f"{share.where} AND {where}")
                table = catalog.connection.sql(f'FROM "{share.slot}"').to_arrow_table()
                yield (_SLOT, share.slot), SlotRows(table)
            except BadInput as wrong:
                yield (_UNREAD, ""), Unread(tuple(wrong.problems))

    return rows


def _screened(job: ShareJob, share: FileShare, catalog: Catalog) -> Iterator[tuple[Key, Any]]:
    catalog.run("SET threads = 1")  # a worker has one core
    job.listed[share.slot].take_into(catalog, [share.path], share.where)
    opening, frame = job.openings[share.slot], job.frame(share.slot)
    where = "TRUE" if job.kits else "kit IS NULL"
    found = screen(catalog, job.build, opening, spares=job.spares, frame=frame, where=where)

    def some(condition: str, keys: Sequence[tuple[str, str]], most: int) -> Any:
        order = ", ".join(f"{name} NULLS LAST" for name, _ in keys)
        return catalog.connection.sql(
            f'SELECT p.*, clashes, {found.need.sql} AS cost FROM "{share.slot}" AS p '
            f"JOIN standing ON p.rowid = number WHERE kit IS NULL AND {condition} "
            f"ORDER BY {order} LIMIT {most}"
        ).to_arrow_table()

    yield (
        (_SLOT, share.slot),
        SlotAnswer(
            some("clashes = 0", _LEFT, MOST_LEFT),
            some("clashes > 0", _MISSES, MOST_MISSES),
            (found.fits, found.possible, found.ruled_out, found.exact),
            {one.rule.id: (one.out, one.alone, one.open) for one in found.counts + found.remarks},
            tuple(frame.failures + found.failures),
        ),
    )
    if job.kits:
        for name, *figures in catalog.run(
            "SELECT kit, count(*), count(*) FILTER (clashes = 0), sum(price) "
            f'FROM "{share.slot}" AS p JOIN standing ON p.rowid = number '
            "WHERE kit IS NOT NULL GROUP BY kit"
        ):
            yield (_KIT, name), KitParts(*figures)


def _sums(some: Iterable[int], others: Iterable[int]) -> tuple[int, ...]:
    return tuple(a + b for a, b in zip(some, others, strict=True))


def _first(keys: Sequence[tuple[str, str]], most: int, *tables: Any) -> Any:
    import pyarrow  # noqa: PLC0415
    from pyarrow import compute  # noqa: PLC0415

    both = pyarrow.concat_tables(tables)
    order = compute.sort_indices(both, sort_keys=keys)  # what is not told comes last
    return both.take(order[:most])
