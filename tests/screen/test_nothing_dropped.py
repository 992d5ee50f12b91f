"""Lists as attackers and spreadsheets make them: each row is taken or told, and nothing else is hurt.

Rows are followed by a mark of their own, which no part of the reader knows of. FITCHECK_LISTS says
how many random lists are tried of each kind (20 in the suite, 1 000 by .ci/run).
"""

from __future__ import annotations

import os
import random
import sqlite3
import zipfile
from pathlib import Path

import duckdb
import openpyxl
import pyarrow
import pyarrow.parquet
import pytest

from fitcheck.cli.main import main
from fitcheck.screen import raw
from fitcheck.screen.cells import Cells
from fitcheck.screen.importing import import_list
from fitcheck.screen.mapping import ListFormat
from fitcheck.screen.store import Catalog
from fitcheck.source import BadInput, Problem

HEAD = "class,item,price [EUR],rate [lbf/in],shape,colour"
QUOTED = '"red, or nearly"'  # what the store's own reader of plain lines leaves alone
LISTS = int(os.environ.get("FITCHECK_LISTS", "5"))


@pytest.fixture
def catalog(knowledge):
    with Catalog(knowledge) as made:
        yield made


def written(folder, text, name="list.csv"):
    path = folder / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def row(item, price="10", rate="300", shape="beehive", colour="red"):
    return f"spring,{item},{price},{rate},{shape},{colour}"


def items(catalog):
    return [
        item for slot in catalog.slots() for (item,) in catalog.run(f'SELECT item FROM "{slot}"')
    ]


def whys(found):
    return "; ".join(f"row {number}: {why}" for number, _, why in found.aside)


# What a list may look like.


def test_a_quote_that_is_never_closed_costs_its_own_row_and_no_other(catalog, tmp_path):
    rows = [row(f"A{number}") for number in range(12)]
    rows[5] = row("A5", colour='"red')
    found = import_list(catalog, written(tmp_path, "\n".join([HEAD, *rows]) + "\n"))
    assert items(catalog) == [f"A{number}" for number in range(12) if number != 5]
    assert found.set_aside == 1 and "row 7: a quote is opened and never closed" in whys(found)
    assert "A5" in found.aside_file.read_text(encoding="utf-8")


def test_rows_that_two_stray_quotes_would_join_are_told(catalog, tmp_path):
    rows = [
        row("A"),
        'spring,B,10,300,beehive,"red',
        row("C"),
        'spring,D,10,300,beehive"',
        row("E"),
    ]
    rows[3] = 'spring,D",10,300,beehive,x'
    found = import_list(catalog, written(tmp_path, "\n".join([HEAD, *rows]) + "\n"))
    assert items(catalog) == ["A", "E"]
    kept = found.aside_file.read_text(encoding="utf-8")
    assert all(f"spring,{item}" in kept or f",{item}," in kept for item in "BCD")


def test_a_cell_of_several_lines_is_one_cell(catalog, tmp_path):
    text = f'{HEAD},name\n{row("A")},"blue,\nfor 5/16 stems"\n{row("B")},plain\n'
    import_list(catalog, written(tmp_path, text))
    told = catalog.run("SELECT item, name FROM spring ORDER BY item")
    assert told == [("A", "blue, for 5/16 stems"), ("B", "plain")]


@pytest.mark.parametrize("end", ["\r", "\r\n", "\n"])
def test_every_kind_of_line_end_ends_a_line(catalog, tmp_path, end):
    text = end.join([HEAD, row("A"), "", row("B"), row("C", rate="x")])
    found = import_list(catalog, written(tmp_path, text))
    assert items(catalog) == ["A", "B"] and (found.blank, found.set_aside) == (1, 1)
    assert found.aside[0][0] == 5  # the line in the file, blank ones counted


def test_what_is_no_text_or_no_figure_is_told(catalog, tmp_path):
    text = "\n".join(
        [
            HEAD,
            row("A\0"),
            row("B", rate="3\x0000"),
            row("C", rate="٣٠٠"),
            row("D", price="١٠"),
            row("E", price="1e999999999"),
            row("F", rate="1e999999999"),
            row("G", price="1" * 300),
            row("H" * 1001),
            row("I\x1b[31m"),
            row("J"),
            "",
        ]
    )
    found = import_list(catalog, written(tmp_path, text))
    assert items(catalog) == ["J"] and found.set_aside == 9
    told = whys(found)
    for what in ("row 2: item: it holds a character", "digits 0 to 9", "row 8: price longer"):
        assert what in told
    kept = found.aside_file.read_bytes()
    assert b"\0" not in kept and b"\x1b" not in kept and b"\\x00" in kept


