"""Knowledge kept between runs is the same knowledge, and is never kept past its time."""

from __future__ import annotations

import errno
import os
import pickle
import random

import pytest

from fitcheck.check import check_build, read_build
from fitcheck.check.proofs.mutants import survivors
from fitcheck.knowledge import Knowledge, cache, load_knowledge
from fitcheck.knowledge.load import load_anew
from fitcheck.report.data import check_data, finding_data
from tests.knowledge.small import changed, written

BUILD = """\
build: a try
cylinders: "2"
parts:
  spring:
    measured: {installed_height: {intake: 1.700 in, exhaust: 1.690 in}, solid_height: 1.245 in}
    claimed: {shape: straight, rate: 280 lbf/in}
  cam: {claimed: {lobe_lift: 0.400 in, lobe_type: roller}}
"""


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cache" / "fitcheck"


@pytest.fixture
def root(tmp_path, home):
    return written(tmp_path / "rules")


@pytest.fixture
def loads(monkeypatch):
    """How often rules were read from their files."""
    counted = []

    def counting(*roots):
        counted.append(roots)
        return load_anew(*roots)

    monkeypatch.setattr("fitcheck.knowledge.load.load_anew", counting)
    return counted


def _kept_file(home):
    (path,) = home.iterdir()
    return path


def _data(knowledge: Knowledge) -> object:
    return check_data(check_build(read_build("try.yaml", knowledge, BUILD), knowledge), "inch")


def test_what_is_kept_gives_the_same_findings(root, loads):
    fresh, kept = load_knowledge(root), load_knowledge(root)
    assert len(loads) == 1
    assert kept is not fresh
    data = _data(fresh)
    assert _data(kept) == data
    assert {finding["verdict"] for finding in data["findings"]} == {"conflict"}
    assert kept.digest == fresh.digest


def test_the_projects_own_rules_are_kept_whole(knowledge, monkeypatch):
    text = (cache.default_rules().parent / "catalog_demo/work_truck/build.yaml").read_text("utf-8")
    kept = pickle.loads(cache.whole(knowledge))
    told = []
    for known in (knowledge, kept):
        check = check_build(read_build("truck.yaml", known, text), known)
        told.append(
            (
                [(one.rule.id, one.verdict, one.positions) for one in check.all_findings],
                [finding_data(check, one, "inch") for one in check.conflicts],
            )
        )
    assert told[0] == told[1]
    assert len(told[0][0]) > 100 and told[0][1]


def test_kept_rules_can_still_be_changed(root):
    load_knowledge(root)
    kept = load_knowledge(root)
    only = kept.with_rules({"coil_bind": kept.rules["coil_bind"]})
    check = check_build(read_build("try.yaml", only, BUILD), only)
    assert {finding.rule.id for finding in check.findings} == {"coil_bind"}
    assert survivors(load_anew(root).rules["coil_bind"], load_anew(root)) == []


@pytest.mark.parametrize(
    "changes",
    [
        changed("fits/springs/coil_bind.yaml", "0.060 in", "0.061 in"),
        changed("classes/cam.yaml", "title: camshaft", "title: the camshaft"),
        changed("sources.yaml", "title: geometry", "title: Geometry"),
        {"derived/more.yaml": ""},
        {"derived/more.yml": ""},
    ],
    ids=["rule", "class", "source", "new file", "new file misnamed"],
)
def test_any_changed_file_is_read_anew(root, loads, changes):
    load_knowledge(root)
    written(root, changes)
    try:
        load_knowledge(root)
    except Exception as error:
        assert "more.y" in str(error)
    assert len(loads) == 2


def test_a_removed_file_is_noticed(root, loads):
    load_knowledge(root)
    (root / "fits/springs/weak_spring.yaml").unlink()
    assert list(load_knowledge(root).rules) == ["coil_bind"]


def test_a_renamed_file_is_noticed(root, loads):
    load_knowledge(root)
    folder = root / "fits" / "springs"
    (folder / "weak_spring.yaml").rename(folder / "soft_spring.yaml")
    assert list(load_knowledge(root).rules) == ["coil_bind", "soft_spring"]


def test_a_file_changed_while_the_rules_load_is_read_anew(root, loads, monkeypatch):
    def changing(root):
        knowledge = load_anew(root)
        written(root, changed("classes/cam.yaml", "title: camshaft", "title: late"))
        return knowledge

    monkeypatch.setattr("fitcheck.knowledge.load.load_anew", changing)
    assert load_knowledge(root).classes["cam"].title == "camshaft"
    monkeypatch.setattr("fitcheck.knowledge.load.load_anew", load_anew)
    assert load_knowledge(root).classes["cam"].title == "late"


