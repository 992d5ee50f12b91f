"""Readings while the bench is killed again and again: none that was confirmed is lost.

FITCHECK_KILLS says how often; a few are in every run. Each time a process that serves the bench
takes readings, tells which are confirmed, and is killed at any moment (SIGKILL).
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import fitcheck
from fitcheck.check import read_build
from fitcheck.model import Evidence
from tests.bench.conftest import Sitting
from tests.bench.test_beside import Ready
from tests.plan.long import LONG
from tests.record.builds import BUILD

KILLS = int(os.environ.get("FITCHECK_KILLS", "2"))
LONGEST = 0.12  # seconds from a confirmed reading to the kill: two or three readings more


def _serve(folder, knowledge, confirmed: int, start: int) -> None:
    """In a process of its own: readings one after the other, each told once it is confirmed."""
    sitting = Sitting(folder, knowledge, (folder / "build.yaml").read_text(), Ready())
    for number in range(start, start + 1000):
        key = f"spring.installed_height@{number % 4 + 1} {('intake', 'exhaust')[number // 4 % 2]}"
        answer = sitting.script(
            "/beside/reading", key=key, value=f"1.{700 + number % 90}", by=f"round {number}",
            when="2026-03-09",
        )  # fmt: skip
        if answer.status_code == 200:
            os.write(confirmed, f"{number}\n".encode())


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork here")
def test_no_confirmed_reading_is_lost_when_the_bench_is_killed(tmp_path, knowledge):
    random.seed(16)
    path = tmp_path / "build.yaml"
    path.write_text(BUILD)
    # What is compiled and imported at first use: here, once for all.
    first = Sitting(tmp_path, knowledge, BUILD, Ready())
    first.script("/beside/reading", key="spring.installed_height@1 intake", value="1.700")
    path.write_text(BUILD)
    confirmed: list[int] = []
    for _ in range(KILLS):
        if len(confirmed) % 50 > 40:  # a file that stays as small as real ones are
            path.write_text(BUILD)
            confirmed.clear()
        came, told = os.pipe()
        child = os.fork()
        if not child:
            try:
                _serve(tmp_path, knowledge, told, confirmed[-1] + 1 if confirmed else 1)
            finally:
                os._exit(0)
        os.close(told)
        with os.fdopen(came, "rb") as told_of:
            early = [int(told_of.readline()) for _ in range(random.randint(1, 3))]
            time.sleep(random.uniform(0, LONGEST))
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            confirmed += early + [int(line) for line in told_of.read().split()]
        build = read_build(path, knowledge)  # the file is whole
        names = {one.origin.by for one in build.statements() if one.evidence is Evidence.MEASURED}
        lost = [number for number in confirmed if f"round {number}" not in names]
        assert lost == []
        assert (
            path.read_text().startswith("# An invented build") and "# the end" in path.read_text()
        )
    Sitting(tmp_path, knowledge, path.read_text()).type("spring.free_length", "2.1 in")
    assert not list(tmp_path.glob(".*.unfinished")), "what a killed writer left is swept up"


STARTED = """
import os, time
from fitcheck.bench.aside import Aside
if __name__ == "__main__":
    aside = Aside(dict)
    print(aside._pool().submit(os.getpid).result(), flush=True)
    time.sleep(600)
"""


@LONG
@pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks for processes in /proc")
def test_what_is_worked_out_aside_ends_with_a_bench_that_is_killed(tmp_path):
    script = tmp_path / "started.py"
    script.write_text(STARTED)
    own = {**os.environ, "PYTHONPATH": str(Path(fitcheck.__file__).parents[1])}
    command = [sys.executable, str(script)]
    bench = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=own)
    number = bench.stdout.readline().strip()
    assert number.isdecimal()
    aside = Path("/proc") / number
    bench.kill()
    bench.wait()
    until = time.monotonic() + 30
    while aside.is_dir() and time.monotonic() < until:
        time.sleep(0.05)
    assert not aside.is_dir(), "it waits for nobody"