def test_a_price_of_thousands_is_not_taken_for_one_of_three_decimals(catalog, tmp_path):
    prices = ("1.200", "45.50", "0.125", "12.3456", "2.350 EUR")
    rows = [row(f"A{number}", price=price) for number, price in enumerate(prices)]
    found = import_list(catalog, written(tmp_path, "\n".join([HEAD, *rows]) + "\n"))
    assert items(catalog) == ["A1", "A2", "A3"]
    assert whys(found).count("may mean thousands or decimals") == 2
    cells = [HEAD.split(","), *([*row("B", price="").split(",")] for _ in "1")]
    cells[1][2] = 1.234  # a number of a spreadsheet says where its decimals are
    assert import_list(catalog, sheet(tmp_path / "a.xlsx", cells)).added == {"spring": 1}
    for decimal, price in ((".", 1.2), (",", None)):
        told = Cells(
            catalog.knowledge,
            ListFormat("", "spring", "", {}, {}, (), decimal=decimal, currency="EUR"),
        )
        assert told.price("1.200")[0] == price


@pytest.mark.parametrize("blanks", [" " * 60_000, "\t" * 60_000, "\u00a0" * 60_000])
def test_many_blanks_cost_nothing(catalog, knowledge, tmp_path, blanks):
    """They took a minute by two patterns; what is asked here is that the work does not grow so."""
    reading = ListFormat("", "spring", "", {}, {}, (), currency="EUR")
    assert Cells(knowledge, reading).price(f"1{blanks}x")[0] is None
    assert Cells(knowledge, reading).stock(f"1{blanks}x")[0] is None
    found = import_list(catalog, written(tmp_path, f"{HEAD}\n{row('A', price=f'1{blanks}x')}\n"))
    assert found.set_aside == 1
    with pytest.raises(BadInput):
        import_list(catalog, written(tmp_path, f"class,item,x{blanks}y\nspring,A,1\n"))
    with pytest.raises(BadInput, match="longer than 200 characters"):
        import_list(catalog, written(tmp_path, f"class,item,{'x ' * 60_000}\nspring,A,1\n"))


# Where a list stands, and what stood there.


def test_a_name_with_wildcards_is_that_file_and_no_other(catalog, tmp_path):
    for number, name in enumerate(["a[1].csv", "a1.csv", "a*.csv", "a?.csv", "ab.csv"]):
        written(tmp_path, f"{HEAD}\n{row(f'N{number}')}\n", name)
    import_list(catalog, tmp_path / "a[1].csv")
    assert items(catalog) == ["N0"]
    import_list(catalog, tmp_path / "a*.csv")
    import_list(catalog, tmp_path / "a?.csv")
    assert items(catalog) == ["N0", "N2", "N3"]
    table = pyarrow.table({"class": ["spring"], "item": ["P"], "shape": ["beehive"]})
    pyarrow.parquet.write_table(table, tmp_path / "a*.parquet")
    pyarrow.parquet.write_table(table, tmp_path / "ab.parquet")
    assert import_list(catalog, tmp_path / "a*.parquet").added.total() == 1


def test_two_lists_of_one_name_do_not_replace_each_other(catalog, tmp_path):
    for folder in ("north", "south"):
        text = f"{HEAD}\n{row(folder)}\n"
        import_list(catalog, written(tmp_path / folder, text, "prices.csv"))
    assert items(catalog) == ["north", "south"]
    sources = [name for (name,) in catalog.run("SELECT source FROM spring ORDER BY item")]
    assert sources == ["prices.csv", "south/prices.csv"]
    import_list(catalog, written(tmp_path / "south", f"{HEAD}\n{row('new')}\n", "prices.csv"))
    assert items(catalog) == ["north", "new"]


