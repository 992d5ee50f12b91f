"""Keeps in a build file what somebody types of it: figures said anew, taken back, parts, the title.

What is changed is changed where it stands, what is new is added as `record` adds it, and the rest
of the text is left as it is. Each change is proved before it is written: the text that comes about
says just what is wanted, or nothing is written.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import field, replace
from pathlib import Path

from fitcheck.check.read import read_build, read_said
from fitcheck.check.records.filled import meaning
from fitcheck.check.records.record import Recorder, Written
from fitcheck.check.values import selector_words
from fitcheck.knowledge import Knowledge
from fitcheck.model import (
    Attribute,
    EngineBuild,
    Evidence,
    Layout,
    Origin,
    Part,
    Selector,
    Statement,
)
from fitcheck.quantity import Quantity
from fitcheck.source import BadInput, Problem, Typed, frozen
from fitcheck.source.insertion import composed, inline, with_pair
from fitcheck.source.revision import with_value, without_key, without_pair
from fitcheck.source.rewrite import Original, rewrite

NONE = "none"


@frozen
class Saying:
    """What somebody says of one figure: what holds from now on, and what is taken back.

    `name` is what whoever asked calls it by. Without `said` nothing takes its place. It is written
    in plain figures with their units; `as_typed` says it otherwise, where those would not say it
    (the name of a size, as 11/32).
    """

    name: str
    said: tuple[Statement, ...] = ()
    gone: tuple[Statement, ...] = ()
    typed: str = ""
    as_typed: bool = False


@frozen
class ToKeep:
    """All that is to be kept at once: figures, parts said to be none, keys of the build itself."""

    changes: tuple[Saying, ...] = ()
    absent: tuple[str, ...] = ()
    top: dict[str, str] = field(default_factory=dict)


@frozen
class Kept:
    """What was kept, and what was not with why."""

    done: tuple[Saying, ...]
    refused: tuple[tuple[Saying, Problem], ...]


def typed(
    attribute: Attribute,
    where: str,
    value: str,
    evidence: Evidence,
    origin: Origin,
    layout: Layout,
    knowledge: Knowledge,
) -> tuple[Statement, ...]:
    """What a typed value says, read as in a build file; raises BadInput with what to write."""
    said: Typed = _several(value) if attribute.several else value
    if where not in ("", "all"):
        said = {where: said}
    about = {"by": origin.by, "when": str(origin.when or ""), "with": origin.with_}
    block: dict[str, Typed] = {key: told for key, told in about.items() if told}
    block[attribute.short_name] = said
    return read_said(attribute.slot, evidence, block, layout, knowledge)[0]


def _several(value: str) -> list[str]:
    return [piece.strip() for piece in value.strip("[]").split(",") if piece.strip()]


def held(build: EngineBuild, attribute: Attribute, selector: Selector) -> Statement | None:
    """What holds of all that is said of a figure at just these places; None where nothing is."""
    said = [
        one
        for one in build.statements()
        if one.attribute.name == attribute.name and one.selector == selector
    ]
    return max(reversed(said), key=lambda one: one.strength, default=None)


def drafted(
    build: EngineBuild, changes: Iterable[Saying], knowledge: Knowledge
) -> tuple[EngineBuild, set[str]]:
    """The build as it would be with changes kept, and the attributes that may differ."""
    parts, touched = dict(build.parts), set[str]()
    for change in changes:
        out = set(map(meaning, change.gone))
        for slot in {one.attribute.slot for one in (*change.gone, *change.said)}:
            if slot not in parts:
                parts[slot] = (Part(slot, "", "", ()),)
                touched |= set(knowledge.classes[slot].attributes)
            own = [one for one in change.said if one.attribute.slot == slot]
            kept = [_without(part, out, own) for part in parts[slot]]
            first = replace(kept[0], statements=(*kept[0].statements, *own))
            parts[slot] = (first, *kept[1:])
        touched |= {one.attribute.name for one in (*change.gone, *change.said)}
    return replace(build, parts=parts, absent=build.absent - parts.keys()), touched


def _without(part: Part, out: set[object], instead: list[Statement]) -> Part:
    keys = set(map(_key, instead))
    left = [one for one in part.statements if meaning(one) not in out and _key(one) not in keys]
    return replace(part, statements=tuple(left))


def keep(original: Original, name: Path, wanted: ToKeep, knowledge: Knowledge) -> Kept:
    """Write what is wanted into a build file as it was read; raises BadInput.

    Of changes that the file does not take, each is told, and the others are kept.
    """
    keeping = _Keeping(original.text, name, knowledge)
    done: tuple[Saying, ...] = wanted.changes
    refused: list[tuple[Saying, Problem]] = []
    try:
        text = keeping.text_with(wanted)
    except BadInput:
        if not wanted.changes:
            raise
        done = ()
        for change in wanted.changes:
            done += keeping.taken(replace(wanted, changes=done), change, refused)
        text = keeping.text_with(replace(wanted, changes=done))
    if text != original.text:
        rewrite(original, text)
    return Kept(done, tuple(refused))


class _Keeping:
    """Makes the text of a build file with changes in it."""

    def __init__(self, text: str, name: Path, knowledge: Knowledge) -> None:
        self.text = text
        self.name = name
        self.knowledge = knowledge
        self.build = read_build(name, knowledge, text)
        self.raw: dict[object, str] = {}

    def text_with(self, wanted: ToKeep) -> str:
        """The text with all that is wanted, proved to say just that; raises BadInput."""
        text = self.text
        self.raw = {
            _said_there(one): change.typed
            for change in wanted.changes
            if change.as_typed and len(change.said) == 1
            for one in change.said
        }
        for key, value in wanted.top.items():
            text = _with_top(text, key, value)
        for slot in wanted.absent:
            text = self._with_none(text, slot)
        said = Counter(map(meaning, self._left(wanted.absent)))
        text, more = self._changed(text, wanted.changes, said)
        text = self._added(text, more, said)
        found = read_build(self.name, self.knowledge, text)
        if Counter(map(meaning, found.statements())) != said:
            raise _unsafe(self.name)
        return text

    def taken(
        self, wanted: ToKeep, change: Saying, refused: list[tuple[Saying, Problem]]
    ) -> tuple[Saying, ...]:
        """A change as the file takes it beside others; none where it does not, which is told."""
        ways = [change, replace(change, as_typed=True)] if change.typed else [change]
        problem: Problem | None = None
        for way in ways:
            try:
                self.text_with(replace(wanted, changes=(*wanted.changes, way)))
            except BadInput as error:
                problem = problem or error.problems[0]
            else:
                return (way,)
        assert problem is not None
        refused.append((change, Problem(problem.what, None, problem.mend)))
        return ()

    def _written(self, statement: Statement) -> Written:
        """A value as it is written: in plain figures, or as it was typed."""
        return self.raw.get(_said_there(statement)) or written(statement)

    def _left(self, absent: tuple[str, ...]) -> list[Statement]:
        """What is said, but for parts that are said to be none."""
        return [one for one in self.build.statements() if one.attribute.slot not in absent]

    def _with_none(self, text: str, slot: str) -> str:
        path = self._path(text, slot)
        if path:
            text = without_key(text, path)
        return with_pair(text, path[:-1] or ["parts"], slot, NONE)

    def _path(self, text: str, slot: str) -> list[str]:
        """Where a part stands in the text; empty where it does not."""
        parts = next(value for key, value in composed(text).value if key.value == "parts")
        found = self.knowledge.words
        for key, value in parts.value if parts.id == "mapping" else ():
            if found.part(key.value).name == slot:
                return ["parts", key.value]
            inner = value.value if value.id == "mapping" else ()
            for name, held_ in inner:
                if name.value == "contains" and held_.id == "mapping":
                    for one, _ in held_.value:
                        if found.part(one.value).name == slot:
                            return ["parts", key.value, name.value, one.value]
        return []

    # What stands there already.

    def _changed(
        self, text: str, changes: tuple[Saying, ...], said: Counter[object]
    ) -> tuple[str, list[Statement]]:
        """The text with what stands there changed or taken out; and what is still to be added."""
        recorder = self._recorder(text)
        before = recorder.build.statements()
        edits: dict[int, tuple[Statement, Statement | None]] = {}
        more: list[Statement] = []
        for change in changes:
            gone = set(map(meaning, change.gone))
            edits |= {id(one): (one, None) for one in before if meaning(one) in gone}
        for statement in (one for change in changes for one in change.said):
            homes = (
                recorder.homes(statement)
                if statement.attribute.slot in recorder.build.parts
                else []
            )
            for own in [own for _, own in homes] or [statement]:
                same = [one for one in before if _key(one) == _key(own)]
                if same:
                    edits[id(same[-1])] = (same[-1], own)
                    edits |= {id(one): (one, None) for one in same[:-1]}
                else:
                    more.append(own)
        return self._edited(text, list(edits.values()), before, said, more), more

    def _edited(
        self,
        text: str,
        edits: list[tuple[Statement, Statement | None]],
        before: list[Statement],
        said: Counter[object],
        more: list[Statement],
    ) -> str:
        by_place: dict[tuple[int, int], list[Statement]] = {}
        for one in before:
            by_place.setdefault(_at(one), []).append(one)
        found = {id(old): new for old, new in edits}
        # From the end of the text to its start, so that places ahead stay what they are.
        for at in sorted({_at(old) for old, _ in edits}, reverse=True):
            here = by_place[at]
            place = here[0].place
            assert place is not None
            new = found.get(id(here[0])) if len(here) == 1 else None
            for old in here:
                said[meaning(old)] -= 1
            if new is not None:
                text = with_value(text, place, self._written(new))
                said[meaning(new)] += 1
                continue
            text = without_pair(text, place)
            # Of several figures that were printed as one, those that stay are written each alone.
            stay = [found.get(id(old), old) for old in here]
            more += [one for one in stay if one is not None]
        return text

    # What is new.

    def _added(self, text: str, more: list[Statement], said: Counter[object]) -> str:
        if not more:
            return text
        recorder = self._recorder(text)
        new = {one.attribute.slot: one for one in reversed(more)}
        for slot, one in new.items():
            if slot not in recorder.build.parts:
                text = self._with_part(text, one)
        if text != recorder.text:
            recorder = self._recorder(text)
        for one in more:
            said.update(meaning(own) for _, own in recorder.homes(one))
        return recorder.text_with([(one, self._written(one)) for one in more])

    def _recorder(self, text: str) -> Recorder:
        """What adds to a text; the file's own text is not read once more."""
        build = self.build if text == self.text else None
        return Recorder(text, self.name, self.knowledge, build)

    def _with_part(self, text: str, said: Statement) -> str:
        """The text with the part of a figure in it, and who says so of it."""
        slot, origin = said.attribute.slot, said.origin
        path = self._path(text, slot)
        if path:  # said to be none
            text = without_key(text, path)
        about = {"by": origin.by, "when": str(origin.when or ""), "with": origin.with_}
        entry = {key: value for key, value in about.items() if value}
        return with_pair(text, path[:-1] or ["parts"], slot, {said.evidence.word: entry})


