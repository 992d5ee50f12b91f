"""Recording a filled sheet: what is kept, what is named, and what the build file says after."""

import csv
import io
import random
from datetime import date

import pytest

from fitcheck.check import read_build
from fitcheck.check.bind import Binding
from fitcheck.model import Origin, Position
from fitcheck.quantity import KINDS, read_quantity
from fitcheck.source import BadInput
from fitcheck.source.rewrite import read_original, undo
from tests.plan.long import LONG
from tests.record.builds import BUILD, read_text, recorded, sheet_text, told, written

HEIGHT = "spring.installed_height"
GOOD = {(HEIGHT, "1 intake"): "1.720"}


@pytest.fixture
def path(tmp_path):
    return written(tmp_path)


def _fact(path, knowledge, name, position):
    return Binding(read_build(path, knowledge), knowledge).fact(name, position)


def _filled(path, knowledge, filled, **cells):
    return sheet_text(path, knowledge, filled, **cells)


def test_inch_and_metric_readings_land_where_they_belong(path, knowledge):
    text = _filled(
        path,
        knowledge,
        {
            (HEIGHT, "1 intake"): "1.720",
            (HEIGHT, "1 exhaust"): "43.7 mm",
            (HEIGHT, "2 intake"): '1.721"',
            ("head.chamber_volume", "cylinder 3"): "64.0",
            ("valve.stem_diameter", "2 exhaust"): "0.3410",
            ("head.material", "all"): "Aluminium",
            ("valve.material", "exhaust"): "austenitic steel",
        },
        **{"with": "a gauge"},
    )
    done = recorded(path, knowledge, text)
    assert told(done) == []
    assert len(done.added) == 7
    said = {(s.attribute.name, s.selector.cylinder, s.selector.side): s for s in done.added}
    assert (
        said[HEIGHT, 1, "exhaust"].value.interval.middle
        == read_quantity("43.7 mm", KINDS["length"]).interval.middle
    )
    fact = _fact(path, knowledge, HEIGHT, Position(None, 1, "intake"))
    assert (fact.text, str(fact.statement.origin)) == (
        "1.720 in",
        "by owner, on 2026-03-09, with a gauge",
    )
    assert (
        _fact(path, knowledge, HEIGHT, Position(None, 2, "exhaust")).text == "1.700 in"
    )  # claimed
    assert _fact(path, knowledge, "head.material", Position()).text == "aluminium"
    new = path.read_text(encoding="utf-8")
    assert _within(BUILD, new)
    assert "            1 intake: 1.720 in\n" in new
    undo(path)
    assert path.read_text(encoding="utf-8") == BUILD


def _within(old, new):
    """Every line of the old file, remarks included, in the new one in order."""
    left = iter(new.splitlines())
    lines = [line.strip().removeprefix("measured: ") for line in old.splitlines() if line.strip()]
    return all(any(line in other for other in left) for line in lines)


def test_a_metric_sheet_says_the_same_as_an_inch_sheet(tmp_path, knowledge):
    facts = []
    for system, value in (("inch", "1.720"), ("metric", "43.688")):
        path = written(tmp_path)
        text = sheet_text(path, knowledge, {(HEIGHT, "1 intake"): value}, system)
        assert told(recorded(path, knowledge, text)) == []
        facts.append(_fact(path, knowledge, HEIGHT, Position(None, 1, "intake")).interval)
    assert facts[0].middle == facts[1].middle
    # The instrument's resolution holds for both, however many digits are typed.
    assert facts[0] == facts[1]


def test_columns_may_stand_in_any_order_and_tell_nothing_needed(path, knowledge):
    text = _filled(path, knowledge, GOOD)
    table = list(csv.DictReader(io.StringIO(text, newline="")))
    names = [name for name in table[0] if name not in ("part", "claimed", "with")]
    random.Random(3).shuffle(names)
    out = io.StringIO()
    writer = csv.DictWriter(out, names, extrasaction="ignore", delimiter=";")
    writer.writeheader()
    writer.writerows(table)
    done = recorded(path, knowledge, out.getvalue())
    assert told(done) == []
    assert [s.value.text for s in done.added] == ["1.720 in"]


