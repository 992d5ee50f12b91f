"""The same words at every door: build files, --set, reach, order, screen, sheets and their way
back."""

from __future__ import annotations

import csv
import re

import pytest

from fitcheck.check import read_build
from fitcheck.check.supposing import suppose_all
from fitcheck.cli import main
from fitcheck.knowledge.house import with_house
from fitcheck.model import Layout, Selector
from fitcheck.plan.prices import read_prices
from fitcheck.screen.importing import import_list
from fitcheck.screen.mapping import read_mapping
from fitcheck.screen.pile import read_pile
from fitcheck.screen.store import Catalog
from fitcheck.source import BadInput
from fitcheck.source.place import shown_safely
from tests.plan.long import LONG

PRINTED = """
build: as a seller prints it
cylinders: "4"
parts:
  Camshaft:
    claimed: {LSA: 110 deg, Duration @ .050: 224 deg, intake lobe lift: 0.348 in}
  valve springs:
    claimed: {seat pressure: 125 lbf, Rate: 370 lbf/in, O.D.: 1.437 in}
  Keepers: {claimed: {angle: 7 deg}}
  tappets: {claimed: {lifter type: hyd roller}}
  Lash Caps: None
"""
PLAIN = """
build: as a seller prints it
cylinders: "4"
parts:
  cam:
    claimed:
      lobe_separation: 110 deg
      duration_at_050: 224 deg
      lobe_lift: {intake: 0.348 in}
  spring: {claimed: {seat_load: 125 lbf, rate: 370 lbf/in, outside_diameter: 1.437 in}}
  locks: {claimed: {angle: 7 deg}}
  lifter: {claimed: {type: hydraulic_roller}}
  lash_cap: none
"""


def said(build):
    return [(one.attribute.name, one.selector, one.value) for one in build.statements()]


def told(knowledge, text: str) -> str:
    with pytest.raises(BadInput) as caught:
        read_build("page.yaml", knowledge, text)
    return str(caught.value)


def test_a_build_in_the_words_of_the_trade_says_the_same(knowledge):
    printed, plain = (read_build("page.yaml", knowledge, text) for text in (PRINTED, PLAIN))
    assert said(printed) == said(plain)
    assert list(printed.parts) == list(plain.parts)
    assert printed.absent == plain.absent == {"lash_cap"}


SIDES = """
build: as a seller lists valves
cylinders: "4"
parts:
  valves: {claimed: {stem: 8 mm}}
  Inlet valves: {claimed: {head dia: 1.94", by: page}}
  exhaust valve: {name: the exhausts, claimed: {head dia: 1.50"}}
"""


def test_valves_of_each_side_may_have_entries_of_their_own(knowledge, tmp_path):
    build = read_build("page.yaml", knowledge, SIDES)
    assert [(one.attribute.name, one.selector.side) for one in build.statements()] == [
        ("valve.stem_diameter", None),
        ("valve.head_diameter", "intake"),
        ("valve.head_diameter", "exhaust"),
    ]
    text = SIDES.replace("exhaust valve:", "intake valve:")
    assert "'valve' is listed twice" in told(knowledge, text)
    text = SIDES.replace('{claimed: {head dia: 1.94", by: page}}', "none")
    assert "'valve' needs what is known of the part" in told(knowledge, text)


@pytest.mark.parametrize("entries", [pytest.param("all", marks=LONG), "each"])
def test_what_is_measured_of_them_goes_to_its_entry(entries, knowledge, tmp_path):
    path, sheet = tmp_path / "page.yaml", tmp_path / "sheet.csv"
    text = SIDES if entries == "all" else SIDES.replace("  valves: {claimed: {stem: 8 mm}}\n", "")
    path.write_text(text, encoding="utf-8")
    sheet.write_text(
        "attribute,where,measured,unit,by,when\n"
        "valve.length,intake,4.91,in,me,2026-03-09\n"
        "valve.margin,2 exhaust,0.06,in,me,2026-03-09\n",
        encoding="utf-8",
    )
    assert main(["record", str(path), str(sheet)]) == 0
    found = read_build(path, knowledge).statements()
    assert [
        (one.attribute.name, one.selector.cylinder, one.selector.side)
        for one in found
        if one.origin.when
    ] == [("valve.length", None, "intake"), ("valve.margin", 2, "exhaust")]


def test_what_could_be_two_things_is_asked_back_with_titles_and_units(knowledge):
    text = PLAIN.replace("lobe_lift: {intake: 0.348 in}", "lift: 0.500 in")
    assert re.search(
        r"'lift' of a camshaft could be one of 2 things\n.*\n.*\n"
        r"  write the one meant: lobe_lift \(lobe lift, in or mm\), "
        r"rated_valve_lift \(stated valve lift, in or mm\)",
        told(knowledge, text),
    )