def written(statement: Statement) -> Written:
    """A statement's value as it is written in a build file."""
    attribute, value = statement.attribute, statement.value
    if isinstance(value, Quantity):
        return value.text
    if isinstance(value, str):
        return value
    options = [option for number, option in enumerate(attribute.options) if value >> number & 1]
    return options if attribute.several else " or ".join(options)


def where_of(statement: Statement) -> str:
    """Where a statement holds, as it is written in a build file."""
    return selector_words(statement.selector)


def _with_top(text: str, key: str, value: str) -> str:
    root = composed(text)
    for name, node in root.value:
        if name.value == key:
            start, end = node.start_mark.index, node.end_mark.index
            whole = text[start:end]
            end -= len(whole) - len(whole.rstrip())
            return f"{text[:start]}{inline(value)}{text[end:]}"
    return with_pair(text, [], key, value)


def _key(statement: Statement) -> object:
    """What two statements share of which the later takes the place of the earlier."""
    origin = statement.origin
    about: Iterator[object] | tuple[object, ...] = (
        (origin.by, origin.when, origin.with_)
        if statement.evidence is Evidence.MEASURED
        else (origin.by,)
    )
    return statement.attribute.name, statement.selector, statement.evidence, about


def _said_there(statement: Statement) -> object:
    """What a statement says, wherever it holds."""
    value = statement.value
    shown = value if isinstance(value, str | int) else value.interval
    return statement.attribute.name, statement.evidence, shown, statement.origin


def _at(statement: Statement) -> tuple[int, int]:
    place = statement.place
    assert place is not None
    return place.line, place.column


def _unsafe(name: Path) -> BadInput:
    return BadInput(
        [
            Problem(
                f"this can't be written safely to {name.name}; nothing was done",
                None,
                "write it into the file by hand, and report this",
            )
        ]
    )
