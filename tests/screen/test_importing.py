"""Lists as they come from sellers: read strictly, nothing lost, what can't be read named."""

from __future__ import annotations

import csv
import json
import zipfile

import openpyxl
import pyarrow
import pyarrow.parquet
import pytest

from fitcheck.cli.main import main
from fitcheck.screen import raw
from fitcheck.screen.importing import import_list
from fitcheck.screen.mapping import read_mapping
from fitcheck.screen.store import Catalog
from fitcheck.source import BadInput
from tests.invented.parts import demo_parts, texts, write_demo
from tests.plan.long import LONG

INCH = 25.4
LBF = 4.4482216152605
HEAD = "class,item,price [EUR],stock,rate [lbf/in],load_1_height [in],shape"


@pytest.fixture
def catalog(knowledge):
    with Catalog(knowledge) as made:
        yield made


def taken(catalog, tmp_path, text, name="list.csv", reading=None):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return import_list(catalog, path, reading)


def rows_of(catalog, slot, columns="item"):
    return catalog.run(f'SELECT {columns} FROM "{slot}" ORDER BY source, row')


def test_figures_become_intervals_in_base_units_by_the_reader_of_builds(catalog, tmp_path):
    taken(catalog, tmp_path, f"{HEAD}\nspring,A,45.50,3,300,1.80,beehive\n")
    found = rows_of(
        catalog, "spring", "price, stock, rate, rate__lo, rate__hi, load_1_height__lo, shape__mask"
    )
    price, stock, text, low, high, height, mask = found[0]
    assert (price, stock, text, mask) == (45.5, 3, "300 lbf/in", 4)
    # A claimed rate is good to 6 % by its class; 1 lbf/in is 0.17513 N/mm.
    middle = 300 * LBF / INCH
    assert (low, high) == (pytest.approx(0.94 * middle), pytest.approx(1.06 * middle))
    # A claimed height has no tolerance of its own: half of the last digit typed.
    assert height == pytest.approx(1.795 * INCH)


def test_a_cell_with_its_own_unit_is_read_by_it_and_bare_ones_by_the_columns(catalog, tmp_path):
    found = taken(catalog, tmp_path, f"{HEAD}\nspring,A,,,300,45.7 mm,\nspring,B,,,300,45.7,\n")
    assert rows_of(catalog, "spring") == [("A",)]
    ((row, item, why),) = found.aside
    assert (row, item) == (3, "B") and "1.000..2.600 in" in why


def test_a_thousands_mark_is_refused_until_the_mapping_tells_what_it_is(
    catalog, knowledge, tmp_path
):
    text = 'Part;Rate;Price;Kind\nA;1.300,5;"1.299,00";Federn\n'
    path = tmp_path / "map.yaml"
    columns = "columns: {Rate: {attribute: rate, unit: N/mm}}"
    base = "classes: {column: Kind, words: {Federn: spring}}\nitem: Part\nprice: Price\ncurrency: EUR\n"
    path.write_text(f"{base}{columns}\n", encoding="utf-8")
    found = taken(catalog, tmp_path, text, reading=read_mapping(path, knowledge))
    assert found.set_aside == 1 and not found.added
    assert "thousands" in found.aside[0][2] and "Rate" in found.aside[0][2]
    path.write_text(f'{base}thousands: "."\ndecimal: ","\n{columns}\n', encoding="utf-8")
    text = text.replace("1.300,5", "130,05")
    found = taken(catalog, tmp_path, text, reading=read_mapping(path, knowledge))
    assert found.set_aside == 0
    assert rows_of(catalog, "spring", "price, rate") == [(1299.0, "130.05 N/mm")]


def test_a_mapping_file_is_told_all_its_faults_with_their_places(knowledge, tmp_path):
    path = tmp_path / "map.yaml"
    path.write_text(
        "classes: sprung\nevidence: guessed\nthousands: x\n"
        "columns: {A: {attribute: ratee}, B: {attribute: rate, unit: furlong}, C: {attribute: shape, unit: in}}\n",
        encoding="utf-8",
    )
    with pytest.raises(BadInput) as refused:
        read_mapping(path, knowledge)
    told = [str(problem) for problem in refused.value.problems]
    for what in (
        "'sprung'",
        "'guessed'",
        "mark for thousands",
        "'ratee'",
        "'furlong'",
        "is a choice",
    ):
        assert any(what in one and "map.yaml:" in one for one in told), what