def test_the_same_thing_in_two_words_is_told(knowledge):
    text = PLAIN.replace("seat_load: 125 lbf", "seat_load: 125 lbf, closed pressure: 130 lbf")
    assert "'closed pressure' and 'seat_load' in line 10 are the same" in told(knowledge, text)


@pytest.mark.parametrize(
    ("change", "same"),
    [
        ("Valve Springs.seat pressure=140 lbf", "spring.seat_load=140 lbf"),
        ("camshaft.LSA=108 deg", "cam.lobe_separation=108 deg"),
        ("tappets.type=solid roller", "lifter.type=solid_roller"),
        ("springs.rate@exhaust=400 lbf/in", "spring.rate@exhaust=400 lbf/in"),
        ("lash caps=none", "lash_cap=none"),
    ],
)
def test_what_is_supposed_is_read_by_the_same_words(knowledge, change, same):
    build = read_build("page.yaml", knowledge, PLAIN)
    first, second = (suppose_all(build, [text], knowledge) for text in (change, same))
    assert said(first.build) == said(second.build)
    assert first.changed == second.changed
    assert first.build.absent == second.build.absent


def test_what_is_supposed_as_printed_is_echoed(knowledge):
    build = read_build("page.yaml", knowledge, PLAIN)
    found = suppose_all(build, ["springs.seat pressure=140 lbs @ 1.750"], knowledge).build
    assert [one.understood for one in found.readings] == [
        "valve spring: catalogue load at the greater height 140 lbs, height of the first catalogue "
        "load 1.750 in"
    ]


@pytest.mark.parametrize(
    ("command", "name", "what"),
    [
        ("reach", "cam.lift", "'lift' of a camshaft could be one of 2 things"),
        ("reach", "lobe lift", "write it with its part: cam.lobe_lift (lobe lift, in or mm)"),
        ("order", "caps", "write one of: retainer (spring retainer), lash_cap (lash cap)"),
        ("screen", "rods", "write one of: rod (connecting rod), pushrod"),
    ],
)
def test_a_command_asks_back_as_a_build_file_does(tmp_path, capsys, command, name, what):
    path = tmp_path / "page.yaml"
    path.write_text(PLAIN, encoding="utf-8")
    assert main([command, str(path), name]) == 2
    assert what in " ".join(capsys.readouterr().err.split())


def test_a_sheet_of_such_a_build_is_filled_and_recorded(knowledge, tmp_path, capsys):
    path, sheet = tmp_path / "page.yaml", tmp_path / "sheet.csv"
    path.write_text(PRINTED, encoding="utf-8")
    with sheet.open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["attribute", "where", "measured", "unit", "by", "when"])
        rows.writerow(["Spring.Installed Height", "intake", "1.800", "in", "me", "2026-03-09"])
    assert main(["record", str(path), str(sheet)]) == 0, capsys.readouterr().err
    kept = read_build("page.yaml", knowledge, path.read_text(encoding="utf-8"))
    assert ("spring.installed_height", Selector(side="intake")) in [name[:2] for name in said(kept)]


# Lists of parts: headers and mapping files.

LIST = 'Kind,Item,"Seat pressure [lbf]",Rate [lbf/in],O.D. [in],Colour\n'
ROW = "valve springs,A1,125,370,1.437,blue\n"


