"""One unlabelled part against a list: what it may be, and the figure that leaves fewest."""

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
    assert main(["identify", "spring", "colour=red", "wire"]) == 2
    told = capsys.readouterr().err
    assert "no attribute 'colour'" in told and "'wire' tells no figure" in told
