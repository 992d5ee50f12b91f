"""Every calculation explains itself in the same order, with units, and its examples run."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil
import re

import pytest

import fitcheck.calculations
from fitcheck.calculations import CALCULATIONS

ALL = sorted(CALCULATIONS.values(), key=lambda calculation: calculation.name)
SECTIONS = ["Parameters", "Returns", "Notes", "Examples"]
MODULES = [
    importlib.import_module(f"fitcheck.calculations.{module.name}")
    for module in pkgutil.iter_modules(fitcheck.calculations.__path__)
]


def _sections(text: str) -> dict[str, str]:
    """The text under each underlined heading; what comes first is under ''."""
    parts = re.split(r"^(\w[\w ]*)\n-+\n", inspect.cleandoc(text), flags=re.MULTILINE)
    return dict(zip(["", *parts[1::2]], parts[::2], strict=True))


def _described(section: str) -> dict[str, str]:
    """Description by name, from `name : float` and the indented lines below."""
    found = re.findall(r"^(\w+) : float\n((?: +.+\n?)+)", section, flags=re.MULTILINE)
    return {name: " ".join(text.split()) for name, text in found}


def _unit(name: str) -> str:
    return f"[{name or 'number'}]"


@pytest.mark.parametrize("calculation", ALL, ids=lambda calculation: calculation.name)
def test_docstring_has_its_sections_and_units(calculation):
    text = calculation.function.__doc__
    assert text, "no docstring"
    sections = _sections(text)
    assert list(sections) == ["", *SECTIONS]
    summary = sections[""].strip()
    assert summary.split("\n")[0].endswith(".")
    described = _described(sections["Parameters"])
    signature = list(inspect.signature(calculation.function).parameters)
    assert list(described) == signature == [a.name for a in calculation.arguments]
    for argument in calculation.arguments:
        assert described[argument.name].endswith(", " + _unit(argument.unit.name)), argument.name
    (returned,) = _described(sections["Returns"]).values()
    assert returned.endswith(", " + _unit(calculation.gives.name))
    assert sections["Notes"].strip()
    assert ">>> " in sections["Examples"]


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__.rpartition(".")[2])
def test_examples_run(module):
    failed, tried = doctest.testmod(module)
    assert failed == 0
    shown = [c for c in ALL if c.function.__module__ == module.__name__]
    assert tried >= len(shown)


@pytest.mark.parametrize("calculation", ALL, ids=lambda calculation: calculation.name)
def test_declared_range_is_one(calculation):
    for argument in calculation.arguments:
        assert argument.low < argument.high, argument.name