def test_two_folders_are_kept_apart(root, tmp_path, home):
    other = written(tmp_path / "other", changed("classes/cam.yaml", "camshaft", "other cam"))
    for _ in range(2):
        assert load_knowledge(root).classes["cam"].title == "camshaft"
        assert load_knowledge(other).classes["cam"].title == "other cam"
    assert len(list(home.iterdir())) == 2


def test_rules_beside_others_are_kept_when_they_are_asked_for_twice(root, loads, home, tmp_path):
    """Who writes them changes them between two runs, and would pay for keeping each time."""
    own = tmp_path / "own"
    (own / "words").mkdir(parents=True)
    word = own / "words" / "cam.yaml"
    for told, count in (("bumpstick", 1), ("bumpstick", 2), ("bumpstick", 2), ("stick", 3)):
        word.write_text(f"words: [{told}]\n", encoding="utf-8")
        assert load_knowledge(root, own).words.part(told).name == "cam"
        assert len(loads) == count
    (path,) = home.iterdir()
    assert path.stat().st_size < 100


def _truncated(data: bytes) -> bytes:
    return data[: len(data) // 2]


def _another_object(data: bytes) -> bytes:
    other = pickle.dumps({"rules": {}})
    return data[:32] + cache._digest(other) + other


def _garbled(data: bytes) -> bytes:
    return data[:40] + bytes(len(data) - 40)


@pytest.mark.parametrize(
    "damage",
    [
        _truncated,
        _another_object,
        _garbled,
        lambda data: b"",
        lambda data: bytes(32) + data[32:],
    ],
    ids=["cut short", "another object", "garbled", "empty", "of another state"],
)
def test_a_damaged_file_is_ignored_and_mended(root, loads, home, damage):
    load_knowledge(root)
    path = _kept_file(home)
    path.write_bytes(damage(path.read_bytes()))
    assert _data(load_knowledge(root)) == _data(load_anew(root))
    assert len(loads) == 2
    load_knowledge(root)
    assert len(loads) == 2


def test_no_flipped_bit_gives_another_answer(root, loads, home):
    load_knowledge(root)
    path = _kept_file(home)
    whole, chance = path.read_bytes(), random.Random(3)
    for number in range(1, 61):
        at = chance.randrange(len(whole))
        path.write_bytes(
            whole[:at] + bytes([whole[at] ^ 1 << chance.randrange(8)]) + whole[at + 1 :]
        )
        assert list(load_knowledge(root).rules) == ["coil_bind", "weak_spring"]
        assert len(loads) == number + 1, f"byte {at} was believed"


def test_a_full_disk_keeps_nothing_and_leaves_nothing(root, loads, home, monkeypatch):
    def full(handle):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    for _ in range(2):
        load_knowledge(root)
    assert len(loads) == 2 and list(home.iterdir()) == []


def test_a_file_of_somebody_else_is_not_opened(root, loads, monkeypatch):
    load_knowledge(root)
    mine = os.getuid()
    monkeypatch.setattr(os, "getuid", lambda: mine + 1)
    load_knowledge(root)
    assert len(loads) == 2


def test_the_cache_is_nobody_elses_to_read(root, home):
    load_knowledge(root)
    assert home.stat().st_mode & 0o077 == 0
    assert _kept_file(home).stat().st_mode & 0o077 == 0


def test_the_cache_can_be_turned_off(root, loads, home, monkeypatch):
    monkeypatch.setenv("FITCHECK_NO_CACHE", "1")
    for _ in range(2):
        load_knowledge(root)
    assert len(loads) == 2
    assert not home.exists()


def test_a_cache_that_cannot_be_written_only_costs_time(root, loads, home, tmp_path):
    (tmp_path / "cache").write_text("no folder", encoding="utf-8")
    for _ in range(2):
        assert list(load_knowledge(root).rules) == ["coil_bind", "weak_spring"]
    assert len(loads) == 2


def test_who_has_no_home_keeps_nothing(root, loads, monkeypatch):
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setattr(os.path, "expanduser", lambda path: path)
    for _ in range(2):
        load_knowledge(root)
    assert len(loads) == 2


def test_rules_with_mistakes_are_not_kept(root, home):
    written(root, changed("classes/cam.yaml", "each: engine", "each: motor"))
    for _ in range(2):
        with pytest.raises(Exception, match="'motor' is no level"):
            load_knowledge(root)
    assert not home.exists()
