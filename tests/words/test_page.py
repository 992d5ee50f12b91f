"""From a seller's page and a cam card (invented) to an answer: one refused file at most."""

from __future__ import annotations

from fitcheck.cli import main

PAGE = """
Build: a small V8 (invented)
Cylinders: 8
Parts:
  Engine: {claimed: {CR: 10.5:1, redline: 6500 rpm}}
  Camshaft:
    claimed:
      LSA: 110+4
      duration: 224/230 @ .050
      adv duration: 276/282
      lift: .480/.488
      lobe type: roller
  Lifters: {claimed: {type: hyd roller}}
  Springs:
    claimed: {seat pressure: 125 lbs @ 1.800, open pressure: 340 lbs @ 1.250, coil bind: 1.150}
  Retainers: {claimed: {degree: 7 deg}}
  Keepers: {claimed: {degree: 10 degree}}
  Valves: {claimed: {valve size: 2.02/1.60, stem: 11/32}}
  Heads: {claimed: {cc: 64 cc, material: aluminum}}
  Pistons: {claimed: {dish: -12cc, comp height: 1.560 in, top: dish}}
  Gasket: {claimed: {thickness: .041 in}}
  Push rods: {claimed: {length: 7.800 in, dia: 5/16 x .080}}
"""
# What was refused, and what it is mended to as the refusal says.
MENDED = {
    "lift: .480": ("'lift' of a camshaft could be one of 2 things", "rated_valve_lift: .480"),
    "Gasket": ("write one of: head_gasket (head gasket), intake_gasket", "head_gasket"),
}  # fmt: skip


def test_a_page_as_printed_is_asked_about_once_and_then_answered(tmp_path, capsys):
    path = tmp_path / "page.yaml"
    path.write_text(PAGE, encoding="utf-8")
    assert main(["check", str(path)]) == 2
    told = capsys.readouterr().err
    text = PAGE
    for typed, (asked, mended) in MENDED.items():
        assert asked in told
        assert typed in text
        text = text.replace(typed, mended)
    assert told.endswith(f"{len(MENDED)} problems; nothing was done.\n")
    path.write_text(text, encoding="utf-8")
    assert main(["check", str(path)]) == 1
    told = capsys.readouterr().out
    assert "lock_angle_mismatch" in told  # 7 and 10 degrees
    assert "dish: -12cc -> piston: crown volume 12cc" in told
    assert "in the one that is plausible: valve spring: coil-bind height 1.150 in" in told
