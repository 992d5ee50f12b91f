"""Figures as sellers' pages, cam cards and shops' notes have them: read in the one way they can be
meant and echoed, or refused with what to write.

The forms are common practice, no source. Figures are invented, within what such parts come in.
"""

from __future__ import annotations

import pytest

from fitcheck.check import read_build
from fitcheck.check.bind import Binding
from fitcheck.check.printed import Printing
from fitcheck.cli import main
from fitcheck.quantity import tidied
from fitcheck.source import BadInput

READ = [
    # Intake and exhaust.
    ("valve.head_diameter", "2.02/1.60", {"intake": "2.02 in", "exhaust": "1.60 in"}),
    ("valve.head_diameter", "51 / 41 mm", {"intake": "51 mm", "exhaust": "41 mm"}),
    ("cam.lobe_lift", "0.480/.488", {"intake": "0.480 in", "exhaust": ".488 in"}),
    ("cam.duration_at_050", "224/230", {"intake": "224 deg", "exhaust": "230 deg"}),
    ("cam.duration_at_050", "224/230 @ .050", {"intake": "224 deg", "exhaust": "230 deg"}),
    ("cam.duration_at_050", "224°/230° at 0.050 in", {"intake": "224 °", "exhaust": "230 °"}),
    # What it is stated at.
    ("spring.seat_load", "125 lbs @ 1.800", {"load_1": "125 lbs", "load_1_height": "1.800 in"}),
    ("spring.seat_load", "125#@1.800", {"load_1": "125 #", "load_1_height": "1.800 in"}),
    # The unit of the one tells that of the other: no height is 1.75 mm, none 45 in.
    ("spring.seat_load", "130@1.75", {"load_1": "130 lbf", "load_1_height": "1.75 in"}),
    ("spring.open_load", "900 @ 33.8", {"load_2": "900 N", "load_2_height": "33.8 mm"}),
    ("spring.open_load", "340 lb at 1.250 in",
     {"load_2": "340 lb", "load_2_height": "1.250 in"}),
    ("cam.duration_advertised", "276 @ .006",
     {"duration_advertised": "276 deg", "advertised_at": ".006 in"}),
    ("seat.angle", "30-45-60", {"top_cut_angle": "30 deg", "angle": "45 deg",
                                "throat_cut_angle": "60 deg"}),
    # What stands beside it.
    ("pushrod.diameter", "5/16 x .080", {"diameter": "5/16 in", "wall": ".080 in"}),
    ("pushrod.diameter", "5/16 x 7.800 x .080",
     {"diameter": "5/16 in", "length": "7.800 in", "wall": ".080 in"}),
    ("lifter.lash", ".012 hot", {"lash": ".012 in", "lash_state": "hot"}),
    ("cam.lobe_separation", "110+4", {"lobe_separation": "110 deg",
                                      "installed_centreline": "106 deg"}),
    ("cam.lobe_separation", "112-2", {"lobe_separation": "112 deg",
                                      "installed_centreline": "114 deg"}),
    # A torque, and the angle to turn on.
    ("head_fasteners.torque", "30 Nm + 90\u00b0", {"torque": "30 Nm", "angle": "90 deg"}),
    ("head_fasteners.torque", "22 ft lb + 90 deg + 90 deg",
     {"torque": "22 ft lb", "angle": "180 deg"}),
    # To one side of a dead centre, or to the other.
    ("cam.intake_opens_at_050", "5 BTDC", "5 deg"),
    ("cam.intake_opens_at_050", "5\u00b0 ATDC", "-5 deg"),
    ("cam.exhaust_closes_advertised", "31 deg after TDC", "31 deg"),
    ("cam.exhaust_opens_advertised", "71 BBDC @ .006", {"exhaust_opens_advertised": "71 deg", "advertised_at": ".006 in"}),
    ("cam.intake_closes_advertised", "40 ABDC @ .050", "40 deg"),
    # One figure, oddly written.
    ("valve.head_diameter", "1-51/64", "1-51/64 in"),
    ("valve.head_diameter", "1 51/64\u201d", '1 51/64"'),
    ("valve.head_diameter", "45,4 mm", "45.4 mm"),
    ("cam.lobe_lift", "0,350 in", "0.350 in"),
    ("spring.rate", "1,370 lbf/in", "1370 lbf/in"),
    ("guide.clearance", ".0015-.0020", ".0015 .. .0020 in"),
    ("guide.clearance", "0.04-0.06 mm", "0.04 .. 0.06 mm"),
    ("spring.installed_height", "\u201c1.800 in\u201d", "1.800 in"),
    ("seat.width", "at most 0.076 in", "0.0100..0.0760 in"),
    ("guide.clearance", "max. 0.1 mm", "0.000..0.100 mm"),
    ("valve.margin", ">= 1/32", "0.0312..0.3000 in"),
    ("head_gasket.thickness", ".039 in compressed", ".039 in"),
    ("block.bore", "4.030 in (.030 over)", "4.030 in"),
    ("spring.installed_height", "1.800 in (45.7 mm)", "1.800 in"),
    # A standard tolerance (ISO 286): H7 on 8 mm is 15 micrometres over, h6 9 under.
    ("guide.bore", "8.00 H7", "8.0000 .. 8.0150 mm"),
    ("lifter.diameter", "22 h6", "21.9870 .. 22.0000 mm"),
    # A thread and its pitch.
    ("head.stud_thread", "3/8-24", "3/8 in"),
    ("head_fasteners.diameter", "7/16-14 UNC", {"diameter": "7/16 in", "thread_pitch": "1/14 in"}),
    ("head_fasteners.diameter", "M10 x 1.5", {"diameter": "10 mm", "thread_pitch": "1.5 mm"}),
    # Names of sizes: what bears them measures less.
    ("valve.stem_diameter", "8 mm", "0.3125..0.3145 in"),
    ("valve.stem_diameter", "11/32 in", "0.3400..0.3425 in"),
]  # fmt: skip
NOT_READ = [
    ("spring.seat_load", "1250 @ 1.800 furlongs", "no such unit"),
    ("spring.seat_load", "1.800 @ 125 lbs", "the wrong way round"),
    ("cam.duration_at_050", "224 @ .006", "not the lift that it is counted at"),
    ("valve.head_diameter", "45,40,2 mm", "two commas"),
    ("spring.installed_height", "1.800/1.850/1.900", "three of two"),
    ("head.chamber_volume", "64/66 cc", "intake and exhaust have one chamber"),
    ("guide.clearance", ".0020-.0015", "a range backwards"),
    ("pushrod.diameter", "5/16 x 5/16", "nothing beside it is so thick"),
    ("cam.lobe_separation", "110+", "ahead by nothing"),
    ("lifter.lash", ".012 lukewarm", "no state"),
    ("head_fasteners.torque", "30 Nm + 15 Nm", "two torques"),
    ("cam.intake_opens_advertised", "5 before breakfast", "no dead centre"),
    ("cam.intake_opens_advertised", "5 ABDC", "an intake opens near the top"),
    ("spring.installed_height", "1.800 in (1.700 in)", "a remark that contradicts"),
    ("head_gasket.thickness", ".039 new", "a word that is not its own"),
    ("valve.stem_diameter", "3/8-24", "no thread"),
    ("valve.stem_diameter", "8.00 mm", "measured to the hundredth: no name"),
]