@pytest.mark.parametrize("name", ["list.csv", "list.yaml"])
def test_a_list_of_which_nothing_can_be_taken_empties_no_catalog(catalog, tmp_path, name):
    good = f"{HEAD}\n{row('A')}\n" if name.endswith("csv") else "parts: [spring: {item: A}]\n"
    bad = f"{HEAD}\n{row('B', rate='x')}\n" if name.endswith("csv") else "parts: [gizmo: {}]\n"
    import_list(catalog, written(tmp_path, good, name))
    found = import_list(catalog, written(tmp_path, bad, name))
    assert items(catalog) == ["A"] and found.kept == {"spring": 1} and found.set_aside == 1


def test_rows_set_aside_are_kept_beside_those_of_the_next_list(catalog, tmp_path):
    files = []
    for name, rate in (("a.csv", "x"), ("a.csv", "x"), ("a.csv", "y"), ("a.txt", "z")):
        found = import_list(catalog, written(tmp_path, f"{HEAD}\n{row('A', rate=rate)}\n", name))
        files.append(found.aside_file.name)
    # The same rows once more stand there already.
    second, third = "a.set_aside.2.csv", "a.set_aside.3.csv"
    assert files == ["a.set_aside.csv", "a.set_aside.csv", second, third]


def test_the_command_writes_rows_set_aside_over_no_file(tmp_path, capsys):
    build, parts = written(tmp_path, "build: mine\n", "b.csv"), tmp_path / "p.duckdb"
    lists = [written(tmp_path, f"{HEAD}\n{row(n, rate='x')}\n", f"{n}.csv") for n in "AB"]
    added = [word for path in lists for word in ("--add", str(path))]
    assert main(["catalog", str(parts), *added, "--aside", str(build)]) == 3
    assert build.read_text(encoding="utf-8") == "build: mine\n"
    told = capsys.readouterr().out
    assert "b.2.csv" in told and "b.3.csv" in told
    assert ",A," in (tmp_path / "b.2.csv").read_text(encoding="utf-8")


def test_a_row_set_aside_is_no_formula_and_comes_back_as_it_was(catalog, tmp_path):
    found = import_list(catalog, written(tmp_path, f"{HEAD}\n{row('=A1+2', rate='x')}\n"))
    text = found.aside_file.read_text(encoding="utf-8")
    assert ",'=A1+2," in text
    import_list(catalog, written(tmp_path, text.replace(",x,", ",300,"), "mended.csv"))
    assert items(catalog) == ["=A1+2"]


def test_a_disk_that_is_full_at_last_is_what_is_told(tmp_path, monkeypatch, capsys):
    """The store undoes by itself what it could not settle; nothing is left to be undone then."""
    real, parts = Catalog.run, tmp_path / "p.duckdb"

    def run(catalog, query):
        if query == "COMMIT":
            parts.with_name("p.duckdb.wal").touch()
            real(catalog, "ROLLBACK")
            raise BadInput([Problem("no space left on device", None)])
        return real(catalog, query)

    monkeypatch.setattr(Catalog, "run", run)
    path = written(tmp_path, f"{HEAD}\n{row('A')}\n")
    assert main(["catalog", str(parts), "--add", str(path)]) == 2
    assert "no space left" in capsys.readouterr().err
    assert [one.name for one in tmp_path.iterdir()] == ["list.csv"]


def test_a_full_disk_takes_nothing_and_leaves_nothing(catalog, tmp_path, monkeypatch):
    import_list(catalog, written(tmp_path, f"{HEAD}\n{row('A')}\n"))

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(BadInput, match="no space left"):
        import_list(catalog, written(tmp_path, f"{HEAD}\n{row('B')}\n{row('C', rate='x')}\n"))
    assert items(catalog) == ["A"] and [p.name for p in tmp_path.iterdir()] == ["list.csv"]


# Files that are no list.


def damaged_parquet(path):
    cells = {
        "class": ["spring"] * 500,
        "item": [f"I{n}" for n in range(500)],
        "shape": ["oval"] * 500,
    }
    pyarrow.parquet.write_table(
        pyarrow.table(cells), path, compression="none", use_dictionary=False
    )
    data = bytearray(path.read_bytes())
    data[40:1500] = os.urandom(1460)
    path.write_bytes(data)


def folder(path):
    path.mkdir()


def foreign_database(path):
    with duckdb.connect(str(path)) as made:
        made.execute("CREATE TABLE spring (item VARCHAR)")


def older_catalog(path):
    with duckdb.connect(str(path)) as made:
        made.execute("CREATE TABLE customers (name VARCHAR)")


