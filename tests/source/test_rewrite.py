"""A file replaced as a whole: killed writes, faults at every step, two writers, undo."""

import errno
import fcntl
import os
import random
import signal
import stat
import time
from pathlib import Path

import pytest

from fitcheck.source import BadInput, writing
from fitcheck.source import rewrite as module
from fitcheck.source.rewrite import read_original, rewrite, undo

OLD = "build: old  # remark\n" + "# old\n" * 3000
NEW = "build: new  # remark\n" + "# new\n" * 4000
STEPS = [
    (os, "open"),
    (os, "fdopen"),
    (os, "fsync"),
    (writing.shutil, "copymode"),
    (Path, "replace"),
    (Path, "read_bytes"),
    (Path, "mkdir"),
]
# A share; CI kills two hundred.
KILLS = int(os.environ.get("FITCHECK_KILLED_WRITES", "30"))


@pytest.fixture
def build(tmp_path):
    path = tmp_path / "build.yaml"
    path.write_text(OLD, encoding="utf-8")
    return path


def _strays(path):
    return [
        found.name
        for folder in (path.parent, path.parent / "build.yaml.kept")
        if folder.is_dir()
        for found in folder.iterdir()
        if "unfinished" in found.name
    ]


@pytest.mark.parametrize(("owner", "name"), STEPS, ids=lambda one: getattr(one, "__name__", one))
@pytest.mark.parametrize("call", range(1, 5))
@pytest.mark.parametrize("late", [False, True], ids=["before it", "after it"])
def test_a_fault_at_any_step_leaves_the_old_state_or_the_new(
    build, monkeypatch, owner, name, call, late
):
    original = read_original(build)
    real, calls = getattr(owner, name), []

    def faulty(*arguments, **named):
        calls.append(name)
        if len(calls) == call:
            if late and name != "fdopen":
                real(*arguments, **named)
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(*arguments, **named)

    monkeypatch.setattr(owner, name, faulty)
    try:
        rewrite(original, NEW)
        refused = False
    except BadInput as error:
        refused = True
        assert "no space left" in str(error)
    monkeypatch.undo()
    text = build.read_text(encoding="utf-8")
    # A fault after the last step of all can't undo it; one before it must.
    assert text == (NEW if not refused else OLD) or (late and text == NEW)
    rewrite(read_original(build), OLD)
    assert build.read_text(encoding="utf-8") == OLD
    assert not _strays(build)


def _killed_while_writing(path, delay):
    """A writer that goes to and fro between two states, killed after a while."""
    child = os.fork()
    if child == 0:
        try:
            while True:
                original = read_original(path)
                rewrite(original, OLD if original.text == NEW else NEW)
        finally:
            os._exit(1)
    time.sleep(delay)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status)


@pytest.mark.in_ci
def test_killed_writes_leave_the_file_whole(build):
    start = time.perf_counter()
    rewrite(read_original(build), NEW)
    one_write = time.perf_counter() - start
    delays = random.Random(4)
    states, unfinished = [], 0
    for _ in range(KILLS):
        _killed_while_writing(build, delays.uniform(0, min(4 * one_write, 0.06)))
        states.append(build.read_text(encoding="utf-8"))
        assert states[-1] in (OLD, NEW)
        unfinished += bool(_strays(build))
    for kept in (build.parent / "build.yaml.kept").glob("0*.yaml"):
        assert kept.read_text(encoding="utf-8") in (OLD, NEW)
    assert unfinished or len(set(states)) == 2, "no writer was hit while it wrote"
    rewrite(read_original(build), "build: last\n")  # the dead hold no lock
    assert build.read_text(encoding="utf-8") == "build: last\n"
    assert not _strays(build)


@pytest.mark.parametrize("step", range(1, 40))
def test_a_writer_that_dies_between_any_two_calls_leaves_the_file_whole(build, step):
    child = os.fork()
    if child == 0:
        try:
            _die_at(step)
            rewrite(read_original(build), NEW)
        finally:
            os._exit(0)
    os.waitpid(child, 0)
    assert build.read_text(encoding="utf-8") in (OLD, NEW)
    if build.read_text(encoding="utf-8") == NEW:
        undo(build)
        assert build.read_text(encoding="utf-8") == OLD
    else:
        rewrite(read_original(build), NEW)
        assert build.read_text(encoding="utf-8") == NEW


