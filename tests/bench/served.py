"""A bench as somebody starts it: a process of its own, and a browser before it."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

WANTED = pytest.mark.skipif(
    not os.environ.get("FITCHECK_BROWSER"), reason="whole jobs in a browser: FITCHECK_BROWSER=1"
)
BROWSER = next(
    filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), ""
)
PATIENCE = 120.0  # seconds until a bench is there, knowledge read anew


class Served:
    """A bench that serves a file."""

    def __init__(self, path: Path, *options: str) -> None:
        line = [sys.executable, "-m", "fitcheck", "bench", str(path), "--no-browser", "--port=0"]
        self.path = path
        # A test run that a shell put in the background ignores the keyboard's interrupt, and so
        # would the bench.
        before = signal.signal(signal.SIGINT, signal.default_int_handler)
        self.process = subprocess.Popen([*line, *options], stdout=subprocess.PIPE, text=True)
        signal.signal(signal.SIGINT, before)
        assert self.process.stdout is not None
        told = self.process.stdout.readline()
        self.way_in = re.search(r"http\S+", told)[0]
        self.home = self.way_in.partition("/enter")[0]

    @property
    def text(self) -> str:
        """What the file says now."""
        return self.path.read_text(encoding="utf-8")

    def until(self, told: str) -> None:
        """Wait until the file says something."""
        late = time.monotonic() + 30
        while told not in self.text:
            assert time.monotonic() < late, f"{told!r} is not in the file"
            time.sleep(0.05)

    def shut(self) -> int:
        """Shut it as its owner does; the exit code."""
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(20)


@contextmanager
def served(path: Path, *options: str) -> Iterator[Served]:
    """A bench, shut at the end."""
    made = Served(path, *options)
    try:
        yield made
    finally:
        if made.process.poll() is None:
            made.process.kill()
            made.process.wait()


@contextmanager
def browser() -> Iterator[object]:
    """A browser without a window."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        try:
            yield made
        finally:
            made.close()
