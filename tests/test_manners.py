"""Manners of the command line: ends by the keyboard or a closed pipe, units, what is supposed."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest

from fitcheck.cli import check as check_command
from fitcheck.cli import main
from fitcheck.cli.main import COMMANDS, STOPPED
from fitcheck.source import rewrite
from fitcheck.source.rewrite import read_original

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


def test_a_build_in_millimetres_is_shown_in_millimetres_unless_asked_otherwise(tmp_path, capsys):
    path = tmp_path / "build.yaml"
    path.write_text(f"{HEAD}installed_height: 43.00 mm, rate: 40 N/mm}}\n", encoding="utf-8")
    told = {}
    for asked in ([], ["--units", "metric"], ["--units", "inch"]):
        main(["order", str(path), "retainer", *asked])
        told[tuple(asked)] = capsys.readouterr().out
    assert told[()] == told["--units", "metric"] != told["--units", "inch"]
    path.write_text(f"{HEAD}installed_height: 1.700 in, rate: 40 N/mm}}\n", encoding="utf-8")
    main(["order", str(path), "retainer"])
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