def pieces(knowledge, name, text, **how):
    found = Printing(knowledge).pieces(
        knowledge.attributes[name], text, **{"sided": False, "claimed": True} | how
    )
    short = [one.attribute.name.partition(".")[2] for one in found]
    if len(found) == 1:
        return found[0].text
    return {one.side or own: one.text for one, own in zip(found, short, strict=True)}


@pytest.mark.parametrize(("name", "text", "plain"), READ)
def test_a_printed_figure_is_read_in_the_one_way_it_can_be_meant(knowledge, name, text, plain):
    assert pieces(knowledge, name, text) == plain


@pytest.mark.parametrize(("name", "text", "why"), NOT_READ, ids=[why for *_, why in NOT_READ])
def test_what_can_be_meant_in_two_ways_or_none_is_not_read(knowledge, name, text, why):
    found = pieces(knowledge, name, text)
    assert found in ({}, tidied(text)), why


def test_a_measured_size_is_no_name(knowledge):
    assert pieces(knowledge, "valve.stem_diameter", "8 mm", claimed=False) == "8 mm"


def test_a_check_says_what_it_understood(tmp_path, capsys):
    path = tmp_path / "page.yaml"
    path.write_text(f"build: a page\ncylinders: '8'\nparts:{PAGE}", encoding="utf-8")
    main(["check", str(path)])
    told = capsys.readouterr().out
    assert "Read as, where more was typed" in told
    assert "LSA: 110+4 -> camshaft: lobe separation 110 deg, installed intake centreline" in told
    page = tmp_path / "page.html"
    main(["page", str(path), "-o", str(page)])
    read = page.read_text(encoding="utf-8")
    assert "<li>Camshaft: lobe separation 110 deg" in read and ", typed LSA: 110+4</li>" in read