def other_database(path):
    made = sqlite3.connect(path)
    made.execute("CREATE TABLE spring (item)")
    made.commit()
    made.close()


def no_database(path):
    path.write_bytes(b"x" * 5000)


@pytest.mark.parametrize(
    ("name", "make"),
    [
        ("a.parquet", damaged_parquet),
        ("a.csv", folder),
        ("a.xlsx", folder),
        ("a.parquet", folder),
        ("a.yaml", folder),
        ("a.duckdb", folder),
        ("a.duckdb", foreign_database),
        ("a.duckdb", older_catalog),
        ("a.duckdb", other_database),
        ("a.duckdb", no_database),
    ],
)
def test_a_file_of_another_kind_is_refused_with_what_to_do(tmp_path, capsys, name, make):
    path, good = tmp_path / name, written(tmp_path, f"{HEAD}\n{row('A')}\n", "good.csv")
    make(path)
    before = path.read_bytes() if path.is_file() else b""
    catalog, added = (path, good) if path.suffix == ".duckdb" else (tmp_path / "p.duckdb", path)
    assert main(["catalog", str(catalog), "--add", str(added)]) == 2
    told = capsys.readouterr().err
    assert f"{name}:1:1: " in told and "nothing was done" in told and "\n  " in told
    assert not path.is_file() or path.read_bytes() == before
    # A catalog that nothing could be taken into is not left behind.
    assert path.suffix == ".duckdb" or not catalog.exists()


# Spreadsheets.


def sheet(path, rows):
    book = openpyxl.Workbook()
    for cells in rows:
        book.active.append(cells)
    book.save(path)
    return path


def test_cells_beyond_the_header_and_formulas_without_a_value_are_told(catalog, tmp_path):
    head = ["class", "item", "rate [lbf/in]"]
    rows = [["spring", "A", 300], ["spring", "B", 300, "and more"], ["spring", "C", "=150*2"]]
    path = sheet(tmp_path / "a.xlsx", [head, *rows, ["spring", "D", 300, None, " "]])
    found = import_list(catalog, path)
    assert items(catalog) == ["A", "D"] and found.set_aside == 2
    assert "row 3: it has cells beyond the columns that have a name: and more" in whys(found)
    assert "C4 is a formula whose value the file does not hold" in whys(found)


def with_page(path, change):
    """A spreadsheet with its first page's XML changed."""
    entries = {}
    with zipfile.ZipFile(path) as archive:
        entries = {one: archive.read(one) for one in archive.namelist()}
    entries["xl/worksheets/sheet1.xml"] = change(entries["xl/worksheets/sheet1.xml"])
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in entries.items():
            archive.writestr(name, data)
    return path


def test_a_formula_whose_value_is_an_empty_text_has_a_value(catalog, tmp_path):
    path = sheet(tmp_path / "a.xlsx", [["class", "item", "rate", "shape"], ["spring", "A", "=B1"]])
    with_page(
        path, lambda page: page.replace(b'<c r="C2"><f>B1</f><v', b'<c r="C2" t="str"><f>B1</f><v')
    )
    assert import_list(catalog, path).added == {"spring": 1}


def test_a_sheet_that_says_it_ends_before_it_does_is_read_to_its_end(catalog, tmp_path):
    rows = [["spring", f"A{n}", "beehive"] for n in range(9)]
    path = sheet(tmp_path / "a.xlsx", [["class", "item", "shape"], *rows])
    with_page(path, lambda page: page.replace(b'ref="A1:C10"', b'ref="A1:B3"'))
    assert import_list(catalog, path).added == {"spring": 9}


def test_a_sheet_whose_rows_are_in_disorder_is_refused(catalog, tmp_path):
    rows = [["spring", f"A{n}", "beehive"] for n in range(9)]
    path = sheet(tmp_path / "a.xlsx", [["class", "item", "shape"], *rows])
    with_page(path, lambda page: page.replace(b'r="A4"', b'r="A9"'))
    with pytest.raises(BadInput, match="do not stand in order"):
        import_list(catalog, path)


