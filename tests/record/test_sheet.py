"""The inspection sheet: what stands on it, as a table and in print."""

from collections import defaultdict
from itertools import groupby
from pathlib import Path

import pytest
from rich.console import Console

from fitcheck.check import check_build, read_build
from fitcheck.check.measuring.asks import Reason, asks
from fitcheck.check.records.sheet import first_sheet, make_sheet
from fitcheck.report.sheet import write_sheet
from tests.record.builds import BUILD, rows, written

DEMOS = Path(__file__).parents[2] / "catalog_demo"
LINES_OF_A_PAGE = 66  # of a printer: six to the inch on Letter


@pytest.fixture
def path(tmp_path):
    return written(tmp_path)


def _printed(path, knowledge, **options):
    return paper(make_sheet(read_build(path, knowledge), knowledge, **options))


def test_one_row_for_each_place_that_is_not_measured_yet(path, knowledge):
    places = defaultdict(list)
    for row in rows(path, knowledge):
        places[row["attribute"]].append(row["where"])
    assert places["head.chamber_volume"] == ["cylinder 2", "cylinder 3", "cylinder 4"]
    assert places["valve.stem_diameter"] == [f"{number} exhaust" for number in range(1, 5)]
    assert len(places["spring.seat_load"]) == 8
    assert "3 exhaust" not in places["spring.installed_height"]
    assert places["head.material"] == ["all"]  # told by looking: alike everywhere
    assert places["valve.material"] == ["intake", "exhaust"]
    assert "piston.stroke" not in places  # not listed


def test_what_is_measured_comes_again_when_asked_for(path, knowledge):
    found = rows(path, knowledge, again=True)
    (row,) = [
        r for r in found if (r["attribute"], r["where"]) == ("head.chamber_volume", "cylinder 1")
    ]
    assert row["measured before"] == "64.2 cc"


def test_a_row_tells_claim_limit_tool_resolution_and_time(path, knowledge):
    (row,) = [r for r in rows(path, knowledge) if r["attribute"] == "head.chamber_spread"]
    assert row["claimed"] == "0.4 cc"
    # The rule's own limit for a road engine; what it depends on is told in the build.
    everyday = knowledge.rules["chambers_differ"].limits["everyday"].entries[""].text
    assert f"at most {everyday} (spread of the chamber volumes)" in row["judged by"]
    procedure = knowledge.procedures[knowledge.attributes["head.chamber_spread"].measure]
    assert row["tool"] == str(procedure.file.tool)
    assert row["minutes"] == str(procedure.minutes)
    assert row["unit"] == "cc"


def test_a_limit_that_depends_on_what_is_not_told_is_not_shown(tmp_path, knowledge):
    path = written(tmp_path, BUILD.replace(", use: road", ", layout: inline"))
    (row,) = [r for r in rows(path, knowledge) if r["attribute"] == "head.chamber_spread"]
    assert "spread of the chamber volumes" not in row["judged by"]


def test_metric_sheets_bear_metric_units(path, knowledge):
    units = {row["attribute"]: row["unit"] for row in rows(path, knowledge, "metric")}
    assert (units["spring.installed_height"], units["spring.seat_load"]) == ("mm", "N")


def test_rows_of_one_set_up_and_tool_stand_together(path, knowledge):
    keys = [(row["set-up"], row["tool"]) for row in rows(path, knowledge)]
    groups = [key for key, _ in groupby(keys)]
    assert len(groups) == len(set(groups))
    setups = [key for key, _ in groupby(setup for setup, _ in keys)]
    assert len(setups) == len(set(setups))


def test_a_slot_brings_what_came_with_its_part(path, knowledge):
    slots = {row["attribute"].partition(".")[0] for row in rows(path, knowledge, slots=("head",))}
    assert slots == {"head", "valve", "spring"}


def test_no_cell_is_taken_for_a_formula(tmp_path, knowledge):
    path = written(
        tmp_path, BUILD.replace("chamber_spread: 0.4 cc", "intake_port_raised: -0.010 in")
    )
    (row,) = [r for r in rows(path, knowledge) if r["attribute"] == "head.intake_port_raised"]
    assert row["claimed"] == "'-0.010 in"


