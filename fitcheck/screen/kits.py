"""Kits: rows of a list that bring several parts which are sold together, at one price.

Each part of a kit stands in the table of its class, with what the kit is called; the price stands
with the first of them. A kit is chosen whole or not at all.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from fitcheck.check.checking import CLAIMS, check_build
from fitcheck.knowledge import Knowledge
from fitcheck.model import EngineBuild, Layout, Part
from fitcheck.screen.mapping import Column
from fitcheck.screen.raw import RAW
from fitcheck.screen.store import Catalog, quoted

_AND = re.compile(r"\s*(?:[,+&;/]|\band\b|\bwith\b)\s*", re.IGNORECASE)
# Between the list that a kit comes from and its number there.
BETWEEN = "\x1f"
# So many kits of a list are looked at for parts that do not go with each other.
MOST_LOOKED = 500


def classes_in(text: str, knowledge: Knowledge) -> tuple[str, ...]:
    """The classes that a cell names: all of `spring, retainer + locks`, one of `spring, valve`."""
    names = [knowledge.words.part(one).name for one in _AND.split(text) if one]
    if all(names) and len(set(names)) > 1 and not _turned(text, knowledge):
        return tuple(dict.fromkeys(names))
    alone = knowledge.words.part(text).name
    return (alone,) if alone else ()


def _turned(text: str, knowledge: Knowledge) -> bool:
    """Whether one part is meant, its name turned about as lists of parts do: `spring, valve`."""
    last, comma, first = text.partition(",")
    word = knowledge.words.part(f"{first} {last}")
    return bool(comma and word.name) and not word.short


def tell_unclear(catalog: Catalog, columns: Sequence[Column], at: Mapping[str, str]) -> None:
    """In a kit a column may be of several parts: nobody knows of which, unless it says so."""
    for column in columns:
        some = ", ".join(quoted(slot) for slot in column.names)
        why = f"{column.header}: of which part of the kit? (name it, as in 'spring rate')"
        catalog.run(
            f"INSERT INTO why SELECT row, {quoted(why)} FROM parts JOIN {RAW} AS r USING (row) "
            f"WHERE in_kit AND slot IN ({some}) "
            f"AND coalesce(trim(r.{at[column.header]}), '') <> '' "
            "GROUP BY row HAVING count(*) > 1"
        )


def leave_contradictions(catalog: Catalog, source: str) -> None:
    """Take out the kits of a list whose parts clash with each other, and tell why."""
    for kit, row, why in list(_contradictions(catalog, source)):
        for slot in catalog.slots():
            catalog.run(f'DELETE FROM "{slot}" WHERE kit = {quoted(kit)}')
        catalog.run(f"INSERT INTO why VALUES ({row}, {quoted(why)})")


def _kits_of(catalog: Catalog, source: str) -> dict[tuple[str, int], dict[str, int]]:
    """The kits of a list, by what they are called and their row: the numbers of their parts."""
    found: dict[tuple[str, int], dict[str, int]] = {}
    for slot in catalog.slots():
        for kit, row, number in catalog.run(
            f'SELECT kit, row, rowid FROM "{slot}" WHERE kit IS NOT NULL '
            f"AND source = {quoted(source)} ORDER BY row"
        ):
            found.setdefault((kit, row), {})[slot] = number
    return found


def _contradictions(catalog: Catalog, source: str) -> Iterator[tuple[str, int, str]]:
    """Kits of a list whose parts clash with each other whatever the engine, and on what."""
    knowledge = catalog.knowledge
    for (kit, row), numbers in list(_kits_of(catalog, source).items())[:MOST_LOOKED]:
        parts: dict[str, tuple[Part, ...]] = {
            slot: (catalog.listed(slot, [number])[0].part,) for slot, number in numbers.items()
        }
        rules = [
            rule
            for rule in knowledge.rules.values()
            if len(parts.keys() & set(rule.slots)) > 1
            and rule.severity != "advice"
            and rule.family != CLAIMS
        ]
        check = check_build(EngineBuild("", "", Layout(1), parts, frozenset()), knowledge, rules)
        clashes = dict.fromkeys(str(one.rule.file.subject) for one in check.conflicts)
        if clashes:
            yield kit, row, f"the kit contradicts itself: {'; '.join(clashes)}"


def whole_within(catalog: Catalog, slots: Sequence[str]) -> str:
    """Of single parts and of kits that bring nothing for other slots: the condition."""
    others = [slot for slot in catalog.slots() if slot not in slots]
    more = " UNION ".join(f'SELECT kit FROM "{slot}" WHERE kit IS NOT NULL' for slot in others)
    return f"(kit IS NULL OR kit NOT IN ({more}))" if more else "TRUE"