def taken(knowledge, tmp_path, text: str, mapping: str = "", name: str = "list.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    reading = None
    if mapping:
        (tmp_path / "how.yaml").write_text(mapping, encoding="utf-8")
        reading = read_mapping(tmp_path / "how.yaml", knowledge)
    with Catalog(knowledge) as catalog:
        found = import_list(catalog, path, reading)
        rows = catalog.run('SELECT * FROM "spring"') if "spring" in catalog.slots() else []
    return found, rows


def test_headers_of_a_list_are_read_by_the_same_words(knowledge, tmp_path):
    found, _ = taken(knowledge, tmp_path, (LIST + ROW).replace("Kind", "class"))
    assert found.added == {"spring": 1}
    assert found.unused == ["Colour"]


def test_a_mapping_file_too(knowledge, tmp_path):
    mapping = (
        "classes: Valve Springs\nitem: Item\ncolumns: {P: seat pressure lbf, R: rate lbf/in, "
        "D: OD in}\n"
    )
    found, _ = taken(knowledge, tmp_path, "Item,P,R,D\nA1,125,370,1.437\n", mapping)
    assert found.added == {"spring": 1}


def test_a_column_that_could_be_two_things_is_asked_back(knowledge, tmp_path):
    with pytest.raises(BadInput) as caught:
        taken(knowledge, tmp_path, "P\n1\n", "classes: spring\ncolumns: {P: pressure lbf}\n")
    assert "write the one meant: seat_load (seat load, lbf or N), open_load" in str(caught.value)


def test_two_columns_of_one_thing_are_told(knowledge, tmp_path):
    text = "class,Item,OD [in],Outside Diameter [in]\nspring,A1,1.437,1.437\n"
    with pytest.raises(BadInput, match=r"tell spring\.outside_diameter"):
        taken(knowledge, tmp_path, text)


def test_a_row_whose_name_commands_a_terminal_is_kept_aside(knowledge, tmp_path):
    text = (
        "class,item,name,rate [lbf/in]\nspring,A1,plain,370\n"
        "spring,A2,\x1b[31mred,370\nspring,A3,\u202eturned,370\nspring,A\x9b4,plain,370\n"
    )
    found, rows = taken(knowledge, tmp_path, text)
    assert found.added == {"spring": 1} and len(rows) == 1
    assert [row for row, *_ in found.aside] == [3, 4, 5]
    assert all(shown_safely(text) == text for _, *texts in found.aside for text in texts)


PRICES = """
prices: as a shop writes them (invented)
operations: {Mill deck: 95 EUR, "Shim the spring": 4 EUR}
parts:
  - fits: valve springs
    price: 168 EUR
    keeps: [fitted height]
    undoes: [Retainer.gap to the seal]
    shifts: {springs.seat pressure: -2 lbf}
    part: {claimed: {Rate: 300 lbf/in}}
"""


def test_prices_are_read_by_the_same_words(knowledge):
    prices = read_prices("prices.yaml", knowledge, Layout(4), PRICES)
    assert set(prices.operations) == {"mill_deck", "shim_spring"}
    (offer,) = prices.offers
    assert offer.swap.slot == "spring"
    assert offer.swap.keeps == {"spring.installed_height"}
    assert set(offer.swap.undoes) == {"retainer.gap_to_seal"}
    assert set(offer.swap.shifts) == {"spring.seat_load"}


@pytest.mark.parametrize(
    ("typed", "instead", "what"),
    [
        ("fitted height", "load", "'load' of a valve spring could be one of 4 things"),
        ("valve springs", "caps", "write one of: retainer (spring retainer), lash_cap (lash cap)"),
        ("Retainer.gap to the seal", "gap to seal", "write it with its part: retainer.gap_to_seal"),
        ("Mill deck", "mil_deck", "did you mean 'mill_deck'?"),
        ("Mill deck", "mill the decks off", "perhaps "),
        ("Shim the spring", "mill_deck", "'mill_deck' and 'Mill deck' are the same: mill_deck"),
    ],
)
def test_prices_ask_back_as_a_build_file_does(knowledge, typed, instead, what):
    with pytest.raises(BadInput) as caught:
        read_prices("prices.yaml", knowledge, Layout(4), PRICES.replace(typed, instead))
    assert what in str(caught.value)


HOUSE = """
house: a shop (invented)
limits: {Coil bind.least: {value: 0.070 in, reason: why, name: who, until: 2099-12-31}}
"""


def test_a_house_file_names_rules_in_words_too(knowledge, tmp_path):
    made = with_house(knowledge, tmp_path / "h.yaml", text=HOUSE)
    assert [one.rule for one in made.house.limits] == ["coil_bind"]
    for wrong, what in (
        ("coil_bin", "did you mean 'coil_bind'?"),
        ("coils touch", "perhaps coil_bind ("),
        ("zzz", "'fitcheck rules' lists them"),
    ):
        with pytest.raises(BadInput) as caught:
            with_house(knowledge, tmp_path / "h.yaml", text=HOUSE.replace("Coil bind", wrong))
        assert what in str(caught.value)


def test_a_pile_is_read_by_the_same_words(knowledge, tmp_path):
    build = read_build("page.yaml", knowledge, PLAIN)
    path = tmp_path / "pile.yaml"
    text = "pile: bench\nparts:\n  - Valve Springs: {claimed: {seat pressure: 125 lbf}}\n"
    path.write_text(text, encoding="utf-8")
    (entry,) = read_pile(path, build, knowledge).entries
    assert [one.attribute.name for one in entry.parts[0].statements] == ["spring.seat_load"]
    path.write_text(text.replace("seat pressure", "pressure"), encoding="utf-8")
    with pytest.raises(BadInput, match="'pressure' of a valve spring could be one of 4 things"):
        read_pile(path, build, knowledge)


def test_a_word_of_another_thing_of_the_part_is_never_sent_to_a_like_figure(knowledge):
    """205 cc of intake port beneath the chamber's volume would pass for a chamber of 205 cc."""
    text = PLAIN.replace("parts:\n", "parts:\n  head: {claimed: {port volume: 205 cc}}\n")
    assert "chamber_volume" not in told(knowledge, text)
