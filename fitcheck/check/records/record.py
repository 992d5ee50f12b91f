"""Records measurements in a build file: added to its text, nothing else of it changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from fitcheck.check.read import read_build
from fitcheck.check.records.filled import Filled, meaning
from fitcheck.check.values import selector_words
from fitcheck.knowledge import Knowledge
from fitcheck.knowledge.words import Words
from fitcheck.model import SIDES, Build, Origin, Selector, Statement
from fitcheck.source import BadInput, Mapping, Problem, Text, frozen, read_yaml
from fitcheck.source.insertion import with_entries
from fitcheck.source.rewrite import Original, rewrite

Written = str | list[str]
Path_ = tuple[str, ...]
_Said = tuple[Statement, Written]
_Entry = dict[str, Written | dict[str, Written]]


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
    recorder = _Recorder(original.text, name, knowledge)
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


class _Recorder:
    """Makes the text of a build file with more measurements in it."""

    def __init__(self, text: str, name: Path, knowledge: Knowledge) -> None:
        self.text = text
        self.name = name
        self.knowledge = knowledge
        self.build = read_build(name, knowledge, text)
        self.before = Counter(map(meaning, self.build.statements()))
        root = read_yaml(name, [], text)
        assert isinstance(root, Mapping)
        self.root = root

    def homes(self, statement: Statement) -> list[tuple[Path_, Statement]]:
        """The part entries that a statement goes to, each with what it says there."""
        return list(_homes(self.root, self.build, statement, self.knowledge.words))

    def text_with(self, said: list[_Said]) -> str:
        """The text with some figures added, proved to say just that; raises BadInput."""
        blocks: dict[Path_, dict[Origin, list[_Said]]] = {}
        wanted = Counter(self.before)
        for statement, written in said:
            for path, own in self.homes(statement):
                if meaning(own) not in self.before:
                    blocks.setdefault(path, {}).setdefault(own.origin, []).append((own, written))
                    wanted[meaning(own)] += 1
        text = self.text
        for path, by_origin in blocks.items():
            entries = [_entry(origin, own, path) for origin, own in by_origin.items()]
            text = with_entries(text, path, "measured", entries)
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
    root: Mapping, build: Build, statement: Statement, words: Words
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
