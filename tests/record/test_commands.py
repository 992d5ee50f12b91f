"""The commands from end to end: sheet, record, history, undo, samples, audit, a house file."""

import csv
import json
from datetime import date, timedelta

import pytest

from fitcheck.cli.main import main
from fitcheck.source import rewrite as rewriting
from tests.plan.long import LONG
from tests.record.builds import BUILD, written


@pytest.fixture
def path(tmp_path):
    return written(tmp_path)


@pytest.fixture
def sheet(path, capsys):
    """A sheet written by the command, with two figures filled and one filled wrongly."""
    found = path.parent / "sheet.csv"
    assert main(["sheet", str(path), "--all", "--slot", "head", "--table", str(found)]) == 0
    with found.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    values = {
        ("head.chamber_volume", "cylinder 2"): "64.6",
        ("spring.installed_height", "1 intake"): "43.7 mm",
        ("spring.installed_height", "1 exhaust"): "1.7 lbf",
    }
    for row in rows:
        row["measured"] = values.get((row["attribute"], row["where"]), "")
    with found.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)
    capsys.readouterr()
    return found


RECORD = ["--by", "a shop", "--when", "2026-03-09", "--with", "height micrometer"]


def test_record_keeps_the_good_names_the_bad_and_can_be_undone(path, sheet, capsys):
    assert main(["record", str(path), str(sheet), *RECORD]) == 2
    told = capsys.readouterr()
    assert "2 figures recorded" in told.out and "1 thing" in told.out
    assert "'lbf' is a unit of force" in told.err and f"{sheet}:" in told.err
    assert main(["record", str(path), str(sheet), *RECORD]) == 2
    assert "0 figures recorded" in (again := capsys.readouterr().out)
    assert "2 figures stood there already" in again
    assert main(["history", str(path), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert {
        "attribute": "head.chamber_volume",
        "where": "cylinder 2",
        "value": "64.6 cc",
        "by": "a shop",
        "when": "2026-03-09",
        "with": "height micrometer",
    }.items() <= next(one for one in found if one["value"] == "64.6 cc").items()
    assert main(["undo", str(path)]) == 0
    assert path.read_text(encoding="utf-8") == BUILD
    assert main(["undo", str(path)]) == 2
    assert "no older state" in capsys.readouterr().err


def test_a_sheet_is_never_written_over(path, sheet, capsys):
    before = sheet.read_bytes()
    assert main(["sheet", str(path), "--table", str(sheet)]) == 2
    assert "is there already" in capsys.readouterr().err
    assert sheet.read_bytes() == before


@pytest.mark.parametrize(
    ("when", "what"),
    [("9.3.2026", "is no date"), (str(date.today() + timedelta(9)), "still to come")],
)
def test_a_date_for_all_rows_must_be_one(path, sheet, capsys, when, what):
    assert main(["record", str(path), str(sheet), "--by", "me", "--when", when]) == 2
    assert what in capsys.readouterr().err
    assert path.read_text(encoding="utf-8") == BUILD


def test_a_second_writer_is_told_to_wait(path, sheet, capsys, monkeypatch):
    import fcntl

    assert main(["record", str(path), str(sheet), *RECORD]) == 2
    assert main(["undo", str(path)]) == 0
    monkeypatch.setattr(rewriting, "PATIENCE", 0.05)
    with (path.parent / "build.yaml.kept" / "lock").open("rb") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        assert main(["record", str(path), str(sheet), *RECORD]) == 2
    assert "somebody else is writing this file" in capsys.readouterr().err
    assert path.read_text(encoding="utf-8") == BUILD


def test_samples_and_audit_by_command(path, capsys):
    assert main(["samples", str(path)]) == 3
    assert "Measured at 1 of 4 places: cylinder 1." in capsys.readouterr().out
    assert main(["samples", str(path), "--json", "--slot", "spring"]) == 3
    (one,) = json.loads(capsys.readouterr().out)
    assert one["attribute"] == "spring.installed_height"
    assert main(["audit", str(path), "--slot", "spring"]) == 3
    assert "1 within, 2 not measured." in capsys.readouterr().out
    path.write_text(BUILD.replace("1.690", "1.600"), encoding="utf-8")
    assert main(["audit", str(path), "--json"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert [(one["attribute"], one["where"]) for one in found if one["outcome"] == "outside"] == [
        ("spring.installed_height", "cylinder 3 exhaust")
    ]


@LONG
def test_a_house_file_speaks_in_every_command_that_knows_rules(path, tmp_path, capsys):
    house = tmp_path / "house.yaml"
    house.write_text(
        """\
house: a shop (invented)
limits:
  chambers_differ.everyday: {value: 2.5 cc, reason: a farm engine, name: A. Foreman}
waivers:
  - {rule: coil_bind, reason: none, name: A. Foreman, until: last year}
""",
        encoding="utf-8",
    )
    told = "a shop (invented): house limits: 1, waivers: 1, expired: 1"
    for command in (
        ["check", str(path)],
        ["explain", str(path), "coil_bind"],
        ["rule", "chambers_differ"],
        ["sheet", str(path), "--slot", "spring"],
        ["samples", str(path)],
        ["audit", str(path)],
    ):
        main([*command, "--house", str(house)])
        assert told in capsys.readouterr().err, command
    main(["rule", "chambers_differ", "--house", str(house)])
    assert "2.5 cc" in (page := " ".join(capsys.readouterr().out.split()))
    assert "house limit of a shop (invented), by A. Foreman: a farm engine" in page
    main(["check", str(path), "--json", "--house", str(house)])
    data = json.loads(capsys.readouterr().out)
    assert [one["use"] for one in data["house"]["waivers"]] == ["expired"]
    assert main(["check", str(path), "--house", str(tmp_path / "none.yaml")]) == 2
    assert "can't be read" in capsys.readouterr().err
