"""Lists as sellers send them: packed, with titles above, with faults. What is wrong is named."""

from __future__ import annotations

import gzip

import pytest

from fitcheck.cli import main
from fitcheck.screen.candidates import FromCatalog
from fitcheck.screen.importing import import_list
from fitcheck.screen.kits import classes_in, whole_within
from fitcheck.screen.mapping import read_mapping
from fitcheck.screen.opening import Frame, Opening
from fitcheck.screen.screening import screen
from fitcheck.screen.sets import OpenSlots, best_sets
from fitcheck.screen.store import Catalog
from fitcheck.source import BadInput

HEAD = "class,item,price [EUR],rate [lbf/in],free_length [in]"


@pytest.fixture
def catalog(knowledge):
    with Catalog(knowledge) as made:
        yield made


def taken(catalog, path, text, reading=None):
    path.write_text(text, encoding="utf-8")
    return import_list(catalog, path, reading, path.with_name("aside.csv"))


def test_a_packed_list_is_read_as_it_would_be_unpacked(catalog, tmp_path):
    path = tmp_path / "spring.csv.gz"
    with gzip.open(path, "wt", encoding="utf-8") as file:
        file.write(HEAD.removeprefix("class,") + "\nA,3.20,300,2.10\n")
    assert dict(import_list(catalog, path).added) == {"spring": 1}  # the class by the file's name
    path.write_bytes(path.read_bytes()[:30])
    with pytest.raises(BadInput):
        import_list(catalog, path)


def test_titles_above_the_headers_and_other_sheets_are_passed_over_and_told(catalog, tmp_path):
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    book.active.title = "Terms"
    book.active.append(["An invented seller", "prices without tax"])
    page = book.create_sheet("Valve springs")
    page.append(["Invented springs, autumn"])
    page.append([])
    page.append(["item", "price [EUR]", "rate [lbf/in]"])
    page.append(["A", 3.2, 300])
    book.create_sheet("Empty")
    book.save(tmp_path / "autumn.xlsx")
    found = import_list(catalog, tmp_path / "autumn.xlsx")
    assert (dict(found.added), found.titles, found.sheet) == ({"spring": 1}, 2, "Valve springs")
    assert found.sheets_unread == ["Terms"]
    told = taken(catalog, tmp_path / "list.csv", f"Invented list\n,,\n{HEAD}\nspring,B,1,300,2.1\n")
    assert (dict(told.added), told.titles) == ({"spring": 1}, 2)


def test_a_header_twice_or_gone_costs_its_own_figures_alone(catalog, knowledge, tmp_path):
    text = f"{HEAD},rate [lbf/in]\nspring,A,3,300,2.10,310\n"
    told = taken(catalog, tmp_path / "twice.csv", text)
    assert told.headers_twice == ["rate [lbf/in]"] and dict(told.added) == {"spring": 1}
    (offer,) = catalog.listed("spring", [0])
    assert [s.attribute.name for s in offer.part.statements] == ["spring.free_length"]
    mapping = tmp_path / "columns.yaml"
    mapping.write_text(
        "classes: spring\nitem: No\ncolumns: {Rate: rate lbf/in, Free: free_length in}\n"
    )
    text = "No,Spring rate,Free\nB,300,2.10\n"
    told = taken(catalog, tmp_path / "gone.csv", text, read_mapping(mapping, knowledge))
    assert list(told.missing) == ["Rate"] and dict(told.added) == {"spring": 1}


def test_prices_are_of_one_piece_in_one_currency(catalog, tmp_path):
    text = (
        "class,item,price per 100 [EUR],pack,rate [lbf/in]\nspring,A,320,,300\n"
        "spring,B,$300,,300\nspring,C,300 USD,,300\nspring,D,300/50,,300\nspring,E,280,8,300\n"
    )
    told = taken(catalog, tmp_path / "list.csv", text)
    prices = {o.item: (o.price, o.pack) for o in catalog.listed("spring", [0, 1])}
    assert prices == {"A": (3.2, None), "E": (2.8, 8)}
    why = {item: text for _, item, text in told.aside}
    assert "is not in EUR" in why["B"] and "is in USD" in why["C"] and "for several" in why["D"]