def test_print_tells_every_step_once_for_each_tool_and_every_caution(path, knowledge):
    text = " ".join(_printed(path, knowledge).split())
    used = {row["attribute"] for row in rows(path, knowledge)}
    procedures = {knowledge.attributes[name].measure for name in used}
    for name in procedures:
        file = knowledge.procedures[name].file
        for step in file.steps:
            assert " ".join(str(step).split()) in text
        for caution in file.cautions:
            assert " ".join(str(knowledge.cautions[caution].file.text).split()) in text


def test_print_has_a_blank_for_each_place(path, knowledge):
    text = _printed(path, knowledge, slots=("spring",))
    block = text[text.index("Valve spring: installed height") :].splitlines()
    assert (
        block[1].strip()
        == "outer spring's lower end to its step in the retainer, valve closed, as fitted"
    )
    assert "Claimed 1.700 in" in block[2]
    cylinders, intake, exhaust = block[3:6]
    assert cylinders.split() == ["cylinder", "1", "2", "3", "4"]
    assert intake.split() == ["intake", *["________"] * 4, "in"]
    assert exhaust.split() == ["exhaust", *["________"] * 3, "in"]  # 3 exhaust is measured
    assert exhaust.index("in", 20) == intake.index("in", 20)


def test_nothing_left_to_measure_is_said(tmp_path, knowledge):
    text = 'build: x\ncylinders: "1"\nparts: {fuel: {}}\n'
    used = knowledge.classes["fuel"].attributes
    assert used
    path = written(tmp_path, text)
    sheet = make_sheet(read_build(path, knowledge), knowledge, slots=("fuel",))
    assert {item.attribute.slot for item in sheet.items} == {"fuel"}
    empty = make_sheet(
        read_build(written(tmp_path, text.replace("{fuel: {}}", "{shim: none}")), knowledge),
        knowledge,
    )
    assert empty.items == ()


# The page that is given where not everything is asked for.


@pytest.mark.parametrize("demo", sorted(path.parent.name for path in DEMOS.glob("*/build.yaml")))
def test_one_page_decides_what_clashes_and_what_could_be_a_stop(knowledge, demo):
    check = check_build(read_build(DEMOS / demo / "build.yaml", knowledge), knowledge)
    sheet = first_sheet(check)
    assert len(paper(sheet).splitlines()) <= LINES_OF_A_PAGE
    first = [ask.attribute.name for ask in asks(check) if ask.reason <= Reason.STOP]
    rests_on = {name for finding in check.conflicts for name in finding.cited}
    names = [item.attribute.name for item in sheet.items]
    assert first[0] in names
    assert set(names) <= {*first, *rests_on}
    # What comes first is not left off for what comes after.
    own = [name for name in first if name in names and name not in rests_on]
    assert own == [name for name in first if name not in rests_on][: len(own)]
    listed = [ask for ask in asks(check) if ask.listed]
    assert sheet.left_off + len(names) >= len(listed)


def test_the_page_of_the_truck_asks_for_what_its_clashes_hang_on(knowledge):
    # Its springs go solid at the lift of the camshaft; that it is a roller's is the seller's word.
    check = check_build(read_build(DEMOS / "work_truck" / "build.yaml", knowledge), knowledge)
    text = paper(first_sheet(check))
    assert "Lifter: type of follower" in text and "Claimed hydraulic roller lifter" in text
    assert "Valve guide: guide material" in text  # bronze, in which the stems are tight
    assert "--all" in text


def test_a_page_of_one_part_bears_no_other(path, knowledge):
    check = check_build(read_build(path, knowledge), knowledge)
    slots = {item.attribute.slot for item in first_sheet(check, ("spring",)).items}
    assert slots == {"spring"}


def paper(sheet) -> str:
    console = Console(width=100, record=True, file=open("/dev/null", "w"))  # noqa: SIM115, PTH123
    write_sheet(sheet, console, "inch")
    return console.export_text()
