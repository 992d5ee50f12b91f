"""A build that says two things at once is not read as either."""

from __future__ import annotations

import pytest

from fitcheck.check import read_build
from fitcheck.knowledge import load_knowledge
from fitcheck.source import BadInput


def problems(text: str) -> str:
    with pytest.raises(BadInput) as caught:
        read_build("build.yaml", load_knowledge(), text)
    return str(caught.value)


def test_no_springs_and_springs_in_the_head() -> None:
    told = problems("""
build: b
cylinders: "4"
parts:
  spring: none
  head:
    contains:
      spring: {claimed: {installed_height: 1.700 in}}
""")
    assert "build.yaml:8:7: 'spring' is said to be none, and comes with the head" in told


def test_two_counts_of_cylinders() -> None:
    told = problems("""
build: b
cylinders: "4"
parts:
  engine: {measured: {cylinders: "6"}}
""")
    assert "build.yaml:5:34: the engine has 4 cylinders above and 6 here" in told
