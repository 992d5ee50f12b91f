"""The desk: one open build file, what is known of it now, and what was changed of late.

Everything is asked and written under one lock, so that two pages, a phone and an editor cannot
write over each other: the file is read again whenever it is not what was read before.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from pathlib import Path
from threading import RLock
from typing import TYPE_CHECKING

from fitcheck.bench.folder import Folder
from fitcheck.check import BuildCheck, check_build, read_build, recheck
from fitcheck.check.comparing import Turned, turned
from fitcheck.check.records.filled import meaning
from fitcheck.check.records.keeping import Kept, Saying, ToKeep, drafted, keep, where_of, written
from fitcheck.model import EngineBuild, Statement
from fitcheck.quantity import System
from fitcheck.quantity.showing import system_of
from fitcheck.report.phrases import capital
from fitcheck.source import BadInput, Problem, frozen
from fitcheck.source.rewrite import Original, read_original, undo

if TYPE_CHECKING:
    from fitcheck.knowledge import Knowledge

MOST_NOTES = 200
MOST_TOLD = 6


@frozen
class Note:
    """Something that was changed: at which state of the desk, by which page, in words."""

    version: int
    by: str
    words: str


class Desk:
    """The open file. Whoever asks holds `lock`."""

    def __init__(self, folder: Folder, knowledge: Knowledge, system: System | None = None) -> None:
        self.lock = RLock()
        self.folder = folder
        self.knowledge = knowledge
        self.notes: deque[Note] = deque(maxlen=MOST_NOTES)
        self.version = 0
        self.path: Path | None = None
        self.original: Original | None = None
        self.check: BuildCheck | None = None
        self.turned: list[Turned] = []
        self.problems: list[Problem] = []
        self.who: tuple[str, str, str] = ("page", "", "")
        self._system = system

    # What is open.

    @property
    def build(self) -> EngineBuild:
        """The build that is open; raises BadInput where none is."""
        return self.checked.build

    @property
    def checked(self) -> BuildCheck:
        """Its check."""
        if self.check is None:
            raise BadInput(self.problems or [Problem("no file is open", None, "open or begin one")])
        return self.check

    @property
    def name(self) -> str:
        """The name of the open file; empty where none is."""
        return self.path.name if self.path else ""

    @property
    def text(self) -> str:
        """The text of the open file as it was read."""
        return self.original.text if self.original else ""

    @property
    def system(self) -> System:
        """The units that figures are shown in."""
        return self._system or system_of(self.text)

    def open(self, path: Path) -> None:
        """Open another file; what was open stays as it is on the disk."""
        self.path, self.original, self.check = path, None, None
        self.turned, self.problems = [], []
        self.version += 1
        self.notes.clear()
        self.look()

    def look(self) -> None:
        """Read the file again where it is not what was read; what changed is noted."""
        if self.path is None:
            return
        try:
            now = read_original(self.path)
        except BadInput as error:
            self._trouble(error.problems)
            return
        if self.original is not None and now.data == self.original.data:
            if self.problems and self.check is not None:  # it is whole again
                self.problems = []
                self.version += 1
            return
        try:
            build = self._read(now)
        except BadInput as error:
            self._trouble(error.problems)
            return
        self.problems = []
        before = self.check
        self._take(now, build, None)
        if before is not None:
            self._note("", f"The file was changed by another program. {_told(before.build, build)}")

    def _read(self, now: Original) -> EngineBuild:
        """The build in the file as it is now; problems name the file as it is listed."""
        return read_build(Path(self.name), self.knowledge, now.text)

    def _trouble(self, problems: list[Problem]) -> None:
        if list(map(str, problems)) != list(map(str, self.problems)):
            self.version += 1
        self.problems = problems

    def _take(self, now: Original, build: EngineBuild, touched: Iterable[str] | None) -> None:
        before = self.check
        if before is None or touched is None:
            self.check = check_build(build, self.knowledge)
        else:
            self.check = recheck(before, build, touched)
        self.turned = turned(before, self.check) if before is not None else []
        self.original = now
        self.version += 1

    def _note(self, by: str, words: str) -> None:
        self.notes.append(Note(self.version, by, words))

    def news(self, seen: int, by: str) -> list[str]:
        """What others changed since a page saw the desk."""
        return [one.words for one in self.notes if one.version > seen and one.by != by]

    # What is typed.

    def draft(self, sayings: Iterable[Saying]) -> BuildCheck:
        """The check as it would be with some figures kept."""
        build, touched = drafted(self.build, sayings, self.knowledge)
        return recheck(self.checked, build, touched)

    def keep(self, wanted: ToKeep, by: str) -> Kept:
        """Write what is wanted into the file; raises BadInput with nothing written."""
        self._whole()
        assert self.original is not None and self.path is not None
        before = self.checked
        kept = keep(self.original, Path(self.name), wanted, before.knowledge)
        now = read_original(self.path)
        if now.data == self.original.data:
            return kept
        build = self._read(now)
        touched = _touched(before.build, build)
        self._take(now, build, touched)
        self._note(by, _told(before.build, build))
        return kept

    def undo(self, by: str) -> None:
        """Put back the state before the last change that was kept."""
        if self.path is None:
            return
        before = self.build
        undo(self.path)
        now = read_original(self.path)
        build = self._read(now)
        self._take(now, build, None)
        self._note(by, f"Put back. {_told(before, build)}")

    def _whole(self) -> None:
        """Refuse to write into a file that cannot be read as it is now."""
        if self.problems:
            raise BadInput(self.problems)
        self.checked  # noqa: B018  raises where nothing is open


def _touched(before: EngineBuild, after: EngineBuild) -> set[str] | None:
    """The attributes that may differ between two states of a file; None where all may."""
    same = (
        before.layout == after.layout
        and before.parts.keys() == after.parts.keys()
        and before.absent == after.absent
        and before.asked == after.asked
    )
    if not same:
        return None
    one, other = _meanings(before), _meanings(after)
    return {statement.attribute.name for key in one.keys() ^ other.keys()
            for statement in [(one | other)[key]]}  # fmt: skip


def _meanings(build: EngineBuild) -> dict[object, Statement]:
    return {meaning(one): one for one in build.statements()}


def _told(before: EngineBuild, after: EngineBuild) -> str:
    """What differs between two states of a build, in a few words."""
    one, other = _meanings(before), _meanings(after)
    new = [said for key, said in other.items() if key not in one]
    gone = [said for key, said in one.items() if key not in other]
    named = {(said.attribute.name, said.selector) for said in new}
    told = [f"{_figure(said)}: {_value(said)}" for said in new]
    told += [
        f"{_figure(said)}: {_value(said)} taken out"
        for said in gone
        if (said.attribute.name, said.selector) not in named
    ]
    told += [f"{slot}: none" for slot in after.absent - before.absent if slot in before.parts]
    if before.layout != after.layout:
        told.append(f"{after.layout.cylinders} cylinders")
    if (before.title, before.about) != (after.title, after.about):
        told.append(f"title {after.title}")
    more = f"; {len(told) - MOST_TOLD} more" if len(told) > MOST_TOLD else ""
    return f"{capital('; '.join(told[:MOST_TOLD]))}{more}." if told else "No figure differs."


def _figure(said: Statement) -> str:
    slot, _, name = said.attribute.name.partition(".")
    where = where_of(said)
    return f"{slot} {name.replace('_', ' ')}" + ("" if where == "all" else f", {where}")


def _value(said: Statement) -> str:
    value = written(said)
    return value if isinstance(value, str) else ", ".join(value)