@pytest.mark.parametrize("missing", ["attribute", "where", "measured"])
def test_a_column_that_no_row_can_do_without_is_named(path, knowledge, missing):
    text = _filled(path, knowledge, GOOD).replace(missing, f"{missing}x", 1)
    filled = read_text(path, knowledge, text)
    assert not filled.taken
    assert any(f"the column '{missing}' is missing" in what for what in told(filled))
    assert any(f"the column '{missing}x' is not read" in what for what in told(filled))
    assert any(missing in problem.mend for problem in filled.rejected)


def test_a_column_that_stands_twice_is_named(path, knowledge):
    text = _filled(path, knowledge, GOOD).replace(",unit,", ",measured,", 1)
    assert not read_text(path, knowledge, text).taken


HEAD = "attribute,where,measured,unit,by,when,with,minutes\n"
KEPT = "spring.installed_height,1 intake,1.720,in,me,2026-03-09,,3\n"
BAD = {
    "decimal comma": (
        'spring.installed_height,2 intake,"17,20",in,me,2026-03-09,,3',
        "3:35 installed height: the comma in '17,20' may mean a decimal point or thousands",
    ),
    "comma that parts the cell": (
        "spring.installed_height,2 intake,1,720,in,me,2026-03-09,,3",
        "3:1 this row has more cells than the sheet has columns",
    ),
    "stray unit": (
        "spring.installed_height,2 intake,1.720 lbf,in,me,2026-03-09,,3",
        "3:40 installed height: 'lbf' is a unit of force, and length is wanted here",
    ),
    "unit twice": (
        "spring.installed_height,2 intake,1.720 in in,in,me,2026-03-09,,3",
        "3:40 installed height: the unit 'in in' is not known",
    ),
    "wrong unit in its column": (
        "spring.installed_height,2 intake,1.720,mm,me,2026-03-09,,3",
        "3:34 installed height of 1.720 mm is outside 1.000..2.600 in, the range that is plausible for it",
    ),
    "no unit": (
        "spring.installed_height,2 intake,1.720,,me,2026-03-09,,3",
        "3:34 installed height: '1.720' has no unit",
    ),
    "no number": (
        "spring.installed_height,2 intake,about an inch,in,me,2026-03-09,,3",
        "3:34 installed height: 'about an inch' does not start with a number",
    ),
    "spreadsheet date for a fraction": (
        "spring.installed_height,2 intake,23-Nov,in,me,2026-03-09,,3",
        "3:36 installed height: the unit '-Nov' is not known",
    ),
    "no such cylinder": (
        "spring.installed_height,5 intake,1.720,in,me,2026-03-09,,3",
        "3:25 there is no position '5 intake' in this engine",
    ),
    "no position": (
        "spring.installed_height,left hand,1.720,in,me,2026-03-09,,3",
        "3:25 'left hand' names no position",
    ),
    "no place": (
        "spring.installed_height,,1.720,in,me,2026-03-09,,3",
        "3:25 '?' names no position",
    ),
    "too fine a place": (
        "head.material,3 exhaust,iron,,me,2026-03-09,,3",
        "3:15 'head material' is one figure for each bank, not for each valve",
    ),
    "no attribute": (
        "spring.instaled_height,2 intake,1.720,in,me,2026-03-09,,3",
        "3:1 a valve spring has no attribute 'instaled_height'",
    ),
    "part not listed": (
        "piston.compression_height,1,1.720,in,me,2026-03-09,,3",
        "3:1 no piston is listed in this build",
    ),
    "no date": (
        "spring.installed_height,2 intake,1.720,in,me,,,3",
        "3:46 no date is given for this measurement",
    ),
    "date of another form": (
        "spring.installed_height,2 intake,1.720,in,me,09.03.2026,,3",
        "3:46 '09.03.2026' is no date",
    ),
    "date that is none": (
        "spring.installed_height,2 intake,1.720,in,me,2026-02-30,,3",
        "3:46 '2026-02-30' is no date",
    ),
    "date to come": (
        "spring.installed_height,2 intake,1.720,in,me,2026-04-02,,3",
        "3:46 2026-04-02 is still to come",
    ),
    "nobody": (
        "spring.installed_height,2 intake,1.720,in,,2026-03-09,,3",
        "3:43 nobody is named who measured this",
    ),
    "no option": (
        "head.material,all,alumnium,,me,2026-03-09,,3",
        "3:19 'alumnium' is no option of head material",
    ),
    "control character": (
        "spring.installed_height,2 intake,1.720,in,m\x07e,2026-03-09,,3",
        "3:1 a cell of this row holds a character that can't be printed",
    ),
    "contradicting row": (
        "spring.installed_height,1 intake,1.725,in,me,2026-03-09,,3",
        "3:34 the row contradicts line 2: neither is taken",
    ),
    "cut off in a cell": (
        "spring.installed_height,2 intake,1.7",
        "3:1 the file ends in the middle of this row: it may be cut off",
    ),
    "cut off in a figure that tells no more": (
        "spring.installed_height,2 intake,1.720,in,me,2026-0",
        "3:1 the file ends in the middle of this row: it may be cut off",
    ),
    "quote never closed": (
        'spring.installed_height,2 intake,"1.720,in,me,2026-03-09,,3',
        "3:34 a quote is opened here and never closed: nothing is read from this row on",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_a_bad_row_is_named_and_the_good_ones_are_kept(path, knowledge, case):
    row, what = BAD[case]
    end = "" if "cut off" in case else "\n"
    done = recorded(
        path, knowledge, HEAD + KEPT + row + end, usual=Origin(), today=date(2026, 4, 1)
    )
    assert told(done) == [what]
    kept = [] if case == "contradicting row" else ["1.720 in"]
    assert [statement.value.text for statement in done.added] == kept
    build = read_build(path, knowledge)
    assert sum(s.origin.by == "me" for s in build.statements()) == len(kept)


def test_a_row_with_several_bad_cells_names_each(path, knowledge):
    row = "spring.installed_height,9 intake,1.7 lbf,in,,soon,,3\n"
    assert len(told(recorded(path, knowledge, HEAD + KEPT + row, usual=Origin()))) == 4


def test_a_row_that_repeats_another_is_taken_once_and_named(path, knowledge):
    done = recorded(path, knowledge, HEAD + KEPT + KEPT.replace("1.720", "01.720"))
    assert [s.value.text for s in done.added] == ["1.720 in"]
    assert told(done) == ["3:34 the row repeats line 2: it is taken once"]


def test_rows_of_two_days_are_both_kept(path, knowledge):
    done = recorded(
        path, knowledge, HEAD + KEPT + KEPT.replace("1.720", "1.715").replace("03-09", "03-10")
    )
    assert told(done) == []
    assert _fact(path, knowledge, HEIGHT, Position(None, 1, "intake")).text == "1.715 in"


def test_commas_are_decimal_marks_where_that_is_said(path, knowledge):
    rows = (HEAD + KEPT).replace(",", ";").replace("1.720", "1,720")
    told_at_first = told(recorded(path, knowledge, rows.replace("1,720", "17,20")))
    assert "decimal point or thousands" in told_at_first[0]
    done = recorded(path, knowledge, rows, decimal_comma=True)
    assert [s.value.text for s in done.added] == ["1.720 in"]
    for cell in ("1.720", "1.720,5"):
        text = (HEAD + KEPT).replace(",", ";").replace("1.720", cell)
        assert len(told(read_text(path, knowledge, text, decimal_comma=True))) == 1


def test_a_tolerance_and_a_range_are_read_with_the_unit_of_their_column(path, knowledge):
    rows = (
        HEAD
        + KEPT.replace("1.720", "1.720 +-0.002")
        + KEPT.replace("1.720", "1.71..1.73").replace("1 intake", "2 intake")
    )
    done = recorded(path, knowledge, rows)
    assert [s.value.text for s in done.added] == ["1.720 +-0.002 in", "1.71..1.73 in"]


def test_several_options_in_one_cell(path, knowledge):
    row = 'head.sold_for_fuels,all,"petrol, ethanol",,me,2026-03-09,,3\n'
    options = knowledge.attributes["head.sold_for_fuels"].options
    assert {"petrol", "ethanol"} <= set(options)
    done = recorded(path, knowledge, HEAD + row)
    assert told(done) == []
    assert done.added[0].value == sum(1 << options.index(name) for name in ("petrol", "ethanol"))


def test_a_sheet_recorded_twice_adds_nothing(path, knowledge):
    text = _filled(path, knowledge, {**GOOD, ("valve.stem_diameter", "1 intake"): "0.3412"})
    assert len(recorded(path, knowledge, text).added) == 2
    state = path.read_text(encoding="utf-8")
    again = recorded(path, knowledge, text)
    assert (len(again.added), len(again.known)) == (0, 2)
    assert path.read_text(encoding="utf-8") == state


def test_a_side_that_is_not_listed_is_named(tmp_path, knowledge):
    text = BUILD.replace("        exhaust:\n          claimed: {head_diameter: 1.600 in}\n", "")
    path = written(tmp_path, text)
    row = "valve.stem_diameter,2 exhaust,0.3410,in,me,2026-03-09,,3\n"
    done = recorded(path, knowledge, HEAD + KEPT + row)
    assert len(done.added) == 1
    assert told(done) == ["3:31 no valve is listed for this side"]


def test_a_build_edited_while_the_sheet_was_read_is_left_alone(path, knowledge):
    from fitcheck.check.records.record import record

    original = read_original(path)
    filled = read_text(path, knowledge, HEAD + KEPT)
    edited = BUILD.replace("(invented)", "(invented, edited)")
    path.write_text(edited, encoding="utf-8")
    with pytest.raises(BadInput, match="has changed since it was read"):
        record(original, path, filled, knowledge)
    assert path.read_text(encoding="utf-8") == edited


def test_what_can_not_be_added_safely_is_not_written(path, knowledge, monkeypatch):
    from fitcheck.check.records import record as module

    monkeypatch.setattr(module, "with_entries", lambda text, *_: text.replace("1.690", "1.691"))
    done = recorded(path, knowledge, HEAD + KEPT)
    assert not done.added
    assert "2:34 the measurements can't be added safely" in told(done)[0]
    assert path.read_text(encoding="utf-8") == BUILD


@LONG
def test_every_figure_of_a_demo_can_be_recorded_and_undone(tmp_path, knowledge):
    """All attributes of all listed parts, with a value from the middle of what is plausible."""
    from fitcheck.cli.demo import demo_folder
    from fitcheck.quantity import Interval, show

    for demo in sorted(demo_folder().glob("*/build.yaml"))[-1:]:
        path = tmp_path / demo.parent.name
        path.mkdir()
        path = written(path, demo.read_text(encoding="utf-8"))
        before = path.read_bytes()
        build = read_build(path, knowledge)
        rows = [HEAD]
        for slot in build.parts:
            for attribute in knowledge.classes[slot].attributes.values():
                if attribute.name.endswith((".present", ".comes_with_head")):
                    continue
                if attribute.kind is not None:
                    middle = attribute.plausible.middle
                    middle = round(middle) if attribute.kind.name == "count" else middle
                    value = show(Interval.point(middle), attribute.kind)
                else:
                    value = attribute.option_words[0] if attribute.options else "some words"
                rows.append(
                    f'{attribute.name},all,"{value.replace(chr(34), chr(34) * 2)}",,me,2026-03-09,,3\n'
                )
        done = recorded(path, knowledge, "".join(rows))
        # The numbers of cylinders and banks stand at the top of the file.
        assert all(" the engine has " in what for what in told(done))
        assert len(done.rejected) <= 2
        assert len(done.added) == len(rows) - 1 - len(done.rejected) > 100
        undo(path)
        assert path.read_bytes() == before
