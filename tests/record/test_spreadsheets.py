"""Sheets as spreadsheets (by openpyxl) and with decimal commas: out, filled, and in again."""

from __future__ import annotations

from datetime import date, datetime

import openpyxl
import pytest

from fitcheck.check import read_build
from fitcheck.cli import main
from fitcheck.quantity import KINDS, show
from fitcheck.source import spreadsheet as spreadsheets
from fitcheck.source.table import read_table
from tests.plan.long import LONG

BUILD = (
    'build: a try\ncylinders: "1"\nparts:\n  spring:\n    claimed: {by: seller, '
    "outside_diameter: 1.430 in}\n  head: {claimed: {by: seller, material: iron}}\n"
)


@pytest.fixture
def build(tmp_path):
    path = tmp_path / "build.yaml"
    path.write_text(BUILD, encoding="utf-8")
    return path


@pytest.fixture
def sheet(build, tmp_path):
    path = tmp_path / "sheet.xlsx"
    assert main(["sheet", str(build), "--all", "--table", str(path)]) == 0
    return path


def fill(path, values, number_format=None):
    """Fill `measured` of each (attribute, where), as whoever works at the bench would."""
    book = openpyxl.load_workbook(path)
    page = book.active
    head = [cell.value for cell in page[1]]
    for row in page.iter_rows(min_row=2):
        cells = dict(zip(head, row, strict=True))
        key = cells["attribute"].value, cells["where"].value
        if key in values:
            cells["measured"].value = values[key]
            cells["measured"].number_format = number_format or "General"
            cells["by"].value, cells["when"].value = "bench", datetime(2026, 3, 9)
    book.save(path)


def recorded(build, sheet, knowledge, capsys, *more):
    capsys.readouterr()
    code = main(["record", str(build), str(sheet), *more])
    told = capsys.readouterr()
    said = {
        (one.attribute.name, one.selector.side): one
        for one in read_build(build, knowledge).statements()
        if one.origin.by == "bench"
    }
    return code, said, told


HEIGHT = "spring.installed_height"


def test_a_spreadsheet_is_filled_and_read_back(build, sheet, knowledge, capsys):
    fill(sheet, {(HEIGHT, "1 intake"): "1.720", (HEIGHT, "1 exhaust"): 1.7})
    code, said, _ = recorded(build, sheet, knowledge, capsys)
    assert code == 0
    assert said[HEIGHT, "intake"].value.text == "1.720 in"
    assert said[HEIGHT, "exhaust"].value.text == "1.7 in"
    assert said[HEIGHT, "intake"].origin.when == date(2026, 3, 9)


def test_a_figure_on_another_sheet_is_told(build, sheet, knowledge, capsys):
    fill(sheet, {(HEIGHT, "1 intake"): "1.720"})
    book = openpyxl.load_workbook(sheet)
    book.create_sheet("empty")
    book.create_sheet("more").append([HEIGHT, "1 exhaust", "1.700"])
    book.save(sheet)
    code, said, told = recorded(build, sheet, knowledge, capsys)
    assert code == 2 and list(said) == [(HEIGHT, "intake")]
    assert "the sheet 'more' is not read" in told.err and "empty" not in told.err


def test_a_number_keeps_the_decimals_that_its_cell_shows(build, sheet, knowledge, capsys):
    fill(sheet, {(HEIGHT, "1 intake"): 1.7}, number_format="0.000")
    _, said, _ = recorded(build, sheet, knowledge, capsys)
    assert said[HEIGHT, "intake"].value.text == "1.700 in"


def test_a_row_that_cannot_be_read_is_named_and_the_rest_is_kept(build, sheet, knowledge, capsys):
    fill(sheet, {(HEIGHT, "1 intake"): "1.720", (HEIGHT, "1 exhaust"): "1.7 lbf"})
    code, said, told = recorded(build, sheet, knowledge, capsys)
    assert code == 2 and said.keys() == {(HEIGHT, "intake")}
    rows = [row[0].value for row in openpyxl.load_workbook(sheet).active.iter_rows()]
    assert any(f"{sheet}:{rows.index(HEIGHT) + extra + 1}:" in told.err for extra in (0, 1))
    assert "'lbf' is a unit of force" in told.err


# A comma may be a decimal mark or part thousands: what alone is plausible is taken, and said.
@pytest.mark.parametrize(
    ("attribute", "typed", "kind", "read"),
    [
        (HEIGHT, "1,720", "length", "1.720 in"),
        (HEIGHT, "43,69 mm", "length", "1.720 in"),
        (HEIGHT, ",1720", "length", None),
        ("spring.greatest_speed", "6,500", "frequency", "6500 rpm"),
        ("spring.seat_load", "1,20", "force", None),
        (HEIGHT, "1,7,20", "length", None),
    ],
)
def test_commas_are_read_by_what_is_plausible(
    attribute, typed, kind, read, build, sheet, knowledge, capsys
):
    fill(sheet, {(attribute, where): typed for where in ("1 intake", "intake")})
    code, said, told = recorded(build, sheet, knowledge, capsys)
    if read is None:
        assert code == 2 and said == {} and typed in told.err
        return
    assert code == 0 and f"'{typed}' is read as" in told.out
    (statement,) = said.values()
    middle = type(statement.value.interval).point(statement.value.interval.middle)
    assert show(middle, KINDS[kind]) == read


def test_text_in_cells_is_never_a_formula(tmp_path):
    path = tmp_path / "a.xlsx"
    path.write_bytes(spreadsheets.spreadsheet([["=1+1", "@x"], ["", "-12"]], "a"))
    page = openpyxl.load_workbook(path).active
    assert [cell.data_type for cell in page[1]] == ["s", "s"]
    rows = read_table(path, [])
    assert [tuple(row.cells) for row in rows] == [("=1+1", "@x"), ("", "-12")]
    assert str(rows[1].cells[1].place) == f"{path}:2:2"


@pytest.mark.parametrize(
    ("content", "told"),
    [(b"no archive", "the file is no spreadsheet"), (None, "can't be read")],
)
def test_what_is_no_spreadsheet_is_told(content, told, tmp_path, build, capsys):
    path = tmp_path / "b.xlsx"
    if content is not None:
        path.write_bytes(content)
    assert main(["record", str(build), str(path)]) == 2
    assert told in capsys.readouterr().err


def test_a_spreadsheet_that_unpacks_to_too_much_is_not_read(sheet, build, monkeypatch, capsys):
    monkeypatch.setattr(spreadsheets, "MOST_UNPACKED", 1000)
    assert main(["record", str(build), str(sheet)]) == 2
    assert "too large for a list or a sheet" in capsys.readouterr().err


@LONG
def test_the_name_decides_the_kind_of_file(build, tmp_path, capsys):
    assert main(["sheet", str(build), "--table", str(tmp_path / "s.ods")]) == 2
    assert "neither .csv nor .xlsx" in capsys.readouterr().err
    assert main(["sheet", str(build), "--table", str(tmp_path / "s.CSV")]) == 0
    assert (tmp_path / "s.CSV").read_bytes().startswith(b"\xef\xbb\xbfattribute,")