def build(knowledge, told: str):
    text = f"build: a page\ncylinders: '8'\nparts:\n{told}"
    return read_build("page.yaml", knowledge, text)


PAGE = """
  cam: {claimed: {duration: 224/230 @ .050, LSA: 110+4, lash: .012 hot}}
  springs: {claimed: {seat pressure: 125 lbs @ 1.800, rate: 370#/in}}
  pistons: {claimed: {dish: -12cc, crown: dish}}
"""


def test_what_was_understood_is_echoed(knowledge):
    echo = {one.typed: one.understood for one in build(knowledge, PAGE).readings}
    assert echo == {
        "duration: 224/230 @ .050": "camshaft: duration at 0.050 in lobe lift intake 224 deg, "
        "exhaust 230 deg",
        "LSA: 110+4": "camshaft: lobe separation 110 deg, installed intake centreline 106 deg",
        "lash: .012 hot": "camshaft: recommended lash .012 in, state the lash is stated for hot",
        "seat pressure: 125 lbs @ 1.800": "valve spring: catalogue load at the greater height "
        "125 lbs, height of the first catalogue load 1.800 in",
        "dish: -12cc": "piston: crown volume 12cc",
    }


# Sellers print a dish as minus and a dome as plus: the other way round than crown volume counts.


@pytest.mark.parametrize(
    ("told", "volume"),
    [
        ("dish: -12cc", "12cc"),
        ("dish: 12 cc", "12 cc"),
        ("dish cc: -12 cc, crown: dished", "12 cc"),
        ("dome: 8 cc, crown: domed", "-8 cc"),
        ("dome volume: -12 cc, crown: dished", "12 cc"),
        ("crown_volume: 12 cc dish", "12 cc"),
        ("crown_volume: 8 cc dome", "-8 cc"),
        ("crown_volume: 12 cc, crown: dished", "12 cc"),
        ("crown_volume: -8 cc, crown: domed", "-8 cc"),
    ],
)
def test_a_dish_makes_room_and_a_dome_takes_it(knowledge, told, volume):
    found = build(knowledge, f"  piston: {{claimed: {{{told}}}}}\n").statements()
    assert [
        one.value.text for one in found if one.attribute.name == "piston.crown_volume"
    ] == [volume]  # fmt: skip


@pytest.mark.parametrize(
    ("told", "mend"),
    [
        ("crown_volume: -12cc, crown: dished", "write 'dish: 12cc' or 'dome: 12cc'"),
        ("crown_volume: -12 cc, crown: flat top", "write 'dish: 12 cc' or 'dome: 12 cc'"),
        ("crown_volume: -12 cc, quench_pad: yes", "write 'dish: 12 cc' or 'dome: 12 cc'"),
        ("crown_volume: 8 cc, crown: domed", "write 'dish: 8 cc' or 'dome: 8 cc'"),
        ("dome: 12 cc, crown: dished", "mend one of the two"),
    ],
)
def test_a_sign_that_contradicts_the_crown_is_asked(knowledge, told, mend):
    with pytest.raises(BadInput, match=mend):
        build(knowledge, f"  piston: {{claimed: {{{told}}}}}\n")