def test_a_filled_sheet_tells_a_formula_without_a_value(tmp_path, capsys):
    build = written(tmp_path, 'build: a try\ncylinders: "2"\nparts:\n  spring: {}\n', "b.yaml")
    path = tmp_path / "s.xlsx"
    assert main(["sheet", str(build), "--all", "--table", str(path)]) == 0
    book = openpyxl.load_workbook(path)
    head = [cell.value for cell in book.active[1]]
    cell = book.active.cell(2, head.index("reading") + 1 if "reading" in head else 4)
    cell.value, cell.data_type = "=1+1", "f"
    book.save(path)
    assert main(["record", str(build), str(path), "--by", "me"]) == 2
    assert f"{cell.coordinate} is a formula whose value" in capsys.readouterr().err


# Random lists: every row's mark is found again, in the catalog or in what is told.

WORDS = ["", " ", "red", "5/16\"", "\"", "\"\"", "\"a\"", "\"a,b\"", "a,b", "'=x", "=x", "é", "\t", "3;4", "\"a\"b", "x\"", "\"x"]  # fmt: skip


def random_rows(chance, count):
    rates = ["300", "300", "310.5", "x", "", "1e3", "3e99999", "300 N/mm", '"300"', " 300 "]
    for number in range(count):
        mark = f"K{number:04}Z"
        yield [
            chance.choice(["spring"] * 8 + ["retainer", "gizmo", ""]),
            chance.choice([mark] * 6 + [f'"{mark}"', f' {mark} ', f'{mark}"', f'"{mark}', f'"{mark}\n{mark}"']),
            chance.choice(["10", "10", "", "free", "12.5 EUR", "1e999999999", "\"10\""]),
            chance.choice(rates),
            chance.choice(["beehive", "cylindrical", "", "oval"]),
            chance.choice(WORDS),
        ][: chance.choice([6] * 9 + [3, 5])] + (["more"] if chance.random() < 0.05 else [])  # fmt: skip


def marks_of(rows):
    return {
        cell.strip('" ').partition("\n")[0].strip('" ') for cells in rows for cell in cells[1:2]
    }


def told_of(catalog, found):
    texts = [item for item in items(catalog) if item]
    if found.aside_file:
        texts.append(found.aside_file.read_text(encoding="utf-8"))
    return "\n".join(texts)


def check_reconciled(found, rows):
    told = found.set_aside + found.twice + found.blank
    assert found.added.total() + told == rows


@pytest.mark.in_ci
@pytest.mark.parametrize("seed", range(LISTS))
def test_no_row_of_a_random_csv_is_lost(catalog, tmp_path, seed):
    chance = random.Random(seed)
    rows = list(random_rows(chance, chance.randrange(1, 40)))
    separator = chance.choice(",;\t,")
    lines = []
    for cells in [HEAD.split(","), *rows]:
        line = separator.join(cell.replace(",", separator) if lines else cell for cell in cells)
        lines += [line + chance.choice(["\n"] * 5 + ["\r\n", "\r"] if seed % 2 else ["\r\n"])]
        lines += (
            [chance.choice(["\n", " \n", separator * 3 + "\n"])] if chance.random() < 0.1 else []
        )
    if chance.random() < 0.3:
        lines[-1] = lines[-1].rstrip("\r\n")
    data = "".join(lines).encode()
    if chance.random() < 0.2:
        data = data.replace("é".encode(), b"\xe9")
    path = written(tmp_path, data)
    found = import_list(catalog, path)
    told = told_of(catalog, found)
    assert [mark for mark in marks_of(rows) if mark not in told] == []


