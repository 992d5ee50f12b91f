"""Manners of the command line: ends by the keyboard or a closed pipe, units, what is supposed."""

from __future__ import annotations

import argparse
import ast
import json
import os
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest

from fitcheck.cli import check as check_command
from fitcheck.cli import ending, main
from fitcheck.cli.common import settle_units
from fitcheck.cli.ending import STOPPED
from fitcheck.cli.main import COMMANDS
from fitcheck.source import rewrite
from fitcheck.source.rewrite import read_original
from tests.plan.long import LONG

ROOT = Path(__file__).resolve().parent.parent
HEAD = 'build: a try\ncylinders: "2"\nparts:\n  spring:\n    measured: {by: me, '


def test_the_keyboards_interrupt_ends_a_command_in_one_line(monkeypatch, capsys):
    def interrupted(options):
        raise KeyboardInterrupt

    monkeypatch.setattr(check_command, "checked", interrupted)
    assert main(["check", "any.yaml"]) == STOPPED
    told = capsys.readouterr()
    assert told.err.count("\n") == 1 and told.err.startswith("Stopped.")
    assert told.out == ""


INTERRUPTED = """
import sys
class Interrupt:
    def find_spec(self, name, path, target=None):
        if name == "fitcheck.cli.main":
            sys.meta_path.remove(self)
            raise KeyboardInterrupt
sys.meta_path.insert(0, Interrupt())
from fitcheck.__main__ import main
sys.exit(main())
"""


def test_so_does_one_that_comes_while_it_loads():
    done = subprocess.run(
        [sys.executable, "-c", INTERRUPTED], capture_output=True, text=True, check=False
    )
    said = Path(ending.__file__).read_text(encoding="utf-8")
    assert (done.returncode, done.stderr.count("\n")) == (STOPPED, 1)
    assert f'"{done.stderr.strip()}"' in said


@pytest.mark.parametrize("call", range(4))
def test_a_file_that_is_changed_when_interrupted_is_the_old_or_the_new(call, tmp_path, monkeypatch):
    """Interrupted at each of the steps that put a file in another's place."""
    path = tmp_path / "build.yaml"
    path.write_text("old", encoding="utf-8")
    original = read_original(path)
    calls = []
    steps = {"fsync": os.fsync, "replace": Path.replace}

    def stepping(name):
        def step(*arguments, **more):
            calls.append(name)
            if len(calls) == call + 1:
                raise KeyboardInterrupt
            return steps[name](*arguments, **more)

        return step

    monkeypatch.setattr(os, "fsync", stepping("fsync"))
    monkeypatch.setattr(Path, "replace", stepping("replace"))
    with suppress(KeyboardInterrupt):
        rewrite.rewrite(original, "new")
    assert path.read_text(encoding="utf-8") in ("old", "new")


def test_a_closed_pipe_ends_quietly():
    command = f"'{sys.executable}' -m fitcheck rules | head -1"
    told = subprocess.run(command, shell=True, cwd=ROOT, capture_output=True, text=True, check=True)
    assert told.stderr == "" and told.stdout.count("\n") == 1


def test_a_reader_that_has_gone_is_no_clash(monkeypatch):
    """Rich ends a program whose reader has gone with 1, which says here that something clashes."""
    source, sink = os.pipe()
    os.close(source)
    with os.fdopen(sink, "w") as out, monkeypatch.context() as patch:
        patch.setattr(sys, "stdout", out)
        code = main(["history", BUILD])
    assert code == 2


BUILD = str(ROOT / "catalog_demo/work_truck/build.yaml")


def in_a_shell(command):
    line = command.replace("fitcheck", f"'{sys.executable}' -m fitcheck")
    return subprocess.run(line, check=False, shell=True, cwd=ROOT, capture_output=True, text=True)


@pytest.mark.parametrize("command", ["rules", f"check {BUILD}", f"plan {BUILD} --help", "demo"])
@pytest.mark.parametrize(
    ("out", "told"),
    [(">/dev/full", "can't be written: no space left"), (">&-", "nowhere to go")],
)
def test_an_answer_that_cannot_be_written_is_none(command, out, told):
    """The exit code would else say that something clashes, or that all fits."""
    ended = in_a_shell(f"fitcheck {command} {out}")
    assert ended.returncode == 2 and told in ended.stderr and ended.stderr.count("\n") == 1


@pytest.mark.parametrize("where", ["2>/dev/full", pytest.param("2>&-", marks=LONG)])
def test_an_answer_stands_where_only_remarks_cannot_be_written(where):
    plain, deaf = (in_a_shell(f"fitcheck check {BUILD} {to}") for to in ("2>/dev/null", where))
    assert (deaf.returncode, deaf.stdout) == (plain.returncode, plain.stdout) == (1, plain.stdout)
    assert in_a_shell(f"fitcheck check none.yaml {where}").returncode == 2


def test_a_terminal_that_knows_no_dashes_gets_an_answer():
    told = in_a_shell(f"PYTHONIOENCODING=ascii fitcheck check {BUILD}")
    assert told.returncode == 1 and "WHAT CLASHES" in told.stdout and told.stderr == ""


