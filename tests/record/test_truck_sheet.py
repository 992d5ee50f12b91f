"""The work truck's default sheet: one page, filled as people fill sheets, and read back whole.

Each row is recorded or named with its place; what the page is for is settled by what is recorded.
"""

from __future__ import annotations

import csv
import shutil

import openpyxl
import pytest

from fitcheck.check import check_build, read_build
from fitcheck.check.measuring.asks import asks
from fitcheck.check.records.sheet import _resting, first_sheet
from fitcheck.cli import main
from fitcheck.cli.demo import demo_folder
from fitcheck.quantity import KINDS, show
from tests.plan.long import LONG

# As somebody writes them who looks at the parts; what the seller claims of them holds.
SEEN = {
    "lifter.type": "Hyd. roller",
    "guide.material": "phosphor-bronze",
    "head.material": "aluminum",
    "head.oil_routes": "up through lifter and pushrod",
    "head_fasteners.engagement": "0,75",
    "block.head_bolts_wet": "Yes",
    "piston.pocket": " no ",
    "valve.groove": "single square",
    "cam.valve_order": "exhausts_at_the_ends",
}
TYPO = "head.material"


@pytest.fixture
def truck(tmp_path):
    path = tmp_path / "build.yaml"
    shutil.copy(demo_folder() / "work_truck" / "build.yaml", path)
    return path


def fill(sheet, values):
    """Fill `measured` of each row, by its attribute and place, as whoever works at the bench."""
    filled = 0
    if sheet.suffix == ".csv":
        with sheet.open(encoding="utf-8-sig", newline="") as file:
            rows = list(csv.reader(file))
    else:
        page = openpyxl.load_workbook(sheet).active
        rows = [[cell.value or "" for cell in row] for row in page.iter_rows()]
    head = rows[0]
    measured, by, when = (head.index(name) for name in ("measured", "by", "when"))
    for row in rows[1:]:
        value = values.get((row[0], row[head.index("where")]), values.get(row[0]))
        if value is not None:
            row[measured], row[by], row[when] = value, "me", "2026-03-09"
            filled += 1
    if sheet.suffix == ".csv":
        with sheet.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(rows)
    else:
        book = openpyxl.Workbook()
        for row in rows:
            book.active.append(row)
        book.save(sheet)
    return filled


def mine(path, knowledge):
    return [one for one in read_build(path, knowledge).statements() if one.origin.by == "me"]


def test_the_page_is_one_and_names_what_is_seen_below(truck, knowledge):
    sheet = first_sheet(check_build(read_build(truck, knowledge), knowledge))
    assert {item.attribute.name for item in sheet.items} == SEEN.keys()
    assert sum(len(item.lines) for item in sheet.items) <= 20


@pytest.mark.parametrize("suffix", [".csv", pytest.param(".xlsx", marks=LONG)])
def test_filled_it_loses_nothing_and_settles_what_it_is_for(suffix, truck, knowledge, capsys):
    sheet = truck.with_name(f"sheet{suffix}")
    before = len(mine(truck, knowledge))
    assert main(["sheet", str(truck), "--table", str(sheet)]) == 0
    rows = fill(sheet, {**SEEN, TYPO: "alu minimum"})
    capsys.readouterr()
    assert main(["record", str(truck), str(sheet)]) == 2
    told = capsys.readouterr()
    assert "'alu minimum' is no option" in told.err and f"{sheet.name}:" in told.err
    assert len(mine(truck, knowledge)) == before + rows - 1  # all but the row that is named
    fill(sheet, {TYPO: SEEN[TYPO]})
    assert main(["record", str(truck), str(sheet)]) == 0
    assert len(mine(truck, knowledge)) == before + rows
    check = check_build(read_build(truck, knowledge), knowledge)
    # No clash rests on what the page asked for, and none of it is asked for again.
    assert not SEEN.keys() & _resting(check).keys()
    assert not SEEN.keys() & {ask.attribute.name for ask in asks(check)}


# Heights in inches and millimetres, with commas, capitals, quotes and blanks; two that are no
# heights; one read twice alike.
HEIGHTS = {
    "1 intake": "1.720",
    "2 intake": "43.69 mm",
    "3 intake": "1,720",
    "4 intake": "43,7 MM",
    "5 intake": ' 1.72" ',
    "6 intake": "1 23/32 in",
    "1 exhaust": "1.705 inch",
    "2 exhaust": "172",
    "3 exhaust": "1.7O5",
    "4 exhaust": "1705 thou",
}
READ = ["1.720 in", "1.720 in", "1.720 in", "1.720 in", "1.720 in", "1.719 in", "1.705 in",
        "1.705 in"]  # fmt: skip


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_figures_in_mixed_units_are_recorded_or_named(suffix, truck, knowledge, capsys):
    sheet = truck.with_name(f"springs{suffix}")
    main(["sheet", str(truck), "--all", "--again", "--slot", "spring", "--table", str(sheet)])
    name = "spring.installed_height"
    assert fill(sheet, {(name, where): text for where, text in HEIGHTS.items()}) == len(HEIGHTS)
    capsys.readouterr()
    assert main(["record", str(truck), str(sheet)]) == 2
    told = capsys.readouterr().err
    assert told.count(f"{sheet.name}:") == 2 and "172" in told and "1.7O5" in told
    said = [one for one in mine(truck, knowledge) if one.attribute.name == name]
    shown = [show(type(one.value.interval).point(one.value.interval.middle), KINDS["length"])
             for one in said if str(one.origin.when) == "2026-03-09"]  # fmt: skip
    assert sorted(shown) == sorted(READ)