def _die_at(step):
    """In a child: end at the so-manieth call of any step, writing half where it writes."""
    count = [0]

    def dying(owner, name):
        real = getattr(owner, name)

        def call(*arguments, **named):
            count[0] += 1
            if count[0] == step:
                os._exit(0)
            result = real(*arguments, **named)
            count[0] += 1
            if count[0] == step:
                if name == "fdopen":
                    result.write(NEW[: len(NEW) // 2].encode())
                    result.flush()
                os._exit(0)
            return result

        setattr(owner, name, call)

    for owner, name in STEPS:
        dying(owner, name)


def test_two_writers_at_once_lose_nothing(build):
    children = []
    for writer in range(2):
        child = os.fork()
        if child == 0:
            code = 1
            try:
                for number in range(25):
                    _append(build, f"writer {writer} line {number}\n")
                code = 0
            finally:
                os._exit(code)
        children.append(child)
    for child in children:
        assert os.waitpid(child, 0)[1] == 0
    lines = build.read_text(encoding="utf-8").splitlines()
    for writer in range(2):
        mine = [line for line in lines if line.startswith(f"writer {writer}")]
        assert mine == [f"writer {writer} line {number}" for number in range(25)]


def _append(path, line):
    while True:
        original = read_original(path)
        try:
            rewrite(original, original.text + line)
            return
        except BadInput as error:
            assert "has changed since it was read" in str(error)


def test_a_file_that_was_edited_meanwhile_is_left_alone(build):
    original = read_original(build)
    build.write_text("build: edited\n", encoding="utf-8")
    with pytest.raises(BadInput, match="has changed since it was read; nothing was done"):
        rewrite(original, NEW)
    assert build.read_text(encoding="utf-8") == "build: edited\n"


def test_who_finds_another_writer_at_it_is_told(build, monkeypatch):
    rewrite(read_original(build), NEW)
    monkeypatch.setattr(module, "PATIENCE", 0.05)
    with (build.parent / "build.yaml.kept" / "lock").open("rb") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        with pytest.raises(BadInput, match="somebody else is writing this file"):
            rewrite(read_original(build), OLD)
    assert build.read_text(encoding="utf-8") == NEW


def test_states_come_back_one_by_one_and_what_is_undone_is_kept(build):
    for text in ("one\n", "two\n", "three\n"):
        rewrite(read_original(build), text)
    for back, undone in (("two\n", "three\n"), ("one\n", "two\n"), (OLD, "one\n")):
        _, kept = undo(build)
        assert build.read_text(encoding="utf-8") == back
        assert kept.read_text(encoding="utf-8") == undone
    with pytest.raises(BadInput, match="no older state"):
        undo(build)


def test_nothing_to_undo_makes_no_folder(build):
    with pytest.raises(BadInput, match="no older state"):
        undo(build)
    assert [path.name for path in build.parent.iterdir()] == ["build.yaml"]


def test_byte_order_mark_line_ends_rights_and_links_stay(tmp_path):
    real, link = tmp_path / "real.yaml", tmp_path / "link.yaml"
    real.write_bytes(b"\xef\xbb\xbfa: 1\r\nb: 2\r\n")
    real.chmod(0o640)
    link.symlink_to(real)
    original = read_original(link)
    rewrite(original, original.text + "c: 3\r\n")
    assert link.is_symlink()
    assert real.read_bytes() == b"\xef\xbb\xbfa: 1\r\nb: 2\r\nc: 3\r\n"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640


def test_a_folder_that_can_not_be_written_is_told(build, monkeypatch):
    def refused(*_arguments, **_named):
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(os, "fdopen", refused)
    with pytest.raises(BadInput, match="can't be written: permission denied"):
        rewrite(read_original(build), NEW)
    assert build.read_text(encoding="utf-8") == OLD


@pytest.mark.parametrize("what", ["read-only", "hard link"])
def test_a_build_that_is_read_only_or_has_a_second_name_is_left_alone(build, what):
    """Putting another file in its place would take no notice of either."""
    if what == "read-only":
        build.chmod(0o444)
    else:
        (build.parent / "other.yaml").hardlink_to(build)
    with pytest.raises(BadInput, match=what):
        rewrite(read_original(build), NEW)
    assert build.read_text(encoding="utf-8") == OLD
    assert not (build.parent / "build.yaml.kept").exists()
