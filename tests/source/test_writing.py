"""The one way a file is written: whole or not at all, never over what was not made here."""

from __future__ import annotations

import ast
import errno
import os
import stat
import subprocess
import sys
import threading
from pathlib import Path

import pytest

import fitcheck
from fitcheck.source import BadInput
from fitcheck.source.table import table_text, unguarded
from fitcheck.source.writing import MADE_HERE, check_new, free_name, write_all, write_whole
from tests.plan.long import LONG

PACKAGE = Path(fitcheck.__file__).parent
OLD = "mine: typed by hand\n"


@pytest.fixture
def old(tmp_path):
    path = tmp_path / "old.csv"
    path.write_text(OLD, encoding="utf-8")
    return path


def test_a_new_file_has_the_rights_that_the_users_mask_gives(tmp_path):
    mask = os.umask(0o027)
    try:
        write_whole(tmp_path / "a.csv", "text")
    finally:
        os.umask(mask)
    assert stat.S_IMODE((tmp_path / "a.csv").stat().st_mode) == 0o640
    assert [path.name for path in tmp_path.iterdir()] == ["a.csv"]


def test_what_is_there_is_written_over_only_where_somebody_insists(old):
    for refusing in (lambda: write_whole(old, "new"), lambda: check_new(old)):
        with pytest.raises(BadInput, match="there already") as refused:
            refusing()
        assert "--force" in str(refused.value) and "old.csv" in str(refused.value)
    assert old.read_text(encoding="utf-8") == OLD
    old.chmod(0o640)
    write_whole(old, "new", force=True)
    assert old.read_text(encoding="utf-8") == "new"
    assert stat.S_IMODE(old.stat().st_mode) == 0o640


@pytest.mark.parametrize("mark", MADE_HERE)
def test_what_says_that_it_was_made_here_is_made_anew(old, mark):
    old.write_bytes(b"<html>" + mark)
    write_whole(old, "new")
    assert old.read_text(encoding="utf-8") == "new"


@pytest.mark.parametrize("step", ["write", "fsync", "replace", "close"])
def test_a_full_disk_leaves_the_old_file_and_nothing_beside_it(old, monkeypatch, step):
    def full(*_arguments, **_named):
        raise OSError(errno.ENOSPC, "No space left on device")

    class FullFile:
        def __init__(self, file):
            self.file = file

        def __enter__(self):
            return self

        def __exit__(self, *_):
            self.file.close()
            if step == "close":
                full()

        def __getattr__(self, name):
            return full if name == step else getattr(self.file, name)

    real = os.fdopen
    if step == "fsync":
        monkeypatch.setattr(os, "fsync", full)
    elif step == "replace":
        monkeypatch.setattr(Path, "replace", full)
    else:
        monkeypatch.setattr(os, "fdopen", lambda *given, **named: FullFile(real(*given, **named)))
    with pytest.raises(BadInput, match="no space left on device"):
        write_whole(old, "new", force=True)
    if step != "replace":
        with pytest.raises(BadInput, match="no space left on device"):
            write_whole(old.with_name("new.csv"), "new")
    assert [path.name for path in old.parent.iterdir()] == ["old.csv"]
    assert old.read_text(encoding="utf-8") == OLD


def test_files_that_belong_together_are_there_all_or_none(old, monkeypatch):
    folder, real, calls = old.parent, os.fsync, []

    def full_at_the_second(handle):
        calls.append(handle)
        if len(calls) == 2:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(handle)

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full_at_the_second)
        with pytest.raises(BadInput, match=r"b\.csv.*no space left"):
            write_all({folder / "a.csv": "a", folder / "b.csv": "b"})
    with pytest.raises(BadInput, match=r"old\.csv.*there already"):
        write_all({folder / "a.csv": "a", old: "new"})
    assert [path.name for path in folder.iterdir()] == ["old.csv"]
    write_all({folder / "a.csv": "a", old: "new"}, force=True)
    assert [path.read_text("utf-8") for path in sorted(folder.iterdir())] == ["a", "new"]


def test_a_read_only_file_is_left_alone_even_by_those_who_could(old):
    old.chmod(0o444)
    with pytest.raises(BadInput, match="read-only"):
        write_whole(old, "new", force=True)
    assert old.read_text(encoding="utf-8") == OLD


def test_a_file_with_a_second_name_is_not_parted_from_it(old):
    other = old.with_name("other.csv")
    other.hardlink_to(old)
    with pytest.raises(BadInput, match="hard link"):
        write_whole(old, "new", force=True)
    assert other.samefile(old) and old.read_text(encoding="utf-8") == OLD


def test_a_link_stays_one_and_the_file_behind_it_is_written(old, tmp_path):
    link, circle = tmp_path / "link.csv", tmp_path / "circle.csv"
    link.symlink_to(old)
    write_whole(link, "new", force=True)
    assert link.is_symlink() and old.read_text(encoding="utf-8") == "new"
    circle.symlink_to(circle)
    with pytest.raises(BadInput, match=r"circle\.csv"):
        write_whole(circle, "new")


