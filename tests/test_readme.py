"""The two commands of README.md stand alone, and are what continuous integration runs."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

from fitcheck.cli.main import main

ROOT = Path(__file__).resolve().parent.parent
MAIN = (
    "python3 -m venv .venv && .venv/bin/pip install --quiet . && "
    ".venv/bin/fitcheck check catalog_demo/work_truck/build.yaml"
)
TESTS = (
    "python3 -m venv .venv && .venv/bin/pip install --quiet '.[test]' && "
    ".venv/bin/python -m pytest -n auto"
)


def _blocks() -> list[str]:
    """What stands in the fenced blocks."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    return [block.strip() for block in re.findall(r"^```\w*\n(.*?)^```$", text, re.M | re.S)]


def _ci_lines() -> list[str]:
    text = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    return [line.strip() for line in text.splitlines() if not line.strip().startswith("#")]


def test_each_command_stands_alone_in_a_block_of_its_own():
    blocks = _blocks()
    assert blocks.count(MAIN) == 1
    assert blocks.count(TESTS) == 1
    assert blocks.index(MAIN) < blocks.index(TESTS)


def test_continuous_integration_runs_what_the_commands_run():
    lines = _ci_lines()
    for command in (MAIN, TESTS):
        setup, install, last = command.split(" && ")
        assert any(line == last or line.startswith(f"{last} ||") for line in lines), last
        # One environment serves both; with the tests' packages it holds all that the main job needs.
        assert any(shlex.split(line)[:3] == shlex.split(setup)[:3] for line in lines if line)
        assert any(
            shlex.split(line)[:3] == shlex.split(install)[:3] and shlex.split(line)[-1] == ".[test]"
            for line in lines
            if line
        )


def test_what_the_commands_name_is_there():
    assert (ROOT / "catalog_demo/work_truck/build.yaml").is_file()
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    assert 'fitcheck = "fitcheck.__main__:main"' in project
    assert re.search(r"^test = \[", project, re.M)
    assert "pytest-xdist" in project


def test_every_python_of_the_project_is_one_that_readme_asks_for():
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    (least,) = re.findall(r'requires-python = ">=([\d.]+)"', project)
    assert f"Python {least}" in (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_printed_screen_is_what_the_program_prints(capsys):
    """Each line of it, in order; dots stand where lines are left out."""
    (screen,) = [block for block in _blocks() if block.startswith("Inline-six work truck")]
    main(["check", str(ROOT / "catalog_demo/work_truck/build.yaml")])
    told = iter(capsys.readouterr().out.splitlines())
    for line in screen.splitlines():
        if line.strip() not in ("", "…"):
            assert line in told, f"README.md prints '{line}', the program does not: print it anew"
