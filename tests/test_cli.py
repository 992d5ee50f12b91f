"""The command line as a user meets it: text, data, exit codes, errors."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pytest

from fitcheck.calculations import Calculation
from fitcheck.check import check_build, read_build
from fitcheck.cli.main import COMMANDS, main
from fitcheck.knowledge import load_knowledge
from fitcheck.quantity import KINDS, read_quantity
from tests.knowledge.small import FILES, changed, written
from tests.plan.long import LONG

ROOT = Path(__file__).resolve().parent.parent
TRUCK = str(ROOT / "catalog_demo" / "work_truck" / "build.yaml")
FITS, CLASHES, BAD_INPUT, OPEN = 0, 1, 2, 3
CAM = "  cam: {measured: {lobe_lift: 0.400 in, lobe_type: flat}}\n"
SPRING = (
    "  spring: {{measured: {{installed_height: 1.700 in, solid_height: {}, shape: conical}}}}\n"
)


@pytest.fixture
def small(tmp_path):
    """A small rules folder, and a function that writes a build and gives the arguments."""
    root = written(tmp_path / "rules")

    def arguments(command: str, spring: str, *more: str) -> list[str]:
        path = tmp_path / "build.yaml"
        path.write_text(
            "build: a try\ncylinders: '2'\ncomplete: 'yes'\nparts:\n" + CAM + spring,
            encoding="utf-8",
        )
        return [command, str(path), *more, "--only-rules", str(root)]

    return arguments


def _clean(text: str) -> str:
    """The text, after a look at its form."""
    for line in text.splitlines():
        assert line == line.rstrip(), repr(line)
    assert "\x1b" not in text
    assert text.endswith("\n") and not text.endswith("\n\n\n")
    return text


# Exit codes.


@pytest.mark.parametrize(
    ("spring", "code"),
    [
        (SPRING.format("1.000 in"), FITS),
        (SPRING.format("1.500 in"), CLASHES),
        (SPRING.format("1.200..1.300 in"), OPEN),
        ("", OPEN),
        ("  sprnig: {}\n", BAD_INPUT),
    ],
    ids=["fits", "clashes", "straddles", "unmeasured", "bad input"],
)
def test_the_exit_code_tells_the_answer(small, spring, code, capsys):
    assert main(small("check", spring)) == code
    assert main(small("check", spring, "--json")) == code
    if code != BAD_INPUT:
        assert main(small("explain", spring, "coil_bind")) == code
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("spring", "code"),
    [(SPRING.format("1.000 in"), FITS), (SPRING.format("1.200..1.300 in"), OPEN), ("", OPEN)],
    ids=["fits", "straddles", "unmeasured"],
)
def test_other_commands_call_nothing_right_that_check_leaves_open(small, spring, code, capsys):
    for command in ("check", "plan", "chance"):
        assert main(small(command, spring)) == code, command
        told = capsys.readouterr().out
        if code == OPEN:
            assert "cannot be answered yet, 1 of them" in told or command == "check"
            assert "Nothing has to be done" not in told and "100" not in told
    assert main(small("chance", SPRING.format("1.500 in"))) == CLASHES


def test_usage_errors_have_the_code_of_bad_input(capsys):
    for arguments in (["chek"], ["check"], ["check", "x.yaml", "--units", "cubit"]):
        assert main(arguments) == BAD_INPUT
        assert "usage: fitcheck" in capsys.readouterr().err


# Text.


def test_check_of_the_invented_truck(capsys):
    assert main(["check", TRUCK]) == CLASHES
    told = _clean(capsys.readouterr().out)
    heads = ["WHAT CLASHES, THE GRAVEST FIRST", "WHAT THE SELLER SAYS", "WORTH HAVING FIRST, OF "]
    lists = ["Work still to do: ", "One look at the bare parts, held together: ", "Mind: "]
    # The answer is told before anything else: a line for each question, then how many clash.
    order = [
        "Bolts to this block: ",
        "These parts do not work together",
        *heads,
        *lists,
        "See more: ",
    ]
    assert [told.index(f"\n{words}") for words in order] == sorted(
        told.index(f"\n{words}") for words in order
    )
    assert "invented" in told.splitlines()[0]
    assert main(["check", TRUCK, "--all"]) == CLASHES
    everything = _clean(capsys.readouterr().out)
    for heading in (
        heads[0],
        heads[1],
        "WHAT KNOWN FIGURES LEAVE OPEN",
        "WORTH HAVING",
        "WHAT FITS",
    ):
        assert f"\n{heading}\n" in everything
    assert "common practice, no source" in everything
    assert len(everything) > len(told)
    assert "--all" in told and "--all" not in everything


@pytest.mark.parametrize("units", ["inch", "metric"])
def test_text_without_trailing_blanks_and_within_the_width(units, capsys):
    assert main(["check", TRUCK, "--all", "--units", units]) == CLASHES
    told = _clean(capsys.readouterr().out)
    assert max(map(len, told.splitlines())) <= 100
    unit, other = ("in", "mm") if units == "inch" else ("mm", "in")
    short = [line for line in told.splitlines() if line.lstrip().startswith("Short by")]
    assert any(re.search(rf"\d {unit}\b", line) for line in short)
    assert not any(re.search(rf"\d {other}\b", line) for line in short)


def test_explanation_names_what_it_rests_on(small, capsys):
    spring = SPRING.format("1.260 in")
    assert main(small("explain", spring, "coil_bind")) == CLASHES
    told = _clean(capsys.readouterr().out)
    for piece in (
        "coil-bind clearance",
        "clashes",
        "0.060 in",
        "1.260 in",
        "0.400 in",
        "1.700 in",
        "height at full lift",
        "common practice, no source",
        "cut the spring seat",
    ):
        assert piece in told, piece


def test_explanation_of_one_place_only(small, capsys):
    spring = (
        "  spring: {measured: {installed_height: 1.700 in, solid_height: "
        "{intake: 1.000 in, exhaust: 1.500 in}}}\n"
    )
    assert main(small("explain", spring, "coil_bind", "--at", "intake")) == FITS
    assert "exhaust" not in capsys.readouterr().out
    assert main(small("explain", spring, "coil_bind", "--at", "2 exhaust")) == CLASHES
    assert main(small("explain", spring, "coil_bind", "--at", "inlet")) == BAD_INPUT
    assert "'inlet' names no position" in capsys.readouterr().err


def test_a_rule_that_does_not_apply_says_so(small, capsys):
    spring = SPRING.format("1.000 in")
    assert main(small("explain", spring, "weak_spring")) == FITS
    assert "does not apply" in _clean(capsys.readouterr().out)
    assert main(small("explain", spring, "weak_spring", "--json")) == FITS
    assert json.loads(capsys.readouterr().out) == []


def test_page_of_a_rule(capsys):
    assert main(["rule", "coil_bind"]) == FITS
    inch = _clean(capsys.readouterr().out)
    assert main(["rule", "coil_bind", "--units", "metric"]) == FITS
    metric = _clean(capsys.readouterr().out)
    for heading in (
        "coil_bind",
        "Fault:",
        "Asks that:",
        "Why:",
        "Limit:",
        "Fits, for example:",
        "Clashes, for example:",
        "Mends it:",
        "Mind:",
    ):
        assert f"\n{heading}" in f"\n{inch}".replace("\n  ", "\n"), heading
    assert max(map(len, inch.splitlines())) <= 100
    assert "0.050..0.060 in" in inch and "1.27..1.53 mm" in metric


def test_list_of_rules(capsys):
    assert main(["rules"]) == FITS
    told = _clean(capsys.readouterr().out)
    assert main(["rules", "--json"]) == FITS
    listed = json.loads(capsys.readouterr().out)
    known = load_knowledge().rules
    assert [rule["rule"] for rule in listed] == list(known)
    assert all(f" {name} " in told for name in known)
    assert main(["rules", "--json", "--family", "claims"]) == FITS
    assert {rule["family"] for rule in json.loads(capsys.readouterr().out)} == {"claims"}


def test_every_demo_is_listed_printed_and_can_be_checked(capsys, tmp_path):
    assert main(["demo"]) == FITS
    told = _clean(capsys.readouterr().out)
    names = sorted(path.parent.name for path in (ROOT / "catalog_demo").glob("*/build.yaml"))
    assert "work_truck" in names
    for name in names:
        assert f"  {name}" in told
        assert main(["demo", name]) == FITS
        printed = capsys.readouterr().out
        assert printed == (ROOT / "catalog_demo" / name / "build.yaml").read_text("utf-8")
        assert "invented" in printed
        copy = tmp_path / f"{name}.yaml"
        copy.write_text(printed, encoding="utf-8")
        assert main(["check", str(copy)]) in (FITS, CLASHES, OPEN)
        capsys.readouterr()


# Data.


def test_data_is_exact(small, capsys):
    spring = SPRING.format("1.2346 in +-1/3 %")
    main(small("check", spring, "--json"))
    data = json.loads(capsys.readouterr().out)
    (finding,) = [one for one in data["findings"] if one["rule"] == "coil_bind"]
    fact = finding["facts"]["spring.solid_height"]
    exact = read_quantity("1.2346 in +-1/3 %", KINDS["length"])
    assert (Fraction(fact["lower"]), Fraction(fact["upper"])) == (exact.lower, exact.upper)
    assert "/" in fact["lower"]  # a third has no exact decimal
    lift = finding["facts"]["cam.lobe_lift"]
    exact = read_quantity("0.400 in", KINDS["length"])
    assert (lift["lower"], Fraction(lift["lower"])) == ("10.1473", exact.lower)
    assert finding["facts"]["shim.thickness"]["lower"] == "0"
    assert fact["place"].endswith("build.yaml:6:65")


def test_data_says_what_the_check_says(capsys):
    main(["check", TRUCK, "--json"])
    data = json.loads(capsys.readouterr().out)
    knowledge = load_knowledge()
    check = check_build(read_build(TRUCK, knowledge), knowledge)
    assert [one["rule"] for one in data["findings"]] == [f.rule.id for f in check.findings]
    # A question counts once, by its worst place, as in the answer's sentence.
    clashing = {finding.rule.id for finding in check.conflicts}
    # What fits by one practice and not by another counts apart from what cannot be told.
    disputed = check.disputed - clashing
    undecided = {finding.rule.id for finding in check.undecided} - clashing - disputed
    fitting = {finding.rule.id for finding in check.fits} - clashing - undecided - disputed
    assert f"on {len(disputed)} practice disagrees" in data["answer"]
    assert f"; {len(undecided)} questions cannot be answered yet" in data["answer"]
    counts = {
        "conflict": len(clashing),
        "undecided": len(undecided),
        "disputed": len(disputed),
        "fits": len(fitting),
        "not_applicable": len(check.silent),
        "failed": 0,
    }
    assert data["counts"].items() >= counts.items()
    for told, finding in zip(data["findings"], check.findings, strict=True):
        assert told["verdict"] == finding.verdict.value
        if finding.margin is None:
            assert told["margin"] is None
        else:
            assert Fraction(told["margin"]["lower"]) == finding.margin.lower
            assert Fraction(told["margin"]["upper"]) == finding.margin.upper
        for name, fact in finding.facts.items():
            if fact.interval is not None:
                assert Fraction(told["facts"][name]["upper"]) == fact.interval.upper
    assert data["format"] == 2 and data["knowledge"] == knowledge.digest
    assert {claim["rule"] for claim in data["claims"]} == {c.finding.rule.id for c in check.claims}


# Errors.


@pytest.mark.parametrize(
    ("arguments", "what", "mend"),
    [
        (["rule", "coil_bnd"], "there is no rule 'coil_bnd'", "did you mean 'coil_bind'?"),
        (
            ["explain", TRUCK, "coil_bnd"],
            "there is no rule 'coil_bnd'",
            "did you mean 'coil_bind'?",
        ),
        (["rules", "--family", "claim"], "there is no family 'claim'", "did you mean 'claims'?"),
        (["demo", "work_truk"], "'work_truk'", "did you mean 'work_truck'?"),
        (["check", "nowhere.yaml"], "the file can't be read: no such file", "check the name"),
        (["check", TRUCK, "--rules", "nowhere"], "there is no folder nowhere", "give the folder"),
    ],
    ids=["rule", "explain", "family", "demo", "build", "rules folder"],
)
def test_an_unknown_name_is_told_with_the_nearest(arguments, what, mend, capsys):
    assert main(arguments) == BAD_INPUT
    told = capsys.readouterr()
    assert what in told.err and mend in told.err
    assert told.out == ""
    assert "1 problem; " in told.err


def test_every_problem_of_a_build_is_told_with_place_and_caret(small, capsys):
    assert main(small("check", "  sprnig: {}\n  shim: {measured: {thikness: 1 in}}\n")) == BAD_INPUT
    told = _clean(capsys.readouterr().err)
    assert "build.yaml:6:3: there is no part class 'sprnig'\n" in told
    assert "\n      sprnig: {}\n      ^^^^^^\n  did you mean 'spring'?\n" in told
    assert "build.yaml:7:21: a spring shim has no attribute 'thikness'\n" in told
    assert told.endswith("2 problems; nothing was done.\n")


def test_a_rule_that_crashes_is_told_and_is_no_pass(tmp_path, small, capsys, monkeypatch):
    area = "valve_curtain_area(spring.solid_height, cam.lobe_lift) / open_height ** 2"
    breaking = FILES["fits/springs/coil_bind.yaml"].replace(
        "open_height - spring.solid_height >=", "spring.installed_height * solidity >="
    )
    written(
        tmp_path / "rules",
        changed("derived/heights.yaml", "spring.solid_height / open_height", area)
        | {"fits/springs/breaks.yaml": breaking},
    )
    sound = Calculation.at

    def at(calculation: Calculation, end: int):
        bound = sound(calculation, end)

        def breaks_at_an_inch(*values: float) -> float:
            if values[0] == 25.4:
                raise ValueError("no such area")
            return bound(*values)

        return breaks_at_an_inch

    monkeypatch.setattr(Calculation, "at", at)
    spring = SPRING.format("1.000 in +-0 in")
    assert main(small("check", spring)) == BAD_INPUT
    told = capsys.readouterr().out
    assert "the rule 'breaks' could not be computed: no such area" in told
    assert "coil-bind clearance" in told.replace("\n", " ")
    assert main(small("check", spring, "--json")) == BAD_INPUT
    data = json.loads(capsys.readouterr().out)
    assert data["counts"]["failed"] == 1 and "breaks" in data["failures"][0]
    assert main(small("explain", spring, "breaks")) == BAD_INPUT
    assert "could not be computed" in capsys.readouterr().err
    assert main(small("explain", spring, "coil_bind")) == BAD_INPUT


def test_a_calculation_that_crashes_while_rules_load_is_told(tmp_path, small, capsys, monkeypatch):
    written(
        tmp_path / "rules",
        changed(
            "derived/heights.yaml",
            "spring.solid_height / open_height",
            "valve_curtain_area(spring.solid_height, cam.lobe_lift) / open_height ** 2",
        ),
    )

    def broken(*values: float) -> float:
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr(Calculation, "at", lambda calculation, end: broken)
    assert main(small("check", SPRING.format("1.000 in"))) == BAD_INPUT
    told = capsys.readouterr().err
    assert "derived/heights.yaml:9:7: valve_curtain_area can't be computed" in told
    assert "division by zero" in told


# As a program.


def _run(*arguments: str, cwd: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "fitcheck", *arguments],
        capture_output=True,
        text=True,
        cwd=cwd,
        check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
    )


def test_works_from_another_folder(tmp_path):
    ran = _run("check", os.path.relpath(TRUCK, tmp_path), cwd=tmp_path)
    assert ran.returncode == CLASHES
    assert ran.stderr == ""
    assert _clean(ran.stdout).startswith("Inline-six work truck (invented)\n")


@LONG
def test_colour_is_left_out_on_wish_and_in_files(tmp_path):
    plain = _run("rule", "coil_bind", cwd=tmp_path)
    assert "\x1b" not in plain.stdout
    coloured = _run("check", TRUCK, cwd=tmp_path, FORCE_COLOR="1", TERM="xterm-256color")
    assert "\x1b[1;31m" in coloured.stdout
    wished = _run(
        "check", TRUCK, cwd=tmp_path, FORCE_COLOR="1", NO_COLOR="1", TERM="xterm-256color"
    )
    assert "\x1b[1;31m" not in wished.stdout and "31m" not in wished.stdout


def test_a_reader_that_leaves_early_is_no_error(tmp_path):
    command = f"'{sys.executable}' -m fitcheck check '{TRUCK}' --all | head -1"
    ran = subprocess.run(
        ["bash", "-c", command],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        check=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert ran.stdout.startswith("Inline-six")
    assert ran.stderr == ""


def test_without_a_command_all_of_them_are_listed(capsys):
    assert main([]) == 2
    text = capsys.readouterr().out
    assert all(name in text for name in COMMANDS) and "Exit codes" in text
