"""Records measurements in a build file: added to its text, nothing else of it changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from fitcheck.check.filled import Filled
from fitcheck.check.read import read_build
from fitcheck.check.values import selector_words
from fitcheck.knowledge import Knowledge
from fitcheck.model import SIDES, Build, Origin, Selector, Statement
from fitcheck.source import BadInput, Mapping, Problem, read_yaml
from fitcheck.source.insertion import with_entries
from fitcheck.source.rewrite import Original, rewrite

Written = str | list[str]
Path_ = tuple[str, ...]
_Said = tuple[Statement, Written]
_Entry = dict[str, Written | dict[str, Written]]


@dataclass(frozen=True, slots=True)
class Recorded:
    """What was added, what stood there already, and what was not taken."""

    added: list[Statement]
    known: list[Statement]
    rejected: list[Problem]


def record(original: Original, name: Path, filled: Filled, knowledge: Knowledge) -> Recorded:
    """Add what a sheet says to the build file as it was read; raises BadInput.

    Nothing is written when nothing is new.
    """
    text, rejected = original.text, list(filled.rejected)
    build = read_build(name, knowledge, text)
    before = Counter(map(_said, build.statements()))
    root = read_yaml(name, [], text)
    assert isinstance(root, Mapping)
    blocks: dict[Path_, dict[Origin, list[_Said]]] = {}
    added: list[Statement] = []
    known: list[Statement] = []
    for statement, written in filled.taken:
        homes = list(_homes(root, build, statement))
        if not homes:
            rejected.append(Problem(f"no {statement.attribute.slot} is listed for this side",
                                    statement.place, "add it to the build file first"))  # fmt: skip
            continue
        new = [(path, own) for path, own in homes if _said(own) not in before]
        (added if new else known).append(statement)
        for path, own in new:
            blocks.setdefault(path, {}).setdefault(own.origin, []).append((own, written))
    if added:
        changed = text
        for path, by_origin in blocks.items():
            entries = [_entry(origin, said, path) for origin, said in by_origin.items()]
            changed = with_entries(changed, path, "measured", entries)
        news = Counter(_said(own) for by_origin in blocks.values()
                       for said in by_origin.values() for own, _ in said)  # fmt: skip
        _check(changed, name, knowledge, before + news)
        rewrite(original, changed)
    return Recorded(added, known, rejected)


def _homes(root: Mapping, build: Build, statement: Statement) -> Iterator[tuple[Path_, Statement]]:
    """The part entries that a statement goes to, each with what it says there."""
    slot = statement.attribute.slot
    holder = build.parts[slot][0].holder
    path = ("parts", holder, "contains", slot) if holder else ("parts", slot)
    node = root
    for step in path:
        inner = node[node.key(step)]
        assert isinstance(inner, Mapping)
        node = inner
    sides = [side for side in SIDES if side in node]
    if not sides:
        yield path, statement
    for side in sides:
        selector = statement.selector
        if selector.side in (None, side):
            narrowed = Selector(selector.bank, selector.cylinder, side)
            yield (*path, side), Statement(statement.attribute, narrowed, statement.evidence,
                                           statement.value, statement.origin)  # fmt: skip


def _entry(origin: Origin, said: list[_Said], path: Path_) -> _Entry:
    """A block as it stands in a build file."""
    entry: _Entry = {}
    for key, value in (("by", origin.by), ("when", origin.when), ("with", origin.with_)):
        if value:
            entry[key] = str(value)
    names = list(dict.fromkeys(statement.attribute.name for statement, _ in said))
    for name in names:
        places = {_where(statement.selector, path): written for statement, written in said
                  if statement.attribute.name == name}  # fmt: skip
        short = name.partition(".")[2]
        entry[short] = places["all"] if list(places) == ["all"] else places
    return entry


def _where(selector: Selector, path: Path_) -> str:
    side = None if path[-1] in SIDES else selector.side
    return selector_words(Selector(selector.bank, selector.cylinder, side))


def _said(statement: Statement) -> object:
    value = statement.value
    shown = value if isinstance(value, str | int) else value.interval
    return (statement.attribute.name, statement.selector, statement.evidence, shown,
            statement.origin)  # fmt: skip


def _check(text: str, name: Path, knowledge: Knowledge, wanted: Counter[object]) -> None:
    """Refuse a text that does not say just what it said before and what was added."""
    if Counter(map(_said, read_build(name, knowledge, text).statements())) != wanted:
        raise BadInput([Problem(f"the measurements can't be added safely to {name}; nothing was "
                                "done", None, "add them by hand, and report this")])  # fmt: skip