def test_a_pipe_or_device_gets_the_text_and_stays_what_it_is(tmp_path):
    pipe, got = tmp_path / "pipe.csv", []
    os.mkfifo(pipe)
    reader = threading.Thread(target=lambda: got.append(pipe.read_text(encoding="utf-8")))
    reader.start()
    write_whole(pipe, "text")
    reader.join(5)
    assert got == ["text"] and stat.S_ISFIFO(pipe.stat().st_mode)
    with pytest.raises(BadInput, match="no space left on device"):
        write_whole(Path("/dev/full"), "text")


def test_a_file_that_came_meanwhile_is_not_written_over(tmp_path, monkeypatch):
    path, real = tmp_path / "a.csv", os.fsync

    def somebody_else(handle):
        path.write_text(OLD, encoding="utf-8")
        real(handle)

    monkeypatch.setattr(os, "fsync", somebody_else)
    with pytest.raises(BadInput, match="there already"):
        write_whole(path, "new")
    assert [one.name for one in tmp_path.iterdir()] == ["a.csv"]
    assert path.read_text(encoding="utf-8") == OLD


@pytest.mark.parametrize("name", ["none/a.csv", "x" * 300 + ".csv", "nul\0.csv", "."])
def test_a_name_that_cannot_be_is_told(tmp_path, name):
    with pytest.raises(BadInput, match="can't be written"):
        write_whole(tmp_path / name, "text")


def test_a_long_name_that_can_be_is_written(tmp_path):
    write_whole(tmp_path / ("x" * 250 + ".csv"), "text")
    assert [len(path.name) for path in tmp_path.iterdir()] == [254]


def test_a_free_name_is_the_first_with_nothing_else_in_it(old):
    assert free_name(old, OLD.encode()) == old
    second = free_name(old, b"other")
    assert second.name == "old.2.csv"
    second.write_bytes(b"other")
    assert free_name(old, b"other") == second
    assert free_name(old, b"third").name == "old.3.csv"


def test_no_cell_that_is_written_is_taken_for_a_formula():
    """What spreadsheets take for formulas: OWASP, "CSV Injection"."""
    cells = [
        "=1+1",
        "+A1",
        "-A1",
        "@SUM(A1)",
        "\t=A1",
        "\r=A1",
        "\n=A1",
        "＝A1",
        "-0.5",
        "+12",
        "x=1",
    ]
    text = table_text([[cell, "1,720"] for cell in cells])
    import csv
    import io

    kept = [row[0] for row in csv.reader(io.StringIO(text, newline=""))]
    assert [cell for cell in kept if cell[0] in "=+-@\t\r\n＝"] == ["-0.5", "+12"]
    assert [unguarded(cell) for cell in kept] == cells


# What may open a file to write it, and why.
MAY_WRITE = {
    "source/writing.py": "the one way",
    "source/rewrite.py": "the lock beside a build file",
    "cli/ending.py": "where text goes that nobody reads any more",
    "bench/jobs.py": "what a command says while it runs, in a folder that goes with it",
}


def test_all_that_is_written_goes_this_way():
    """No other module opens a file to write it, or renames or removes one."""
    found = set()
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and _writes(node):
                found.add(str(path.relative_to(PACKAGE)))
    assert found <= MAY_WRITE.keys()


def _writes(call: ast.Call) -> bool:
    name = getattr(call.func, "attr", getattr(call.func, "id", ""))
    if name in ("write_text", "write_bytes", "NamedTemporaryFile", "mkstemp", "touch", "fdopen"):
        return True
    texts = [one.value for one in [*call.args, *(k.value for k in call.keywords)]
             if isinstance(one, ast.Constant)]  # fmt: skip
    modes = [
        text for text in texts if isinstance(text, str) and set(text) <= set("rwxab+t") and text
    ]
    return name == "open" and any(set(mode) & set("wxa+") for mode in modes)


@LONG
def test_a_command_writes_over_a_page_of_its_own_and_over_nothing_else(tmp_path):
    build, page, table = tmp_path / "b.yaml", tmp_path / "p.html", tmp_path / "t.csv"
    build.write_text('build: a try\ncylinders: "2"\nparts: {}\n', encoding="utf-8")

    def run(*arguments):
        command = [sys.executable, "-m", "fitcheck", *map(str, arguments)]
        return subprocess.run(
            command, check=False, capture_output=True, text=True, cwd=PACKAGE.parent
        )

    for _ in range(2):
        assert run("page", build, "-o", page).returncode == 3
    page.write_text("<html>not made by fitcheck</html>", encoding="utf-8")
    told = run("page", build, "-o", page)
    assert told.returncode == 2 and "p.html:1:1" in told.stderr and "--force" in told.stderr
    assert run("page", build, "-o", page, "--force").returncode == 3
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    told = run("plan", build, "--csv", build)
    assert told.returncode == 2 and "there already" in told.stderr
    assert run("sheet", build, "--all", "--table", table).returncode == 0
    assert run("sheet", build, "--table", table).returncode == 2
    assert run("sheet", build, "--table", table, "--force").returncode == 0
