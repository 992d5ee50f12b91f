"""The examples in docstrings run, in every module."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import fitcheck

MODULES = [
    module.name
    for module in pkgutil.walk_packages(fitcheck.__path__, "fitcheck.")
    if not module.name.endswith("__main__")
]


@pytest.mark.parametrize("name", ["fitcheck", *MODULES])
def test_examples_run(name):
    module = importlib.import_module(name)
    failed, _ = doctest.testmod(module)
    assert failed == 0


def test_there_are_examples():
    finder = doctest.DocTestFinder(exclude_empty=True)
    count = sum(
        len(test.examples)
        for name in MODULES
        for test in finder.find(importlib.import_module(name))
    )
    assert count > 50
