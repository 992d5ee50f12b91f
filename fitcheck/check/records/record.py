"""Records measurements in a build file: added to its text, nothing else of it changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import yaml

from fitcheck.check.read import read_build
from fitcheck.check.records.filled import Filled, meaning
from fitcheck.check.values import selector_words
from fitcheck.knowledge import Knowledge
from fitcheck.knowledge.words import Word, Words
from fitcheck.model import SIDES, EngineBuild, Evidence, Origin, Selector, Statement
from fitcheck.source import BadInput, Mapping, Problem, Text, frozen, read_yaml
from fitcheck.source.insertion import composed, node_at, with_entries, with_pair
from fitcheck.source.rewrite import Original, rewrite

Written = str | list[str]
Path_ = tuple[str, ...]
_Said = tuple[Statement, Written]
_Entry = dict[str, Written | dict[str, Written]]
_Known = Callable[[str], Word]
ABOUT = ("by", "when", "with")  # of a block


@frozen
class Recorded:
    """What was added, what stood there already, and what was not taken."""

    added: list[Statement]
    known: list[Statement]
    rejected: list[Problem]


def record(original: Original, name: Path, filled: Filled, knowledge: Knowledge) -> Recorded:
    """Add what a sheet says to the build file as it was read; raises BadInput.

    Nothing is written when nothing is new.
    """
    recorder = Recorder(original.text, name, knowledge)
    done = Recorded([], [], list(filled.rejected))
    new: list[_Said] = []
    for statement, written in filled.taken:
        homes = [own for own in recorder.homes(statement) if meaning(own[1]) not in recorder.before]
        if not recorder.homes(statement):
            what = f"no {statement.attribute.slot} is listed for this side"
            mend = "add it to the build file first"
            done.rejected.append(Problem(what, statement.place, mend))
        elif homes:
            new.append((statement, written))
        else:
            done.known.append(statement)
    try:
        text = recorder.text_with(new)
    except BadInput:
        # Some figure contradicts the rest of the file: find out which, and leave it out.
        new = recorder.accepted(new, [], done.rejected)
        text = recorder.text_with(new)
    if new:
        rewrite(original, text)
    done.added.extend(statement for statement, _ in new)
    return done


class Recorder:
    """Makes the text of a build file with more measurements in it."""

    def __init__(
        self, text: str, name: Path, knowledge: Knowledge, build: EngineBuild | None = None
    ) -> None:
        self.text = text
        self.name = name
        self.knowledge = knowledge
        self.build = build or read_build(name, knowledge, text)
        self.before = Counter(map(meaning, self.build.statements()))
        root = read_yaml(name, [], text)
        assert isinstance(root, Mapping)
        self.root = root

    def homes(self, statement: Statement) -> list[tuple[Path_, Statement]]:
        """The part entries that a statement goes to, each with what it says there."""
        return list(_homes(self.root, self.build, statement, self.knowledge.words))

    def text_with(self, said: list[_Said]) -> str:
        """The text with some figures added, proved to say just that; raises BadInput."""
        blocks: dict[tuple[Path_, Evidence], dict[Origin, list[_Said]]] = {}
        wanted = Counter(self.before)
        for statement, written in said:
            for path, own in self.homes(statement):
                if meaning(own) not in self.before:
                    block = blocks.setdefault((path, own.evidence), {})
                    block.setdefault(own.origin, []).append((own, written))
                    wanted[meaning(own)] += 1
        text = self.text
        for (path, evidence), by_origin in blocks.items():
            entries = []
            for origin, together in by_origin.items():
                entry = _entry(origin, together, path)
                known = partial(self.knowledge.words.attribute, together[0][0].attribute.slot)
                text, left = _joined(text, (*path, evidence.word), entry, known)
                entries += [left] if left else []
            if entries:
                text = with_entries(text, path, evidence.word, entries)
        found = read_build(self.name, self.knowledge, text).statements() if said else []
        if said and Counter(map(meaning, found)) != wanted:
            raise BadInput(
                [
                    Problem(
                        f"the measurements can't be added safely to {self.name}; nothing was done",
                        None,
                        "add them by hand, and report this",
                    )
                ]
            )
        return text

    def accepted(self, said: list[_Said], beside: list[_Said],
                 rejected: list[Problem]) -> list[_Said]:  # fmt: skip
        """The figures that the file takes beside others; halved until each bad one is found.

        The reason for leaving one out is added, at the figure's cell.
        """
        try:
            self.text_with([*beside, *said])
        except BadInput as error:
            if len(said) == 1:
                problem = error.problems[0]
                rejected.append(Problem(problem.what, said[0][0].place, problem.mend))
                return []
            half = len(said) // 2
            first = self.accepted(said[:half], beside, rejected)
            return first + self.accepted(said[half:], beside + first, rejected)
        return said


def _homes(
    root: Mapping, build: EngineBuild, statement: Statement, words: Words
) -> Iterator[tuple[Path_, Statement]]:
    """The part entries that a statement goes to, each with what it says there."""
    slot = statement.attribute.slot
    holder = build.parts[slot][0].holder
    node: Mapping = root
    path: Path_ = ()
    for step in ("parts", holder, "contains") if holder else ("parts",):
        # The same part may stand there under another word.
        key = next(key for key in node if key == step or words.part(key).name == step)
        node, path = _inner(node, key), (*path, str(key))
    # A side may have an entry of its own; one of the whole part takes what is said of any side.
    own = [key for key in node if key == slot or words.part(key).name == slot]
    sided = [key for key in node if words.part_on_a_side(key).name == slot]
    for key in own or sided:
        side = "" if own else words.part_on_a_side(key).side
        yield from _home((*path, str(key)), _inner(node, key), side, statement)


def _joined(text: str, path: Path_, entry: _Entry, known: _Known) -> tuple[str, _Entry]:
    """The text with an entry in a block that the same people wrote, and what has no room there."""
    holder = node_at(composed(text), path[:-1])
    blocks = next((value for key, value in holder.value if key.value == path[-1]), None)
    listed = blocks.value if isinstance(blocks, yaml.SequenceNode) else None
    for number, block in enumerate([blocks] if listed is None else listed):
        if isinstance(block, yaml.MappingNode) and _about(block) == _told_about(entry):
            own: tuple[str | int, ...] = path if listed is None else (*path, number)
            return _in_block(text, own, block, entry, known)
    return text, entry


def _in_block(
    text: str, path: tuple[str | int, ...], block: Any, entry: _Entry, known: _Known
) -> tuple[str, _Entry]:
    there = {known(key.value).name: (key, value) for key, value in block.value}
    left: _Entry = {}
    for name, value in entry.items():
        key, held = there.get(known(name).name, (None, None))
        if name in ABOUT:
            continue
        if key is None:
            text = with_pair(text, path, name, value)
        elif _has_room(held, value):
            assert not isinstance(value, str | list)
            for where, written in value.items():
                text = with_pair(text, (*path, key.value), where, written)
        else:
            left[name] = value
    about = {name: value for name, value in entry.items() if name in ABOUT}
    return text, {**about, **left} if left else {}


def _has_room(held: Any, value: Any) -> bool:
    """Whether a mapping of places says nothing yet of those in `value`."""
    return (
        isinstance(held, yaml.MappingNode)
        and isinstance(value, dict)
        and value.keys().isdisjoint(key.value for key, _ in held.value)
    )


def _about(block: Any) -> dict[str, str]:
    """Who wrote a block, when, with what."""
    return {
        key.value.casefold(): value.value
        for key, value in block.value
        if key.value.casefold() in ABOUT
    }


def _told_about(entry: _Entry) -> dict[str, Any]:
    return {name: value for name, value in entry.items() if name in ABOUT}


def _inner(node: Mapping, key: Text) -> Mapping:
    inner = node[key]
    assert isinstance(inner, Mapping)
    return inner


def _home(
    path: Path_, node: Mapping, said: str, statement: Statement
) -> Iterator[tuple[Path_, Statement]]:
    """Where in an entry of its part a statement goes; `said` is the side of the whole entry."""
    sides = [side for side in SIDES if side in node]
    if not (sides or said):
        yield path, statement
    for side in (said,) if said else sides:
        selector = statement.selector
        if selector.side in (None, side):
            narrowed = Selector(selector.bank, selector.cylinder, side)
            yield (
                path if said else (*path, side),
                Statement(
                    statement.attribute,
                    narrowed,
                    statement.evidence,
                    statement.value,
                    statement.origin,
                ),
            )


def _entry(origin: Origin, said: list[_Said], path: Path_) -> _Entry:
    """A block as it stands in a build file."""
    entry: _Entry = {}
    for key, value in (("by", origin.by), ("when", origin.when), ("with", origin.with_)):
        if value:
            entry[key] = str(value)
    names = list(dict.fromkeys(statement.attribute.name for statement, _ in said))
    for name in names:
        places = {
            _where(statement.selector, path): written
            for statement, written in said
            if statement.attribute.name == name
        }
        short = name.partition(".")[2]
        entry[short] = places["all"] if list(places) == ["all"] else places
    return entry


def _where(selector: Selector, path: Path_) -> str:
    side = None if path[-1] in SIDES else selector.side
    return selector_words(Selector(selector.bank, selector.cylinder, side))
