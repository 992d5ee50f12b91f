"""The slow part of the answer, worked out in a process of its own while the rest goes on.

What ordinary parts would do and what to ask first take several tenths of a second. The bench shows
what is certain at once, and this as soon as it is there.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import (
    BrokenExecutor,
    Executor,
    Future,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
)
from multiprocessing import get_context, parent_process
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING

from fitcheck.bench.fields import field_id
from fitcheck.check import check_build, read_build
from fitcheck.check.records.sheet import first_sheet
from fitcheck.quantity import System
from fitcheck.report.measure import ask_places, work
from fitcheck.report.phrases import capital
from fitcheck.report.story import Story
from fitcheck.source import frozen

if TYPE_CHECKING:
    from fitcheck.knowledge import Knowledge

_kept: list[Knowledge] = []
Load = Callable[[], "Knowledge"]


@frozen
class ShortLine:
    """One question of the job: how it stands, in a word and in words."""

    standing: str
    title: str
    words: str


@frozen
class AskFor:
    """A figure worth having."""

    name: str
    title: str
    work: str
    why: str
    settles: int


@frozen
class Slow:
    """The short answer, what to ask for, and the readings that decide most."""

    lines: tuple[ShortLine, ...]
    usual: str
    asks: tuple[AskFor, ...]
    cautions: tuple[tuple[str, str], ...]
    take: tuple[str, ...] = ()
    comes_out: tuple[tuple[str, str], ...] = ()


def worked_out(name: str, text: str, system: System) -> Slow:
    """The slow part for a build file's text; in the process where the knowledge was loaded."""
    knowledge = _kept[0]
    check = check_build(read_build(Path(name), knowledge, text), knowledge)
    story = Story(check, system)
    return Slow(
        tuple(ShortLine(one.standing, capital(one.title), capital(one.words))
              for one in story.answers),
        story.usual,
        tuple(
            AskFor(ask.attribute.name, capital(ask.title) + ask_places(check, ask), work(ask),
                   capital(ask.why), len(ask.rules))
            for ask in story.asks
        ),
        tuple((one.title, one.text) for one in story.cautions),
        tuple(
            field_id(item.attribute, line.selector)
            for item in first_sheet(check, ranked=story.asks).items
            for line in item.lines
        ),
        tuple((capital(one.title), one.words) for one in story.outcomes),
    )  # fmt: skip


def _start(load: Load) -> None:
    Thread(target=_end_with_the_bench, daemon=True).start()
    _kept[:] = [load()]
    if hasattr(os, "nice"):
        os.nice(5)  # it never takes the processor from an answer that is waited for


def _end_with_the_bench() -> None:
    """End this process when the bench has ended, however that came: nobody waits for it then."""
    bench = parent_process()
    if bench is not None:
        bench.join()
        os._exit(0)


class Aside:
    """Works the slow part out, the latest that is asked for; what nobody wants is left."""

    def __init__(self, load: Load, executor: Executor | None = None) -> None:
        self._load = load
        self._executor = executor
        self._last: tuple[str, System, Future[Slow]] | None = None
        self._latest: tuple[str, Slow] | None = None

    def ask(self, name: str, text: str, system: System) -> Future[Slow]:
        """The slow part for a text, as soon as it is there."""
        if self._last is not None and self._last[:2] == (text, system):
            found = self._last[2]
            if not found.cancelled() and not _died(found):
                return found
        if self._last is not None:
            self._last[2].cancel()
        found = self._submitted(name, text, system)
        found.add_done_callback(lambda done: self._keep(name, done))
        self._last = (text, system, found)
        return found

    def latest(self, name: str) -> Slow | None:
        """What was worked out last of a file, which may have changed since; None of another."""
        return self._latest[1] if self._latest and self._latest[0] == name else None

    def _keep(self, name: str, found: Future[Slow]) -> None:
        if not found.cancelled() and found.exception() is None:
            self._latest = (name, found.result())

    def _submitted(self, name: str, text: str, system: System) -> Future[Slow]:
        try:
            return self._pool().submit(worked_out, name, text, system)
        except BrokenExecutor:  # its process was ended from outside
            self._executor = None
            return self._pool().submit(worked_out, name, text, system)

    def _pool(self) -> Executor:
        if self._executor is None:
            self._executor = ProcessPoolExecutor(1, get_context("spawn"), _start, (self._load,))
        return self._executor

    def close(self) -> None:
        """End the process."""
        if self._executor is not None:
            self._executor.shutdown(wait=False, cancel_futures=True)


def _died(found: Future[Slow]) -> bool:
    """Whether the process ended before it answered; a fault would only come again."""
    return found.done() and isinstance(found.exception(), BrokenExecutor)


def in_this_process(knowledge: Knowledge) -> Aside:
    """An aside without a process of its own, for where one would not pay."""
    _kept[:] = [knowledge]
    return Aside(lambda: knowledge, ThreadPoolExecutor(1))
