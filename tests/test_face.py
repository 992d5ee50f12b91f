"""The face for Python: what a notebook asks, with paths as text or Path and figures with units."""

from __future__ import annotations

import importlib
import json
import re
import subprocess
import sys
from pathlib import Path
from types import FunctionType

import pytest

import fitcheck
from fitcheck.cli.demo import demo_folder
from tests.plan.long import LONG
from tests.report.test_pages import Tree

TRUCK = demo_folder() / "work_truck" / "build.yaml"
FOUR = demo_folder() / "hill_climb_four" / "build.yaml"
FACE = ("check", "measure", "plan", "reach", "read", "screen", "suppose")


@pytest.fixture(scope="module")
def truck():
    return fitcheck.read(TRUCK)


def test_the_package_lists_its_face_whatever_is_imported():
    assert set(dir(fitcheck)) == {*FACE, "BadInput", "__version__"}
    for name in ("check", "plan", "screen"):
        package = importlib.import_module(f"fitcheck.{name}")
        assert package is sys.modules[f"fitcheck.{name}"]
    for name in FACE:
        assert isinstance(getattr(fitcheck, name), FunctionType)
        assert getattr(fitcheck, name).__doc__
    with pytest.raises(AttributeError, match="no attribute 'chek'"):
        fitcheck.chek  # noqa: B018


def test_importing_the_face_imports_little():
    told = subprocess.run(
        [sys.executable, "-c", "import fitcheck, sys; print(*sys.modules)"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert not [name for name in told.stdout.split() if name.startswith("fitcheck.")]


def test_a_build_is_read_by_text_or_path_and_shows_itself_shortly(truck):
    assert repr(fitcheck.read(str(TRUCK))) == repr(truck)
    assert re.fullmatch(
        r"<Build 'Inline-six work truck \(invented\)': 6 cylinders, \d+ parts>", repr(truck)
    )
    assert truck.units == "inch" and fitcheck.read(FOUR).units == "metric"


def test_a_check_tells_the_answer_the_findings_and_their_figures(truck):
    check = fitcheck.check(truck)
    assert check is truck.check
    assert check.answer.startswith("These parts do not work together")
    assert re.search(r"\d+ clash, \d+ are open, \d+ fit>$", repr(check))
    finding = check["coil_bind"][0]
    assert repr(finding) == f"<coil_bind at {finding.where}: conflict>"
    assert finding in check.clashes and " in" in finding.says
    bind = next(one for one in finding.figures if one.name == "spring.coil_bind_height")
    assert (bind.unit, bind.evidence) == ("in", "measured")
    assert 1.1 < bind.low <= bind.high < 1.2 and bind.text.endswith(" in")
    assert check["pushrod_may_buckle"] is not None
    with pytest.raises(KeyError):
        check["coil_bund"]


def test_figures_are_in_the_units_of_the_build():
    check = fitcheck.check(FOUR)
    heights = [
        figure for finding in check.findings for figure in finding.figures
        if figure.name == "spring.installed_height"
    ]  # fmt: skip
    assert heights and {figure.unit for figure in heights} == {"mm"}
    assert all(25 < figure.low <= figure.high < 67 for figure in heights)


def test_notebooks_show_html(truck):
    check = fitcheck.check(truck)
    for shown in (check._repr_html_(), check["coil_bind"][0]._repr_html_()):
        Tree(shown)
    assert check._repr_html_().count("<svg") == 2
    assert "do not work together" in check._repr_html_()
    answer = fitcheck.reach(truck, "spring.rate")
    assert "<pre>" in answer._repr_html_()


def test_supposing_changes_the_build_and_is_not_measuring(truck):
    supposed = fitcheck.suppose(truck, "spring.coil_bind_height=0.900 in")
    finding = fitcheck.check(supposed)["coil_bind"][0]
    assert finding.verdict == "fits"
    assert {f.evidence for f in finding.figures if f.name == "spring.coil_bind_height"} == {
        "supposed"
    }
    assert fitcheck.check(truck)["coil_bind"][0].verdict == "conflict"


def test_other_answers_are_text_and_plain_data(truck):
    for answer in (
        fitcheck.measure(truck),
        fitcheck.reach(truck, "cam.lobe_lift", "exhaust"),
        fitcheck.screen(truck, "seal", demo_folder() / "parts" / "seal.csv"),
    ):
        assert json.dumps(answer.data)
        assert len(repr(answer)) < 160 and repr(answer).startswith(f"<{answer.asked}: ")
        assert str(answer) == answer.text and "\x1b" not in answer.text


def test_a_plan_is_its_work_order(tmp_path):
    path = tmp_path / "a.yaml"
    path.write_text('build: a\ncylinders: "1"\nparts:\n  spring: {}\n', encoding="utf-8")
    answer = fitcheck.plan(str(path), seconds=5)
    assert answer.asked == "plan" and answer.text.strip() and answer.data


@LONG
def test_a_shops_own_rules_and_limits(tmp_path):
    shop = demo_folder() / "shop_rules"
    build = fitcheck.read(TRUCK, rules=str(shop), house=shop / "house.yaml")
    assert "thin_walled_for_competition" in build.knowledge.rules
    assert build.knowledge.house is not None


@pytest.mark.parametrize(
    ("ask", "told"),
    [
        (lambda build: fitcheck.read("missing.yaml"), "can't be read"),
        (lambda build: fitcheck.suppose(build, "spring.rate=3 in"), "unit of length"),
        (lambda build: fitcheck.reach(build, "spring.ratee"), "no attribute 'ratee'"),
        (lambda build: fitcheck.reach(build, "spring.rate", "left hand"), "names no position"),
        (lambda build: fitcheck.screen(build, "zzz", "a.csv"), "no part class 'zzz'"),
        (lambda build: fitcheck.screen(build, "seal", "a.duckdb"), "no catalog"),
    ],
)
def test_what_cannot_be_asked_is_told(ask, told, truck):
    with pytest.raises(fitcheck.BadInput, match=told):
        ask(truck)


def test_the_notebook_of_readme_runs(monkeypatch):
    """The lines that README shows, as they stand."""
    root = Path(__file__).resolve().parent.parent
    monkeypatch.chdir(root)
    text = (root / "README.md").read_text(encoding="utf-8")
    (code,) = re.findall(r"^```python\n(.*?)^```$", text, re.M | re.S)
    assert len(code.splitlines()) <= 10
    names = {}
    exec(code, names)
    assert names["check"].clashes