@pytest.mark.parametrize(
    ("told", "understood"),
    [
        ("spring: {claimed: {rate: 370}}", "valve spring: spring rate 370 lbf/in"),
        ("spring: {claimed: {coil bind: 1.150}}", "valve spring: coil-bind height 1.150 in"),
        ("cam: {claimed: {LSA: '110'}}", "camshaft: lobe separation 110 deg"),
        ("head: {claimed: {chamber: 64}}", "cylinder head: chamber volume 64 cc"),
        ("guide: {measured: {clearance: .0018}}", "valve guide: stem clearance .0018 in"),
    ],
)
def test_a_bare_figure_is_read_in_the_one_unit_that_is_plausible(knowledge, told, understood):
    (reading,) = build(knowledge, f"  {told}\n").readings
    assert (reading.understood, reading.bare) == (understood, True)


@pytest.mark.parametrize(
    ("told", "mend"),
    [
        ("spring: {claimed: {seat_load: '90'}}", "write 90 lbf or 90 N"),
        ("lifter: {claimed: {preload: '1'}}", "write 1 mm or 1 thou"),
        ("spring: {claimed: {rate: 9000}}", "write a number and one of: lbf/in, N/mm, kgf/mm"),
    ],
)
def test_a_bare_figure_in_two_units_or_none_is_refused(knowledge, told, mend):
    with pytest.raises(BadInput, match=mend):
        build(knowledge, f"  {told}\n")


def test_where_nothing_is_echoed_a_bare_figure_is_refused(knowledge):
    assert not pieces(knowledge, "spring.coil_bind_height", "1.150")


@pytest.mark.parametrize(
    ("told", "options"),
    [
        ("cam: {claimed: {cam type: hydraulic roller}}",
         {"cam.lash_type": "hydraulic", "cam.lobe_type": "roller"}),
        ("cam: {claimed: {grind: solid flat tappet}}",
         {"cam.lash_type": "solid", "cam.lobe_type": "flat"}),
        ("spring: {claimed: {type: beehive}}", {"spring.shape": "beehive"}),
        ("spring: {claimed: {style: dual}}", {"spring.springs": "double"}),
        ("retainer: {claimed: {type: titanium}}", {"retainer.material": "titanium"}),
    ],
)  # fmt: skip
def test_the_option_decides_what_a_kind_is_said_of(knowledge, told, options):
    said = build(knowledge, f"  {told}\n")
    found = {one.attribute.name: one.attribute.options[one.value.bit_length() - 1]
             for one in said.statements()}  # fmt: skip
    assert found == options
    assert len(said.readings) == 1


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ("spring: {claimed: {Free length (mm): 52.1}}", {"spring.free_length": "52.1 mm"}),
        ("spring: {claimed: {Spring rate (lbs/in): 400}}", {"spring.rate": "400 lbs/in"}),
        ("cam: {claimed: {lash (hot): .024}}", {"cam.lash_hot": ".024 in"}),
        ("head: {claimed: {Intake flow @ .500: 245 cfm}}",
         {"head.intake_flow": "245 cfm", "head.flow_lift": ".500 in"}),
    ],
)  # fmt: skip
def test_what_stands_behind_a_name_belongs_to_its_figure(knowledge, told, said):
    found = {
        one.attribute.name: getattr(one.value, "text", "")
        or one.attribute.options[one.value.bit_length() - 1]
        for one in build(knowledge, f"  {told}\n").statements()
    }
    assert found == said


