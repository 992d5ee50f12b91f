"""`fitcheck plan` as a user meets it, with the small rules: a spring that goes solid.

Installed at 1.700 and lifted 0.400 it stands at 1.300; at least 0.060 is wanted above solid, and
the seat can be cut by up to 0.100 in steps of 0.005.
"""

from __future__ import annotations

import csv
import json

import pytest

from fitcheck.cli.main import main
from tests.knowledge.small import written

PRICES = "prices: an invented shop\nhour: 80 EUR\n"


@pytest.fixture
def arguments(tmp_path):
    root = written(tmp_path / "rules")
    (tmp_path / "prices.yaml").write_text(PRICES, encoding="utf-8")

    def made(solid: str, *more: str) -> list[str]:
        path = tmp_path / "build.yaml"
        path.write_text(
            "build: a try\ncylinders: '2'\ncomplete: 'yes'\nparts:\n"
            "  cam: {measured: {lobe_lift: 0.400 in, lobe_type: flat}}\n"
            f"  spring: {{measured: {{installed_height: 1.700 in, solid_height: {solid}, "
            "shape: conical}}\n  shim: none\n",
            encoding="utf-8",
        )
        return ["plan", str(path), *more, "--only-rules", str(root)]

    return made


def test_a_plan(arguments, tmp_path, capsys):
    """Short by 0.060; held to half a step, and read to a thousandth, 0.065 is surely enough.

    Up to 0.100 is allowed and, as this library calls it no metal, 0.080 stands off either edge.

    Four seats at 0.10 h and 80 EUR the hour: 32 EUR.
    """
    table = tmp_path / "order.csv"
    prices = str(tmp_path / "prices.yaml")
    assert main(arguments("1.300 in", "--prices", prices, "--csv", str(table))) == 0
    told = capsys.readouterr().out
    assert "1 step for 32.00 EUR, 0.40 h. This is proven to be the cheapest plan" in told
    assert "Cut the spring seat, all valves, by 0.0800 in +-0.0025 (32.00 EUR, 0.40 h)" in told
    assert "Mind: Compressed springs" in told and "Wear eye protection." in told
    (row, *_) = csv.DictReader(table.open(encoding="utf-8", newline=""))
    assert (row["kind"], row["work"], row["price"]) == ("do", "cut the spring seat", "32.00")


def test_a_plan_as_data(arguments, capsys):
    assert main(arguments("1.300 in", "--json")) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["objective"] == "hours" and data["proven"] is True
    (step,) = data["plan"]["steps"]
    assert step["operation"] == "cut_seat" and step["costs"]["price"] is None


def test_nothing_to_do(arguments, capsys):
    assert main(arguments("1.200 in")) == 0
    assert "Nothing has to be done." in capsys.readouterr().out


def test_no_plan_is_proven(arguments, capsys):
    """Solid at 1.500 it lacks 0.260, and no more than 0.100 can be cut."""
    assert main(arguments("1.500 in")) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "No work of the library, and no part on offer, makes these parts work together." in told
    assert "without any one of them there would be a plan" in told
    for figure in (
        "installed height: measured as 1.700 in",
        "solid height: measured as 1.500 in",
        "lobe lift: measured as 0.400 in",
    ):
        assert figure in told
    assert "come from a price file (--prices FILE); none was given" in told


def test_no_plan_as_data(arguments, capsys):
    assert main(arguments("1.500 in", "--json")) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["plan"] is None and data["contradiction"]["smallest"] is True
    assert {one["rule"] for one in data["contradiction"]["rules"]} == {"coil_bind"}
    assert set(data["contradiction"]["facts"]) == {
        "spring.installed_height",
        "spring.solid_height",
        "cam.lobe_lift",
    }


def test_work_of_ones_own(arguments, capsys):
    assert main(arguments("1.300 in", "--do", "cut_seat=0.040 in")) == 1
    assert "After it these clash: coil-bind clearance." in capsys.readouterr().out
    assert main(arguments("1.300 in", "--do", "cut_seat=0.065 in", "--json")) == 0
    assert json.loads(capsys.readouterr().out)["clashes_after"] == []


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (["--objective", "price"], "the objective price needs a price file"),
        (["--seconds", "0"], "--seconds 0 is no time to plan in"),
        (["--prices", "nowhere.yaml"], "nowhere.yaml"),
        (["--do", "cut_seat=0.041 in"], "0.041 in is off the step of 'cut_seat'"),
        (["--do", "cut_seat=0.200 in"], "0.200 in is outside the range of 'cut_seat'"),
        (["--do", "cut_seat"], "'cut_seat' needs an amount"),
        (["--csv", "no/such/folder.csv"], "can't be written"),
    ],
)
def test_what_cannot_be_used_is_told(arguments, capsys, more, told):
    assert main(arguments("1.300 in", *more)) == 2
    assert told in capsys.readouterr().err
