"""Tables against the standard library's reader, and what their places and problems say."""

import csv
import io
import os
import random

import pytest

from fitcheck.source import Source
from fitcheck.source.table import parse_table, read_table


def test_4000_tables_read_as_the_standard_library_writes_them():
    random_ = random.Random(1)
    for _ in range(4000):
        rows = [["h"] * 3] + [
            [
                "".join(random_.choice('ab",;\n\t é"') for _ in range(random_.randint(0, 5)))
                for _ in range(random_.randint(2, 4))
            ]
            for _ in range(random_.randint(1, 4))
        ]
        separator = random_.choice(",;\t")
        out = io.StringIO()
        end = random_.choice(["\n", "\r\n"])
        csv.writer(out, delimiter=separator, lineterminator=end).writerows(rows)
        problems = []
        found = parse_table(Source("t.csv", out.getvalue()), problems)
        assert [list(map(str, row.cells)) for row in found] == rows
        assert not problems


def test_each_cell_knows_where_it_stands():
    (_, row) = parse_table(Source("t.csv", 'a,b,c\n1,"x\ny",zz\n'), [])
    assert [str(cell.place) for cell in row.cells] == ["t.csv:2:1", "t.csv:2:3", "t.csv:3:4"]
    (_, row) = parse_table(Source("t.csv", "a,b\n17,43.7 mm\n"), [])
    assert row.cells[1].place.caret().splitlines() == ["17,43.7 mm", "   ^^^^^^^"]


def test_a_quote_that_stays_open_is_named_and_what_came_before_is_kept():
    problems = []
    rows = parse_table(Source("t.csv", 'a,b\n1,2\n3,"4\n5,6\n'), problems)
    assert [list(row.cells) for row in rows] == [["a", "b"], ["1", "2"]]
    (problem,) = problems
    assert str(problem.place) == "t.csv:3:3"
    assert "never closed" in problem.what


def test_only_a_last_row_can_lack_its_line_end():
    rows = parse_table(Source("t.csv", "a,b\n1,2\n3,4"), [])
    assert [row.ended for row in rows] == [True, True, False]


def test_a_byte_order_mark_is_no_part_of_the_first_cell(tmp_path):
    path = tmp_path / "t.csv"
    path.write_bytes(b"\xef\xbb\xbfa,b\r\n1,2\r\n")
    assert read_table(path, [])[0].cells == ("a", "b")


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (None, "can't be read: no such file"),
        ("a,b".encode("utf-16"), "not UTF-8"),
        (b"a,\xff\n", "not UTF-8 text (byte 2)"),
        (b"x" * 4_000_001, "larger than"),
    ],
)
def test_a_file_that_is_no_table_is_told(tmp_path, data, what):
    path = tmp_path / "t.csv"
    if data is not None:
        path.write_bytes(data)
    problems = []
    assert read_table(path, problems) == []
    assert what in problems[0].what


def test_a_file_that_is_being_written_is_not_read(tmp_path, monkeypatch):
    path = tmp_path / "t.csv"
    path.write_text("a,b\n1,2\n", encoding="utf-8")
    real = os.fstat

    def written_meanwhile(handle):
        found = real(handle)
        path.write_text("a,b\n1,2\n3,4\n", encoding="utf-8")
        return found

    monkeypatch.setattr(os, "fstat", written_meanwhile)
    problems = []
    assert read_table(path, problems) == []
    assert "was being written" in problems[0].what