@pytest.mark.in_ci
@pytest.mark.parametrize("seed", range(LISTS // 4))
@pytest.mark.parametrize("kind", [".xlsx", ".parquet", ".yaml"])
def test_no_row_of_another_kind_of_list_is_lost(catalog, tmp_path, kind, seed):
    chance = random.Random(f"{kind} {seed}")
    rows = list(random_rows(chance, chance.randrange(1, 30)))
    path = tmp_path / f"list{kind}"
    heads = HEAD.split(",")
    if kind == ".xlsx":
        cells = [[c or None for c in one] for one in rows]
        for one in cells:
            if len(one) > 3 and chance.random() < 0.3:
                one[3] = chance.choice([300, 310.25, True, "=1+1"])
        sheet(path, [heads, *cells])
    elif kind == ".parquet":
        full = [[*one, *[None] * 6][:6] for one in rows]
        columns = dict(zip(heads, map(list, zip(*full, strict=True)), strict=True))
        pyarrow.parquet.write_table(pyarrow.table(columns), path)
    else:
        entries = []
        for slot, item, *_ in rows:
            name = item.replace('"', "").replace("\n", " ")
            entries.append(
                f"  - {slot or 'none'}: {{item: '{name}', rate: {chance.choice(['300 lbf/in', 'x', '300'])}}}"
            )
        path.write_text("parts:\n" + "\n".join(entries) + "\n", encoding="utf-8")
    found = import_list(catalog, path)
    check_reconciled(found, len(rows))
    told = told_of(catalog, found)
    assert [mark for mark in marks_of(rows) if mark not in told] == []


def test_a_row_that_the_reader_itself_loses_stops_the_import(catalog, tmp_path, monkeypatch):
    """Rows read are reconciled with rows taken and told by the program, before any is kept."""
    import_list(catalog, written(tmp_path, f"{HEAD}\n{row('A')}\n"))
    monkeypatch.setattr(raw._Table, "insert", lambda *_: None)
    with pytest.raises(AssertionError, match="2 rows read"):
        import_list(catalog, written(tmp_path, f"{HEAD}\n{row('B')}\n{row('C', colour=QUOTED)}\n"))
    assert items(catalog) == ["A"]


def test_a_line_that_the_reader_itself_loses_stops_the_import(catalog, tmp_path, monkeypatch):
    from fitcheck.screen.records import Records

    real = Records._from_file
    monkeypatch.setattr(Records, "_from_file", lambda self: real(self) and real(self))
    with pytest.raises(AssertionError, match="lines"):
        import_list(
            catalog,
            written(tmp_path, "\n".join([HEAD, HEAD, row("A"), row("B", colour=QUOTED), row("C")])),
        )


def cells_read(catalog, path):
    """The rows as they were read, with what stands in their cells."""
    found = raw.read_raw(catalog, path)
    rows = catalog.run(f"SELECT * FROM {raw.RAW} ORDER BY row")
    return found, [(number, *(cell or "" for cell in cells)) for number, *cells in rows]


@pytest.mark.in_ci
@pytest.mark.parametrize("seed", range(LISTS))
def test_plain_lines_are_read_alike_by_the_store_and_line_by_line(
    catalog, tmp_path, monkeypatch, seed
):
    """Without quotes a row is a line; ragged ones, spaces, other ends of lines, odd letters stay."""
    chance = random.Random(seed)
    separator, end = chance.choice(",;\t"), chance.choice(["\n", "\r\n"])
    some = [
        "",
        " ",
        "1.5",
        " 2 ",
        "ü",
        "#3",
        "\\",
        "NULL",
        "null",
        "-",
        "a b",
        "%",
        "\u2028",
        "true",
    ]
    lines = [
        separator.join(chance.choice(some) for _ in range(chance.choice([3, 4, 4, 4, 4])))
        for _ in range(chance.randrange(1, 30))
    ]
    lines += chance.choice([[], [" "], [f"a{separator * 4}b"], [""]])
    text = end.join([separator.join(["item", "rate", "shape", "colour"]), *lines])
    text += chance.choice(["", end])
    path = written(tmp_path, chance.choice(["", "\ufeff"]) + text)
    by_store, told = cells_read(catalog, path)
    monkeypatch.setattr(raw, "lines_of", lambda _: 0)
    one_by_one, wanted = cells_read(catalog, path)
    assert told == wanted and by_store == one_by_one


def test_a_row_that_the_store_loses_is_read_line_by_line(catalog, tmp_path, monkeypatch):
    def losing(catalog, *about):
        taken = insert(catalog, *about)
        catalog.run(f"DELETE FROM {raw.RAW} WHERE row = 2")
        return taken - 1

    insert = raw.insert_lines
    monkeypatch.setattr(raw, "insert_lines", losing)
    import_list(catalog, written(tmp_path, f"{HEAD}\n{row('B')}\n{row('C')}\n"))
    assert items(catalog) == ["B", "C"]


def test_the_lists_that_travel_along_are_read_whole(catalog):
    from fitcheck.cli.demo import demo_folder

    for path in sorted(Path(demo_folder() / "parts").glob("s*.csv")):
        found = import_list(catalog, path)
        check_reconciled(found, len(path.read_text(encoding="utf-8").splitlines()) - 1)