@pytest.mark.parametrize(
    "fault", [KeyError("a\x1b[31m"), RecursionError("deep"), OSError(5, "x", "f")]
)
def test_a_fault_of_our_own_ends_with_2_and_what_to_report(fault, monkeypatch, capsys):
    """1 says that something clashes, and nothing else does."""

    def faulty(options):
        raise fault

    monkeypatch.setattr(check_command, "checked", faulty)
    assert main(["check", "mine\x1b.yaml"]) == 2
    told = capsys.readouterr()
    assert told.out == "" and "Traceback" not in told.err and "\x1b" not in told.err
    for what in (
        "a fault of fitcheck itself",
        "fitcheck check mine",
        type(fault).__name__,
        "faulty, ",
    ):
        assert what in told.err


def test_arguments_cannot_command_a_terminal(capsys):
    assert main(["check", "a", "--units", "\x1b[31m"]) == 2
    assert main(["check", "a", "b\x1b[31m"]) == 2
    assert main(["check", "a\x1b[31m"]) == 2
    assert "\x1b" not in capsys.readouterr().err


def test_names_of_files_cannot_command_a_terminal_either(tmp_path, monkeypatch, capsys):
    """A name may turn the direction of what is shown (U+202E); data keeps it, spelt out."""
    monkeypatch.chdir(tmp_path)
    name = "a\u202eb.yaml"
    Path(name).write_text(f"{HEAD}installed_height: 1.700 in}}\n", encoding="utf-8")
    assert main(["sheet", name, "--table", "s\u202e.csv"]) == 0
    assert main(["undo", name]) == 2
    told = capsys.readouterr()
    assert "\u202e" not in told.out + told.err and r"a\u202eb.yaml" in told.out
    main(["explain", name, "coil_bind", "--json"])
    text = capsys.readouterr().out
    place = json.loads(text)[0]["facts"]["spring.installed_height"]["place"]
    assert "\u202e" not in text and place.startswith(name)


def test_what_is_put_into_words_is_told_and_not_printed():
    """What stands in a text may be a name that somebody gave: `tell` spells it out."""
    printed = [
        call
        for path in Path(ending.__file__).parent.glob("*.py")
        for call in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "print"
    ]
    assert len(printed) > 5
    assert not [one for one in printed if any(isinstance(a, ast.JoinedStr) for a in one.args)]


def test_a_build_in_millimetres_is_shown_in_millimetres_unless_asked_otherwise(tmp_path, capsys):
    path = tmp_path / "build.yaml"
    path.write_text(f"{HEAD}installed_height: 43.00 mm, rate: 40 N/mm}}\n", encoding="utf-8")
    told = {}
    for asked in ([], ["--units", "metric"], ["--units", "inch"]):
        main(["check", str(path), "--all", *asked])
        told[tuple(asked)] = capsys.readouterr().out
    assert told[()] == told["--units", "metric"] != told["--units", "inch"]
    # A comparison of routes is shown as the builds that it names.
    routes = tmp_path / "routes.yaml"
    routes.write_text("routes: a try\nways:\n  - build: build.yaml\n", encoding="utf-8")
    asked = argparse.Namespace(units=None, routes=routes)
    settle_units(asked)
    assert asked.units == "metric"
    path.write_text(f"{HEAD}installed_height: 1.700 in, rate: 40 N/mm}}\n", encoding="utf-8")
    main(["check", str(path), "--all"])
    assert " in" in capsys.readouterr().out


def test_a_sheet_is_written_in_the_units_of_the_build(tmp_path):
    path = tmp_path / "build.yaml"
    path.write_text(f"{HEAD}outside_diameter: 36.00 mm}}\n", encoding="utf-8")
    assert main(["sheet", str(path), "--all", "--table", str(tmp_path / "s.csv")]) == 0
    rows = (tmp_path / "s.csv").read_text(encoding="utf-8-sig")
    assert ",mm," in rows and ",in," not in rows


def test_what_is_supposed_is_not_called_measured(tmp_path, capsys):
    path = tmp_path / "build.yaml"
    path.write_text(f"{HEAD}installed_height: 1.700 in}}\n", encoding="utf-8")
    supposing = ["--set", "spring.coil_bind_height=1.600 in"]
    main(["check", str(path), "--all", *supposing])
    assert "1 supposed" in capsys.readouterr().out
    main(["explain", str(path), "coil_bind", *supposing, "--json"])
    facts = json.loads(capsys.readouterr().out)[0]["facts"]
    assert facts["spring.coil_bind_height"]["evidence"] == "supposed"
    assert facts["spring.installed_height"]["evidence"] == "measured"


@pytest.mark.parametrize("shell", ["bash", "zsh", "tcsh"])
def test_a_shell_completes_each_command(shell, capsys):
    assert main(["completion", shell]) == 0
    script = capsys.readouterr().out
    assert all(command in script for command in COMMANDS)
