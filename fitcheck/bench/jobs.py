"""Longer work, each piece a process of its own: it never blocks the answer, and can be stopped.

What runs is a command of fitcheck as anybody types it. Its words and its page are shown here; what
a request says is one of a few choices and names of the folder's files, never a path or an option.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path

from fitcheck.bench.desk import Desk
from fitcheck.bench.kinds import KINDS, JobKind, arguments
from fitcheck.source import BadInput, Problem

MOST_RUNNING, MOST_KEPT = 2, 12
MOST_SHOWN = 400_000  # letters of an answer
GRACE = 3.0  # seconds to end by itself when stopped
FAULT = 2  # the exit code of bad input and of faults


@dataclass
class PieceOfWork:
    """A piece of work under way or done."""

    number: int
    kind: str
    asked: str
    folder: tempfile.TemporaryDirectory[str]
    process: subprocess.Popen[bytes]
    seconds: int
    version: int
    home: str
    started: float = field(default_factory=time.monotonic)
    ended: float = 0.0
    stopped: bool = False

    @property
    def title(self) -> str:
        """What it is."""
        return KINDS[self.kind].title

    @property
    def running(self) -> bool:
        """Whether it is under way."""
        if self.process.poll() is None:
            return True
        self.ended = self.ended or time.monotonic()
        return False

    @property
    def took(self) -> int:
        """The seconds since it began, or that it took."""
        return int((time.monotonic() if self.running else self.ended) - self.started)

    @property
    def state(self) -> str:
        """How it stands, in words."""
        if self.running:
            of = f" of at most {self.seconds} s" if self.seconds else ""
            return f"under way for {self.took} s{of}"
        if self.stopped:
            return f"stopped after {self.took} s"
        return (
            "not done, or not all of it"
            if self.process.returncode in (FAULT, None)
            else f"done in {self.took} s"
        )

    @property
    def progress(self) -> str:
        """The last that it said of itself."""
        lines = self._text("told").strip().splitlines()
        return lines[-1] if lines and self.running else ""

    @property
    def words(self) -> str:
        """What it answers, and what was wrong with what it was given."""
        found = [self._text("answer")]
        if self.process.returncode == FAULT:
            found.append(self._text("told"))
        lines = "\n".join(found).replace(self.home, "").strip().splitlines()
        return "\n".join(line for line in lines if self.folder.name not in line)

    @property
    def page(self) -> str:
        """The page that it made; empty where it made none."""
        return "" if self.running else self._text("page.html", 20 * MOST_SHOWN)

    def stop(self) -> None:
        """Stop it; nothing of it is kept."""
        if self.running:
            self.stopped = True
            self.process.terminate()
            with suppress(subprocess.TimeoutExpired):
                self.process.wait(GRACE)
                return
            self.process.kill()
            self.process.wait()

    def _text(self, name: str, most: int = MOST_SHOWN) -> str:
        try:
            with (Path(self.folder.name) / name).open(encoding="utf-8", errors="replace") as file:
                return file.read(most)
        except OSError:
            return ""


class Jobs:
    """All pieces of work of a bench; `options` are those that the bench was opened with."""

    def __init__(self, options: Sequence[str] = ()) -> None:
        self.options = list(options)
        self.jobs: dict[int, PieceOfWork] = {}
        self._numbers = count(1)

    def start(self, kind: str, said: dict[str, str], desk: Desk) -> PieceOfWork:
        """Start a piece of work; raises BadInput where it can't be."""
        if sum(job.running for job in self.jobs.values()) >= MOST_RUNNING:
            what = f"{MOST_RUNNING} pieces of work are under way"
            raise BadInput([Problem(what, None, "wait for one, or stop it")])
        if kind not in KINDS:
            raise BadInput([Problem("there is no such work", None, "choose one of the page")])
        work, path = KINDS[kind], desk.path
        desk.checked  # noqa: B018  raises where nothing is open
        assert path is not None
        options, alone = arguments(work, said, desk)
        folder = tempfile.TemporaryDirectory(prefix="fitcheck-bench-")
        line = [sys.executable, "-m", "fitcheck", *work.command, *self.options]
        if work.units:
            line.append(f"--units={desk.system}")
        if work.page:
            line.append(f"{work.page}={Path(folder.name) / 'page.html'}")
        line += [*options, "--"] + ([str(path.resolve())] if work.of_build else []) + alone
        told = [one.partition("=")[2] for one in options if one.startswith("--seconds=")]
        seconds = int(told[0]) if told else 0
        job = PieceOfWork(
            next(self._numbers), kind, _words(work, said), folder, _begun(line, folder.name),
            seconds, desk.version, f"{desk.folder.path}{os.sep}",
        )  # fmt: skip
        self.jobs[job.number] = job
        self._tidy()
        return job

    def find(self, number: str) -> PieceOfWork:
        """A piece of work by its number."""
        found = self.jobs.get(int(number)) if number.isascii() and number.isdigit() else None
        if found is None:
            raise BadInput([Problem("there is no such work any more", None, "start it again")])
        return found

    def close(self) -> None:
        """Stop all."""
        for job in self.jobs.values():
            job.stop()
            job.folder.cleanup()

    def _tidy(self) -> None:
        for number in [n for n, job in self.jobs.items() if not job.running][:-MOST_KEPT]:
            self.jobs.pop(number).folder.cleanup()


def _begun(line: list[str], folder: str) -> subprocess.Popen[bytes]:
    with (Path(folder) / "answer").open("wb") as out, (Path(folder) / "told").open("wb") as told:
        return subprocess.Popen(line, stdin=subprocess.DEVNULL, stdout=out, stderr=told)


def _words(work: JobKind, said: dict[str, str]) -> str:
    told = [" ".join(said.get(one, "").split()) for one in work.asks if one != "seconds"]
    return ", ".join(filter(None, told))