def test_an_empty_list_and_one_part_over_and_over(catalog, tmp_path):
    assert not taken(catalog, tmp_path / "none.csv", f"{HEAD}\n").added
    told = taken(catalog, tmp_path / "same.csv", HEAD + "\n" + "spring,A,3,300,2.1\n" * 5000)
    assert (dict(told.added), told.twice) == ({"spring": 1}, 4999)
    told = taken(catalog, tmp_path / "pages.csv", f"{HEAD}\nspring,A,3,300,2.1\n{HEAD}\n")
    assert [(row, why) for row, _, why in told.aside] == [(3, "the headers once more")]


def test_a_mapping_is_proposed_by_the_trades_words_and_works_as_it_is(
    knowledge, catalog, tmp_path, capsys
):
    """Coil bind is the solid height; an outside diameter of 1.25 can only be in inches."""
    path, mapping = tmp_path / "valve spring.csv", tmp_path / "columns.yaml"
    text = (
        "Part No,Net (EUR),Coil Bind (in),Spring rate (lbf/in),OD,Finish\nA,3.2,1.15,300,1.25,x\n"
    )
    path.write_text(text)
    new = str(tmp_path / "new.duckdb")
    assert main(["catalog", new, "--add", str(path), "--propose", str(mapping)]) == 3
    told = capsys.readouterr().out
    assert "'Coil Bind (in)': coil_bind_height in" in told and "'OD': outside_diameter in" in told
    assert "'Finish': no word" in told
    assert main(["catalog", new, "--add", str(path), "--columns", str(mapping)]) == 0
    found = import_list(catalog, path, read_mapping(mapping, knowledge))
    assert dict(found.added) == {"spring": 1}
    (offer,) = catalog.listed("spring", [0])
    known = {s.attribute.name.partition(".")[2] for s in offer.part.statements}
    assert known >= {"coil_bind_height", "rate", "outside_diameter"} and offer.price == 3.2


def test_a_load_and_its_height_may_share_a_cell(catalog, tmp_path):
    """As spring pages print them; the seat's goes with the greater height, the open one's with the other."""
    text = (
        "class,item,seat_load [lbf],open_load [lbf]\nspring,A,125 @ 1.800,330 lbs @ 1.250 in\n"
        "spring,B,118,\nspring,C,125 @ 9.9,\n"
    )
    told = taken(catalog, tmp_path / "list.csv", text)
    assert [item for _, item, _ in told.aside] == ["C"] and dict(told.added) == {"spring": 2}
    first, second = catalog.listed("spring", [0, 1])
    said = {s.attribute.name.partition(".")[2]: s.value.text for s in first.part.statements}
    assert set(said) == {"load_1", "load_1_height", "load_2", "load_2_height"}
    assert [s.attribute.name for s in second.part.statements] == ["spring.seat_load"]
    values = {s.attribute.name: s.value.interval for s in first.part.statements}
    assert float(values["spring.load_1_height"].middle) == pytest.approx(1.8 * 25.4)


def said(offer):
    """The figures of a part as a list told them, by name and side."""
    return {
        (s.attribute.name.partition(".")[2], s.selector.side): getattr(s.value, "text", s.value)
        for s in offer.part.statements
    }


def test_intake_and_exhaust_may_differ_in_one_cell_in_two_columns_or_not_at_all(
    catalog, knowledge, tmp_path, capsys
):
    """As cam cards and valve lists print them (invented): .320/.335, or a column for each."""
    text = (
        "item,lobe lift [in],int duration at 050 [deg],Exhaust duration at 050 [deg]\n"
        "two,.320/.335,222,230\none,0.320,222,222\nhalf,.320,,230\nbad,.320/.999,222,222\n"
    )
    told = taken(catalog, tmp_path / "cam.csv", text)
    assert [item for _, item, _ in told.aside] == ["bad"] and dict(told.added) == {"cam": 3}
    two, one, half = map(said, catalog.listed("cam", [0, 1, 2]))
    duration = "duration_at_050"
    assert two == {
        ("lobe_lift", "intake"): ".320 in",
        ("lobe_lift", "exhaust"): ".335 in",
        (duration, "intake"): "222 deg",
        (duration, "exhaust"): "230 deg",
    }
    assert one["lobe_lift", None] == "0.320 in" and (duration, "intake") not in half
    # A list in YAML may say the same as a build does; of one cylinder alone a list tells nothing.
    (tmp_path / "short.yaml").write_text(
        "parts:\n  - cam: {item: A, claimed: {lobe_lift: .320/.335}}\n"
        "  - cam: {item: B, claimed: {lobe_lift: {3 exhaust: 0.335 in}}}\n"
    )
    found = import_list(catalog, tmp_path / "short.yaml", None, tmp_path / "aside.csv")
    assert found.set_aside == 1 and "no single cylinder" in found.aside[0][2]
    assert said(catalog.listed("cam", [3])[0]) == {
        ("lobe_lift", "intake"): ".320 in",
        ("lobe_lift", "exhaust"): ".335 in",
    }
    # Kept and read again, and asked of one side or of any.
    kept = str(tmp_path / "kept.duckdb")
    assert main(["catalog", kept, "--add", str(tmp_path / "cam.csv")]) == 3
    for figure, code, items in (
        ("exhaust lobe lift=.335", 0, "two"),
        ("lobe_lift=.3202", 3, "one"),
    ):
        capsys.readouterr()
        assert main(["identify", "cam", figure, "--catalog", kept]) == code
        assert items in capsys.readouterr().out
    mapping = tmp_path / "columns.yaml"
    mapping.write_text("classes: cam\nitem: No\ncolumns: {Lift E: exhaust lobe_lift in}\n")
    taken(catalog, tmp_path / "own.csv", "No,Lift E\nX,.335\n", read_mapping(mapping, knowledge))
    assert said(catalog.listed("cam", [4])[0]) == {("lobe_lift", "exhaust"): ".335 in"}


