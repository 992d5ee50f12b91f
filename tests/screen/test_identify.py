"""One unlabelled part against a list: what it may be, and the figure that leaves fewest.

A load read at a height is held to what each listed spring presses with there: F = F1 + k (H1 - H),
a straight line through the load it is listed with (any textbook of machine elements; Shigley,
"Mechanical Engineering Design", 10th edition, chapter 10).
"""

from __future__ import annotations

import json

from fitcheck.cli import main

# Three invented springs: the first two differ in the wire alone, the third in the solid height too.
LIST = """class,item,wire_diameter [in],coil_bind_height [in]
spring,S-1,0.170,1.150
spring,S-2,0.177,1.150
spring,S-3,0.170,1.250
"""


def asked(capsys, path, *figures):
    code = main(["identify", "spring", *figures, "--catalog", str(path), "--json"])
    return code, json.loads(capsys.readouterr().out)


def test_each_figure_leaves_fewer_and_the_next_one_is_named(tmp_path, capsys):
    path = tmp_path / "list.csv"
    path.write_text(LIST)
    code, told = asked(capsys, path)
    assert (code, told["matches"]) == (3, 3)
    assert told["tell"][0]["leaves"] < 3
    code, told = asked(capsys, path, "coil bind height=1.152 in")
    assert (code, told["may_be"]) == (3, ["S-1", "S-2"])
    assert [one["measure"] for one in told["tell"]] == ["spring.wire_diameter"]
    code, told = asked(capsys, path, "coil bind height=1.152 in", 'wire_diameter=.1772"')
    assert (code, told["may_be"], told["tell"]) == (0, ["S-2"], [])
    assert asked(capsys, path, "wire_diameter=0.200 in")[0] == 1
    code, told = asked(capsys, path, "load_1=180 lbf", "coil bind height=1.152 in")
    assert (told["may_be"], told["unused"]) == (["S-1", "S-2"], ["spring.load_1"])
    assert main(["identify", "spring", "colour=red", "wire", "wire=.17", "wire=.18"]) == 2
    told = capsys.readouterr().err
    assert "no attribute 'colour'" in told and "'wire' tells no figure" in told
    assert "'wire' is told twice" in told


# Invented: the second is the first, listed at another height; the third is weaker, the fourth
# stiffer; of the fifth only the free length and the rate are listed, of the sixth two loads alone.
LOADS = """class,item,rate [lbf/in],load_1 [lbf],load_1_height [in],load_2 [lbf],load_2_height [in],free_length [in]
spring,A,300,110,1.700,,,
spring,B,300,95,1.750,,,
spring,C,300,80,1.700,,,
spring,D,420,110,1.700,,,
spring,E,300,,,,,2.067
spring,F,,110,1.700,260,1.200,
spring,G,300,,,,,2.400
"""


def test_a_load_at_a_height_is_held_to_the_load_there_however_it_is_listed(tmp_path, capsys):
    path = tmp_path / "list.csv"
    path.write_text(LOADS)
    # By hand: A and F press with 110 + 300 x 0.05 = 125 lbf at 1.650 in, B with 125, E with 125.1,
    # D with 131 (within a tenth, as such figures are good for), C with 95, G with 225.
    code, told = asked(capsys, path, "125 lbs @ 1.650")
    assert (code, told["may_be"], told["unused"]) == (3, ["A", "B", "D", "E", "F"], [])
    assert "125 lbs" in next(iter(told["read_as"].values()))
    # A second reading tells the rate: 100 lbf over 1/3 in. D, 420 lbf/in, is not it.
    two = asked(capsys, path, "225 lbs @ 1.3167", "load=125 lbs @ 1.650")[1]
    assert two["may_be"] == ["A", "B", "E", "F"]
    # Figures may stand behind an option; units are left out where one alone is plausible.
    behind = [
        "identify",
        "spring",
        "--catalog",
        str(path),
        "free length=2.067",
        "--json",
        "125 @ 1.650",
    ]
    assert main(behind) == 3
    assert "E" in json.loads(capsys.readouterr().out)["may_be"]
    assert main(["identify", "spring", "125 @ 1.6", "130 @ 1.5", "140 @ 1.4"]) == 2
    assert "one load or two" in capsys.readouterr().err


def test_the_load_to_read_next_is_named_with_its_height(tmp_path, capsys):
    path = tmp_path / "list.csv"
    path.write_text("".join(LOADS.splitlines(keepends=True)[:5]))  # A to D
    told = asked(capsys, path)[1]["tell"]
    (load,) = [one for one in told if one["measure"] == "spring.load_1"]
    assert (load["at"], load["leaves"]) == ("1.700 in", 2.5)  # A, B, D alike there, C apart
