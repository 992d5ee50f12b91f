"""Spark as the engine of shares: it hands them out and brings the answers together.

Each worker screens a share as one machine does, so that Spark has no query to plan, whatever the
number of rules and columns. The workers need fitcheck with its extra `catalog`, and the folder by
the same path. What Spark logs goes to a file, which is named where it fails.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from shutil import which
from tempfile import TemporaryFile
from threading import Event, Thread
from time import monotonic
from typing import Any

from fitcheck.screen.screening import Progress
from fitcheck.screen.shares import Engine, FileShare, ShareJob, Work
from fitcheck.source import BadInput, Problem

_JAVA = "install Java 17 (its package openjdk-17-jre-headless), or set JAVA_HOME to where it is"
_SECONDS = 10.0
_QUIET = {"spark.ui.enabled": "false", "spark.ui.showConsoleProgress": "false"}
# On this machine alone: it ends with the command, so less is compiled, and no network is asked.
_LOCAL = {
    "spark.driver.extraJavaOptions": "-XX:TieredStopAtLevel=1",
    "spark.driver.bindAddress": "127.0.0.1",
    "spark.driver.host": "127.0.0.1",
    "spark.executorEnv.PYTHONPATH": str(Path(__file__).resolve().parents[2]),
}


@contextmanager
def spark(
    master: str, settings: Mapping[str, str], progress: Progress = lambda _: None
) -> Iterator[Engine]:
    """The engine, for as long as it is needed; raises BadInput where it can't be."""
    try:
        from pyspark import SparkConf, SparkContext  # noqa: PLC0415  an extra of 450 MB
    except ImportError:
        mend = "pip install 'fitcheck[spark]', and have Java 17 on PATH"
        raise BadInput(
            [Problem("the engine spark needs the package pyspark", None, mend)]
        ) from None
    _see_java()
    local = master.startswith("local")
    if local:  # workers beside this process have its packages
        os.environ.setdefault("PYSPARK_PYTHON", sys.executable)
    own = {**_QUIET, **(_LOCAL if local else {}), "spark.master": master, **settings}
    with TemporaryFile() as log:
        try:
            with _errors_to(log):
                context = SparkContext(
                    conf=SparkConf().setAppName("fitcheck").setAll([*own.items()])
                )
        except Exception as error:  # whatever a wrong master or setting makes of its start
            mend = "check --master and each --spark; Spark wants Java 17 or later"
            raise _failed("Spark can't be started", error, log, mend) from None
        try:
            yield _engine(context, progress)
        except Exception as error:
            if type(error).__module__.partition(".")[0] not in ("py4j", "pyspark"):
                raise
            mend = (
                "see that --master runs and can be reached, and that each worker has "
                "fitcheck[catalog] and finds the folder by the same path"
            )
            raise _failed("Spark failed", error, log, mend) from None
        finally:
            context.stop()


def _see_java() -> None:
    home = os.environ.get("JAVA_HOME")
    if which(str(Path(home, "bin", "java")) if home else "java") is None:
        where = f"in JAVA_HOME ({home})" if home else "on PATH"
        raise BadInput([Problem(f"Spark needs Java, and there is none {where}", None, _JAVA)])


def _engine(context: Any, progress: Progress) -> Engine:
    def engine(job: ShareJob, work: Work, shares: Sequence[FileShare]) -> Any:
        told = context.broadcast(job)
        progress(f"shares to screen: {len(shares):,}; Spark {context.version}, {context.master}")
        some = context.parallelize(shares, max(len(shares), 1))
        pairs = some.flatMap(lambda share: work(told.value, share))
        return _Watched(pairs.reduceByKey(lambda one, other: one.with_(other)), context, progress)

    return engine


class _Watched:
    """Answers on the engine; while it works, what is done is told now and then."""

    def __init__(self, answers: Any, context: Any, progress: Progress) -> None:
        self._answers, self._context, self._progress = answers, context, progress

    def filter(self, of: Any) -> _Watched:
        """Some of them."""
        return _Watched(self._answers.filter(of), self._context, self._progress)

    def collect(self) -> list[Any]:
        """All of them, here."""
        with self._told():
            found: list[Any] = self._answers.collect()
        return found

    def first(self, most: int, key: Any) -> list[Any]:
        """The first of them by a key, here."""
        with self._told():
            found: list[Any] = self._answers.takeOrdered(most, key)
        return found

    @contextmanager
    def _told(self) -> Iterator[None]:
        done = Event()

        def tell() -> None:
            tracker, start, last = self._context.statusTracker(), monotonic(), 0
            while not done.wait(_SECONDS):
                for stage in map(tracker.getStageInfo, tracker.getActiveStageIds()):
                    if stage is None or stage.numCompletedTasks <= last:
                        continue
                    last, all_ = stage.numCompletedTasks, stage.numTasks
                    left = (monotonic() - start) * (all_ - last) / last
                    self._progress(f"{last:,} of {all_:,} shares, {left:,.0f} s left")

        watch = Thread(target=tell, daemon=True)
        watch.start()
        try:
            yield
        finally:
            done.set()
            watch.join()


@contextmanager
def _errors_to(log: Any) -> Iterator[None]:
    """What processes started meanwhile write as errors goes to a file."""
    sys.stderr.flush()
    kept = os.dup(2)
    os.dup2(log.fileno(), 2)
    try:
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)


# A cause as Java or Python names it, and what is no cause.
_CAUSE = re.compile(
    r"(?:.* )?(?:[\w.]*\w(?:Error|Exception)|Reason): *"
    r"(?!.*Traceback|.*stopped SparkContext|Job aborted)(\S.*)"
)
_NO_CAUSE = re.compile(
    r"\s*$|WARNING|Using Spark's|[\d/]+ [\d:]+ WARN|\s+at |To adjust|Setting |An error occ"
)


def _failed(what: str, error: Exception, log: Any, mend: str) -> BadInput:
    """The one line that tells most, of hundreds: the last cause that the error or the log names."""
    log.seek(0)
    logged = log.read().decode(errors="replace").splitlines()
    own = str(error).splitlines() or [type(error).__name__]
    causes = [[c[1] for line in some if (c := _CAUSE.fullmatch(line))] for some in (own, logged)]
    first = (*logged, *own) if "JAVA_GATEWAY" in own[0] else own
    plain = [line for line in first if not _NO_CAUSE.match(line)]
    cause = next((some[-1] for some in causes if some), plain[0] if plain else "no reason told")
    return BadInput([Problem(f"{what}: {cause.strip()[:300]}", None, mend)])