def test_two_loads_at_their_heights_may_share_a_cell(catalog, tmp_path):
    text = 'class,item,seat_load [lbf]\nspring,A,"330 @ 1.250, 125 @ 1.800"\nspring,B,125 @ 1.8 / 330 @ 1.25\n'
    assert dict(taken(catalog, tmp_path / "list.csv", text).added) == {"spring": 2}
    for offer in catalog.listed("spring", [0, 1]):
        told = {name: float(text.split()[0]) for (name, _), text in said(offer).items()}
        assert told == {"load_1": 125, "load_1_height": 1.8, "load_2": 330, "load_2_height": 1.25}


KITS = """class,item,spring rate [lbf/in],retainer lock_angle [deg],locks lock_angle [deg],outside_diameter [in],price [EUR],pack
"spring, retainer + locks",whole,310,7,7,,240,16
"spring, retainer and locks",turned,310,10,7,,240,16
spring & retainer,unclear,310,7,,1.260,9,
"spring, gearbox",odd,310,,,,9,
spring,S-1,310,,,1.260,10,
retainer,R-1,,7,,,5,
locks,L-1,,,7,,2,
"""


def test_a_kit_names_its_parts_and_a_list_turns_names_about(knowledge):
    for text, slots in {
        "spring + retainer": ["spring", "retainer"],
        "spring, retainer": ["spring", "retainer"],
        "valve springs, retainers and locks": ["spring", "retainer", "locks"],
        "spring, valve": ["spring"],
        "retainer, spring": ["retainer"],
        "spring retainer": ["retainer"],
        "spring, gearbox": [],
    }.items():
        assert list(classes_in(text, knowledge)) == slots, text


def test_a_kit_brings_its_parts_together_at_one_price_and_one_that_clashes_is_told(
    catalog, knowledge, boat, tmp_path
):
    """Locks of 7 degrees do not hold in a retainer of 10, whatever the engine (invented kits)."""
    told = taken(catalog, tmp_path / "kits.csv", KITS)
    why = {item: text for _, item, text in told.aside}
    assert "contradicts itself: lock angle" in why["turned"]
    assert "of which part of the kit" in why["unclear"] and "no part class" in why["odd"]
    assert (dict(told.added), told.in_kits) == ({"spring": 2, "retainer": 2, "locks": 2}, 2)
    slots = ["spring", "retainer", "locks"]
    some = {
        slot: FromCatalog(catalog, Opening(slot), whole_within(catalog, slots)) for slot in slots
    }
    found = best_sets(OpenSlots(Frame(boat, knowledge, []), some), 10)
    names = [
        [some[slot].names([number])[0] for slot, number in one.chosen.items()] for one in found
    ]
    assert sorted(names) == [["S-1", "R-1", "L-1"], ["whole"] * 3]
    assert sorted(one.price for one in found) == [
        17,
        240,
    ]  # of one piece each; the kit's is told once
    # Of one slot alone a kit is no candidate, and of two it would bring a part that is not asked for.
    assert FromCatalog(catalog, Opening("spring"), whole_within(catalog, slots[:2])).count == 1
    alone = screen(catalog, boat, Opening("spring"))
    assert (alone.total, alone.kits) == (1, 1)