def test_rows_that_cannot_be_read_are_kept_aside_whole_with_why(catalog, tmp_path):
    text = (
        f"{HEAD}\nspring,A,10,1,300,1.80,beehive\nspring,B,free,1,300,1.80,beehive\n"
        "spring,C,10,some,300,1.80,beehive\nspring,D,10,1,300,1.80,oval\ngizmo,E,1,1,,,\n"
        "spring,,1,1,300,,\nspring,F,1,1,2,3,beehive,too,many\nspring,G,1,1,3e9,1.80,beehive\n"
        f'spring,H,1,1,"{"9" * 5000}",1.8,beehive\n'
    )
    found = taken(catalog, tmp_path, text)
    assert rows_of(catalog, "spring") == [("A",)]
    assert found.set_aside == 8
    with found.aside_file.open(encoding="utf-8") as file:
        kept = list(csv.DictReader(file))
    # Every row of the list is either in the catalog or in the file, cell for cell.
    assert [row["item"] for row in kept if row["item"]] == ["B", "C", "D", "E", "G", "H"]
    assert any("too,many" in row["class"] for row in kept)
    for row, what in zip(
        kept,
        (
            "price 'free'",
            "stock 'some'",
            "'oval' is no option",
            "no part class: gizmo",
            "no number of its own",
        ),
        strict=False,
    ):
        assert what in row["why"]


def test_importing_again_changes_nothing_and_a_changed_list_replaces(catalog, tmp_path):
    text = f"{HEAD}\nspring,A,10,1,300,1.80,beehive\nspring,A,10,1,300,1.80,beehive\nspring,A,11,1,300,1.80,beehive\n"
    first = taken(catalog, tmp_path, text)
    before = rows_of(catalog, "spring", "*")
    assert (first.twice, first.set_aside) == (1, 1) and "row 2" in first.aside[0][2]
    taken(catalog, tmp_path, text)
    assert rows_of(catalog, "spring", "*") == before
    taken(catalog, tmp_path, f"{HEAD}\nspring,B,10,1,300,1.80,beehive\n")
    assert rows_of(catalog, "spring") == [("B",)]
    taken(catalog, tmp_path, f"{HEAD}\nspring,B,10,1,300,1.80,beehive\n", "another.csv")
    assert rows_of(catalog, "spring") == [("B",), ("B",)]


def test_a_list_says_the_same_as_csv_spreadsheet_and_parquet(catalog, tmp_path):
    table = texts(demo_parts("spring", 40))
    lines = [",".join(table)] + [",".join(row) for row in zip(*table.values(), strict=True)]
    taken(catalog, tmp_path, "\n".join(lines) + "\n", "a.csv")
    numbers = {
        h: [float(c) if c and c.replace(".", "").isdigit() else c or None for c in cells]
        for h, cells in table.items()
        if h != "item"
    } | {"item": table["item"]}
    book = openpyxl.Workbook()
    book.active.append(list(numbers))
    for row in zip(*numbers.values(), strict=True):
        book.active.append(list(row))
    book.save(tmp_path / "b.xlsx")
    pyarrow.parquet.write_table(pyarrow.table(numbers), tmp_path / "c.parquet")
    for name in ("b.xlsx", "c.parquet"):
        assert import_list(catalog, tmp_path / name).set_aside == 0
    ends = "rate__lo, coil_bind_height__hi, outside_diameter__lo, springs__mask, price"
    told = [
        catalog.run(f"SELECT {ends} FROM spring WHERE source = '{name}' ORDER BY item")
        for name in ("a.csv", "b.xlsx", "c.parquet")
    ]
    assert len(told[0]) == 40
    # A spreadsheet drops the zeros at the end of figures; the column's finest figure stands for all.
    assert told[0] == told[1] == told[2]


def test_a_short_list_as_yaml_is_read_like_a_build(catalog, tmp_path):
    text = """
parts:
  - spring: {item: S1, price: 45 EUR, name: blue, claimed: {rate: 300 lbf/in, for_followers: [hydraulic_flat]}}
  - spring: {item: S2, claimed: {rate: 300}}
  - gizmo: {item: S3}
"""
    found = taken(catalog, tmp_path, text, "short.yaml")
    assert rows_of(catalog, "spring", "item, price, for_followers") == [
        ("S1", 45.0, "hydraulic_flat")
    ]
    assert found.set_aside == 2
    assert "has no unit" in found.aside[0][2] and "gizmo" in found.aside[1][2]


@pytest.mark.parametrize(
    ("name", "content", "what"),
    [
        ("a.csv", b"", "empty"),
        ("a.csv", b"class,item\xff\n", "not UTF-8"),
        ("a.csv", b"a,a,class\n", "no column tells an attribute"),
        ("a.csv", b"one,two\n1,2\n", "which class"),
        ("a.csv", b"class,two\n1,2\n", "no column tells an attribute"),
        ("a.doc", b"x", "no kind of list"),
        ("a.xlsx", b"no archive", "no spreadsheet"),
        ("a.parquet", b"PAR1 broken", "no whole Parquet"),
        ("a.yaml", b"parts: 3", "starts with 'parts:'"),
    ],
)
def test_a_file_that_is_no_list_is_refused_by_name(catalog, tmp_path, name, content, what):
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(BadInput) as refused:
        import_list(catalog, path)
    assert what in str(refused.value.problems[0]) and name in str(refused.value.problems[0])