@pytest.mark.parametrize(
    ("told", "never", "mend"),
    [
        ("block: {claimed: {overbored: .030}}", "bore", "'fitcheck parts block' lists"),
        ("seal: {claimed: {head O.D.: .530}}", "outside_diameter (outside", ""),
        ("locks: {claimed: {height: +.050}}", "deck_height", "one of: angle"),
        ("head: {claimed: {casting: iron}}", "is_new", "perhaps 'material: iron'"),
        ("spring: {claimed: {material: chrome silicon}}", "block.material", "'fitcheck parts spring'"),
    ],
)  # fmt: skip
def test_no_suggestion_puts_a_figure_where_it_does_not_belong(knowledge, told, never, mend):
    with pytest.raises(BadInput) as caught:
        build(knowledge, f"  {told}\n")
    (problem,) = caught.value.problems
    assert never not in problem.mend and mend in problem.mend


@pytest.mark.parametrize(
    ("told", "options"),
    [
        ("springs: single w/ damper", {"springs": "single", "damper": "yes"}),
        ("springs: dual with damper", {"springs": "double", "damper": "yes"}),
    ],
)
def test_an_option_and_what_is_there_beside_it(knowledge, told, options):
    said = build(knowledge, f"  spring: {{claimed: {{{told}}}}}\n").statements()
    assert {one.attribute.name.partition(".")[2]: one.attribute.options[one.value.bit_length() - 1]
            for one in said} == options  # fmt: skip


@pytest.mark.parametrize(
    "followers", ["hydraulic flat tappet, solid roller", "[hydraulic_flat, solid_roller]",
                  "hyd flat and solid roller", "hydraulic flat / solid roller"],
)  # fmt: skip
def test_a_list_of_options_as_a_page_prints_it(knowledge, followers):
    told = f"  head: {{claimed: {{sold_for_followers: '{followers}'}}}}\n".replace("'[", "[")
    (said,) = build(knowledge, told.replace("]'", "]")).statements()
    every = said.attribute.options
    assert [one for i, one in enumerate(every) if said.value >> i & 1] == [
        "hydraulic_flat", "solid_roller",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("told", "same"),
    [
        ("piston: {claimed: {deck clearance: .008 in the hole}}", {"deck_clearance": ".008"}),
        ("piston: {claimed: {deck clearance: .005 out of the hole}}", {"deck_clearance": "-.005"}),
        ("piston: {claimed: {crown_volume: 12 cc dish}}", {"crown_volume": "12 cc"}),
        ("piston: {claimed: {crown_volume: 12 cc dome}}", {"crown_volume": "-12 cc"}),
        ("head: {claimed: {chamber_volume: 64.2 +-0.1 cc}}", {"chamber_volume": "64.2 +-0.1 cc"}),
        ("rocker: {claimed: {mounting: 7/16 screw-in stud}}",
         {"hole_diameter": "7/16 in", "mounting": "stud"}),
        ("rocker: {claimed: {mounting: 45 deg stud}}", {}),
        ("pushrod: {claimed: {diameter: '8 mm x 1,5'}}", {"diameter": "8 mm", "wall": "1.5 mm"}),
        ("spring: {claimed: {load_1: 31 kg @ 36 mm}}", {"load_1": "31 kg", "load_1_height": "36 mm"}),
        ("lifter: {claimed: {lash: '0,40 mm hot'}}", {"lash": "0.40 mm", "lash_state": "hot"}),
        ("seal: {claimed: {type: FKM positive}}",
         {"material": "fluoroelastomer", "type": "positive"}),
        ("seal: {claimed: {type: FKM ptfe}}", {}),
    ],
)  # fmt: skip
def test_words_beside_a_figure_or_an_option_say_what_they_say(told, same, knowledge):
    """Down in the hole is below the deck, out of it above; a size may stand before its part."""
    if not same:
        with pytest.raises(BadInput, match="no option"):
            build(knowledge, f"  {told}\n")
        return
    found = {}
    for one in build(knowledge, f"  {told}\n").statements():
        value = one.value
        options = one.attribute.options
        text = options[value.bit_length() - 1] if isinstance(value, int) else value.text
        found[one.attribute.name.partition(".")[2]] = text.removesuffix(
            " in" * text.startswith((".", "-."))
        )
    assert found == same


