"""The pile: what goes together, what is lacking, what goes with nothing, what an unknown part is."""

from __future__ import annotations

import json
from io import StringIO
from itertools import product

import pytest
from rich.console import Console

from fitcheck.cli.demo import demo_folder
from fitcheck.cli.main import main
from fitcheck.language import CONFLICT
from fitcheck.report.pile import write_note
from fitcheck.screen.identify import identify
from fitcheck.screen.importing import import_list
from fitcheck.screen.pile import AS_LISTED, read_pile, sort_pile
from fitcheck.screen.store import Catalog
from fitcheck.source import BadInput
from tests.plan.long import LONG
from tests.screen.reckoned import Reckoning

BUILD = demo_folder() / "service_boat/build.yaml"
PILE = demo_folder() / "service_boat/pile.yaml"


@pytest.fixture(scope="module")
def sorted_pile(knowledge, boat):
    return sort_pile(read_pile(PILE, boat, knowledge), boat, knowledge)


@LONG
def test_the_boats_pile_reads_as_a_shop_would_quote_from_it(sorted_pile):
    """Reckoned by hand from the two files.

    The gear: steel on an iron core clashes, iron does not. The guides: bare stainless stems clash
    with iron guides, those in the head and those in the crate, so others are to be bought. The
    locks: stems are 0.3715 in, so pairs for 11/32 in are of no use; nor are retainers of 10 degrees
    where all locks have 7; nor a roller camshaft under flat followers.
    """
    best = sorted_pile.sets[0]
    assert best.wanted == ("guide",)
    names = {slot: entry.name for slot, entry in best.chosen.items() if entry}
    assert names["drive_gear"] == "iron gear on an old distributor"
    assert names["cam"] == AS_LISTED
    useless = {one.entry.name: one for one in sorted_pile.useless}
    assert {name: [rule.id for rule in one.rules] for name, one in useless.items()} == {
        "sixteen titanium retainers, 10 degrees": ["lock_angle_mismatch"],
        "pairs of 7 degrees for 11/32 stems": ["locks_wrong_stem"],
        "sixteen iron guides, new, 0.502 outside": ["bare_stainless_in_iron"],
        "hydraulic roller camshaft without a card": ["flat_follower_on_roller_lobe"],
    }
    assert useless["sixteen titanium retainers, 10 degrees"].other == "locks"
    assert [(entry.pieces, short) for entry, short in sorted_pile.short] == [(14, 2)]


def test_the_best_set_is_the_best_of_all(knowledge, boat, sorted_pile):
    """Every combination of the pile's parts, asked one by one; only whole sets of parts count."""
    pile = sorted_pile.pile
    offered = {}
    for entry in pile.entries:
        offered.setdefault(entry.slot, []).append(entry.parts[0])

    one_by_one = Reckoning(boat, knowledge, offered)
    rules = [rule for rule in one_by_one.rules if rule.severity != "advice"]

    def work(chosen):
        """The clashes, None where one of them is for good."""
        found = [rule for rule in rules if one_by_one.worst(rule, chosen) == CONFLICT]
        if not all(map(one_by_one.mended, found)):
            return None
        return {rule.id for rule in found}

    able = [
        chosen
        for numbers in product(*(range(len(some)) for some in offered.values()))
        if work(chosen := dict(zip(offered, numbers, strict=True))) is not None
    ]
    # No set is made of the crates alone, just as the answer has it: guides are to be bought.
    assert able == []
    assert sorted_pile.sets[0].wanted


def test_a_pile_that_cannot_be_read_is_told_with_places(knowledge, boat, tmp_path):
    path = tmp_path / "pile.yaml"
    path.write_text(
        "pile: mine\nparts:\n  - sprung: {name: a}\n  - spring: {pieces: many}\n"
        "  - spring: {measured: {rate: 300}}\n  - engine: {name: e}\n  - spring\n"
        "  - cam: {unidentified: maybe}\n",
        encoding="utf-8",
    )
    with pytest.raises(BadInput) as refused:
        read_pile(path, boat, knowledge)
    told = "\n".join(map(str, refused.value.problems))
    for place, what in (
        (3, "'sprung'"),
        (4, "pieces 'many'"),
        (5, "has no unit"),
        (6, "the engine"),
        (7, "one class"),
        (8, "'maybe'"),
    ):
        assert f"pile.yaml:{place}:" in told and what in told


def test_an_unknown_part_is_matched_by_its_figures(knowledge, boat, sorted_pile):
    entry = next(one for one in sorted_pile.pile.entries if one.unidentified)
    with Catalog(knowledge) as catalog:
        import_list(catalog, demo_folder() / "parts/spring.csv")
        found = identify(catalog, "spring", entry.parts, 1000)
        # By hand: 1.290 in as measured, 1.280..1.300 in as claimed; single with damper.
        inch = 25.4
        wanted = catalog.run(
            "SELECT item FROM spring WHERE springs = 'single' AND damper = 'yes' AND "
            f"abs(outside_diameter__lo + outside_diameter__hi - 2 * 1.290 * {inch}) <= 2 * 0.0111 * {inch}"
        )
        assert {offer.item for offer in found.matches} == {item for (item,) in wanted}
        assert found.count == len(wanted) > 3
        first = found.tell[0]
        assert first.leaves < found.count / 2
        leaves = [one.leaves for one in found.tell]
        assert leaves == sorted(leaves)
        # What is told already, and what needs papers, is not proposed.
        told = {statement.attribute.name for statement in entry.parts[0].statements}
        assert not told & {one.attribute.name for one in found.tell}


def test_the_command_tells_a_pile(tmp_path, capsys):
    path = tmp_path / "pile.yaml"
    gears = "".join(
        f"  - drive_gear: {{name: {metal} gear, price: {price} EUR, measured: {{material: {metal}}}}}\n"
        for metal, price in (("steel", "9"), ("cast_iron", "40"), ("bronze", "30"))
    )
    path.write_text(f"pile: gears\nparts:\n{gears}", encoding="utf-8")
    assert main(["pile", str(BUILD), str(path), "--json", "--top", "1"]) == 3
    told = json.loads(capsys.readouterr().out)
    # Steel clashes with the iron core; of the two that do not, bronze is the cheaper.
    assert told["sets"][0]["parts"] == {"drive_gear": "bronze gear"}
    assert told["sets"][0]["price"] == 30
    assert told["sets"][0]["to_be_worked_on"] == []


def test_the_note_for_a_quote_reads_from_top_to_bottom(sorted_pile):
    console = Console(width=100, record=True, file=StringIO())
    write_note(sorted_pile, {}, None, console, "inch")
    note = console.export_text()
    where = [
        note.index(text)
        for text in (
            "Note for a quote: V8 of a service boat (invented)",
            "valve spring: stays as it is",
            "distributor drive gear: we would use: iron gear on an old distributor",
            "valve guide: to be bought, price ________",
            "PARTS WE WOULD NOT USE",
            "hydraulic roller camshaft without a card: a flat follower rides a roller lobe",
            "questions cannot be answered before more is measured",
            "The makers' instructions rule over every figure here.",
        )
    ]
    assert where == sorted(where)
