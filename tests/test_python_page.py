"""The page on Python says what happens: its lines are run, its signatures are those there are."""

from __future__ import annotations

import doctest
import inspect
import re
from pathlib import Path

import fitcheck

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "fitcheck" / "face" / "PYTHON.md"


def test_the_page_runs(monkeypatch):
    monkeypatch.chdir(ROOT)
    failed, tried = doctest.testfile(
        str(PAGE), module_relative=False, optionflags=doctest.ELLIPSIS, encoding="utf-8"
    )
    assert (failed, tried > 12) == (0, True)


def test_it_names_the_whole_face_with_its_arguments():
    text = PAGE.read_text(encoding="utf-8")
    for name in sorted(set(dir(fitcheck)) - {"__version__", "BadInput"}):
        told = re.search(rf"`(?:fitcheck\.)?{name}\(([^)]*)\)", text)
        assert told, name
        named = {one.partition("=")[0].strip(" *") for one in told[1].split(",")} - {""}
        assert named == set(inspect.signature(getattr(fitcheck, name)).parameters), name