def test_who_does_not_know_which_of_two_leaves_both_open(knowledge):
    for bronze in ("bronze", "phosphor_bronze or silicon_aluminium_bronze"):
        told = build(knowledge, f"  guide: {{claimed: {{material: {bronze}}}}}\n")
        fact = Binding(told, knowledge).fact("guide.material", told.layout.positions("valve")[0])
        assert fact.given
        assert fact.text == "phosphor bronze or silicon aluminium bronze"
    with pytest.raises(BadInput, match="where nobody knows which, 'hydraulic_flat or hydraulic_r"):
        build(knowledge, "  lifter: {claimed: {type: hydraulic}}\n")
    told = build(knowledge, "  guide: {claimed: {material: phosphor bronze or cast iron}}\n")
    fact = Binding(told, knowledge).fact("guide.material", told.layout.positions("valve")[0])
    assert fact.given and fact.open and fact.text == "cast iron or phosphor bronze"
    with pytest.raises(BadInput, match="is no option"):
        build(knowledge, "  guide: {claimed: {material: phosphor bronze or wood}}\n")


@pytest.mark.parametrize(
    ("told", "mend"),
    [
        ("cam: {claimed: {cam type: mild}}", "could be one of 2 things"),
        ("cam: {claimed: {type: roller solid bronze}}", "could be one of 2 things"),
        ("rocker: {claimed: {type: roller}}", "could be one of 2 things"),
    ],
)
def test_an_option_of_none_or_of_two_things_is_asked_back(knowledge, told, mend):
    with pytest.raises(BadInput, match=mend):
        build(knowledge, f"  {told}\n")


@pytest.mark.parametrize(
    ("told", "name", "figure"),
    [
        ("'Lobe Lift, inches': .340", "cam.lobe_lift", ".340 inches"),
        ("Hot Lash Int: .022", "cam.lash_hot", ".022 in"),
        ("Cold lash: .010", "cam.lash_cold", ".010 in"),
        ("'Lobe lift, steel': .340 in", "", ""),
    ],
)
def test_what_a_tables_heading_says_of_the_figure_counts(told, name, figure, knowledge):
    page = f"  cam: {{claimed: {{{told}}}}}\n"
    if not name:
        with pytest.raises(BadInput):
            build(knowledge, page)
        return
    (said,) = build(knowledge, page).statements()
    assert (said.attribute.name, said.value.text) == (name, figure)


def test_the_height_on_a_loose_springs_page_is_asked_back(knowledge):
    """Nobody has fitted it: the page means the height that its maker wants."""
    asked = "write 'wanted_height: 1.800 in' or 'installed_height: 1.800 in', whichever it is"
    for word in ("installed height", "Assembled Height", "IH"):
        with pytest.raises(BadInput, match=asked):
            build(knowledge, f"  spring: {{claimed: {{{word}: 1.800 in}}}}\n")
    for told in (
        "  spring: {claimed: {installed_height: 1.800 in}}\n",
        "  spring: {measured: {installed height: 1.800 in}}\n",
        "  head: {contains: {spring: {claimed: {installed height: 1.800 in}}}}\n",
    ):
        (said,) = build(knowledge, told).statements()
        assert said.attribute.name == "spring.installed_height"


@pytest.mark.parametrize(
    ("figure", "told"),
    [
        ("seat pressure: 900 lbf @ 5 in", "write both with their units, as in 900 lbf @ 5 in"),
        ("rate: 300 @ 2", "spring rate: '300 @ 2' is a figure and what it is stated at"),
    ],
)
def test_a_figure_at_a_height_that_cannot_be_is_told_as_such(figure, told, knowledge):
    with pytest.raises(BadInput, match=told):
        build(knowledge, f"  spring: {{claimed: {{{figure}}}}}\n")


def test_an_option_said_as_a_yes_is_told_where_it_belongs(knowledge):
    with pytest.raises(BadInput, match="perhaps 'mounting: shaft'"):
        build(knowledge, "  rocker: {claimed: {shaft mounted: yes}}\n")