def test_a_row_that_is_no_text_is_set_aside_and_the_others_are_taken(catalog, tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes(b"class,item,rate [lbf/in]\nspring,\xff,300\nspring,B,300\n")
    found = import_list(catalog, path)
    assert rows_of(catalog, "spring") == [("B",)]
    assert [row for row, _, _ in found.aside] == [2]


def test_an_archive_bomb_is_refused_before_it_is_unpacked(catalog, tmp_path, monkeypatch):
    monkeypatch.setattr(raw, "MOST_UNPACKED", 20_000_000)
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 21_000_000)
    assert path.stat().st_size < 100_000
    with pytest.raises(BadInput) as refused:
        import_list(catalog, path)
    assert "unpacks to 21,000,000" in str(refused.value.problems[0])


def test_sizes_are_bounded(catalog, tmp_path, monkeypatch):
    monkeypatch.setattr(raw, "MOST_BYTES", 100)
    with pytest.raises(BadInput) as refused:
        taken(catalog, tmp_path, HEAD + "\n" + "spring,A,10,1,300,1.80,beehive\n" * 10)
    assert "larger than 100 bytes" in str(refused.value.problems[0])
    monkeypatch.undo()
    with pytest.raises(BadInput) as refused:
        taken(catalog, tmp_path, "class," + ",".join(f"c{i}" for i in range(600)) + "\n")
    assert "more than 500 columns" in str(refused.value.problems[0])


@LONG
def test_the_commands_take_a_list_in_and_screen_it(tmp_path, capsys, monkeypatch):
    path, kept = tmp_path / "list.csv", tmp_path / "parts.duckdb"
    text = f"{HEAD},colour\nspring,A,10,1,300,1.78,cylindrical,red\nspring,B,,1,oops,1.80,beehive,red\n"
    path.write_text(text, encoding="utf-8")
    assert main(["catalog", str(kept), "--add", str(path)]) == 3
    told = capsys.readouterr().out
    assert "1 parts taken, 1 rows set aside" in told and "row 3 (B)" in told and "colour" in told
    from fitcheck.cli.demo import demo_folder

    build = str(demo_folder() / "service_boat/build.yaml")
    assert main(["screen", build, "spring", "--catalog", str(kept)]) in (1, 3)
    assert "1 listed: 0 fit" in capsys.readouterr().out
    assert main(["screen", build, "retainer", "locks", "--json", "--top", "1"]) == 3
    told = json.loads(capsys.readouterr().out)
    assert set(told["sets"][0]["parts"]) == {"retainer", "locks"}
    for wrong in (
        ["strings"],
        ["spring", "spring@intake"],
        ["spring", "--spares", "-1"],
        ["spring", "--catalog", "none.duckdb"],
    ):
        assert main(["screen", build, *wrong]) == 2, wrong
        assert "nothing was done" in capsys.readouterr().err


def test_the_invented_parts_shipped_are_those_of_the_seed(tmp_path):
    from fitcheck.cli.demo import demo_folder

    for path in write_demo(tmp_path, 200):
        shipped = demo_folder() / "parts" / path.name
        assert shipped.read_bytes() == path.read_bytes(), path.name


@pytest.mark.parametrize(
    ("header", "what"),
    [("price", "its prices have no currency"), ("price [Taler]", "no code of a currency")],
)
def test_prices_without_a_currency_are_refused(catalog, tmp_path, header, what):
    """Codes of three capital letters as in ISO 4217."""
    with pytest.raises(BadInput, match=what):
        taken(catalog, tmp_path, f"class,item,{header},shape\nspring,A,10,beehive\n")
    assert catalog.currency == "" and catalog.slots() == []


def test_a_catalog_has_one_currency(catalog, tmp_path):
    """A list in another one is refused; so is a single price in another one, its row kept aside."""
    text = "class,item,price [EUR],shape\nspring,A,10,beehive\nspring,B,12 EUR,beehive\n"
    found = taken(catalog, tmp_path, text + "spring,C,12 USD,beehive\n")
    assert catalog.currency == "EUR" and rows_of(catalog, "spring") == [("A",), ("B",)]
    assert "'12 USD' is in USD, the list's are in EUR" in found.aside[0][2]
    with pytest.raises(BadInput, match="in USD, those of the catalog in EUR"):
        taken(catalog, tmp_path, text.replace("EUR", "USD"), "other.csv")
    short = "parts:\n  - spring: {item: D, price: 9 USD}\n  - spring: {item: E, price: 9}\n"
    found = taken(catalog, tmp_path, short + "  - spring: {item: F, price: 9 EUR}\n", "z.yaml")
    assert [row[:1] for row in rows_of(catalog, "spring")] == [("A",), ("B",), ("F",)]
    why = " ".join(reason for _, _, reason in found.aside)
    assert "others are in EUR" in why and "has no currency" in why


def test_what_a_killed_engine_had_spilled_is_taken_away(knowledge, tmp_path):
    path = tmp_path / "parts.duckdb"
    with Catalog(knowledge, path):
        pass
    spilled = tmp_path / "parts.duckdb.tmp"
    spilled.mkdir()
    (spilled / "duckdb_temp_26076_0_storage_S32K-0.tmp").write_bytes(b"0")
    with Catalog(knowledge, path):
        assert not spilled.exists()
