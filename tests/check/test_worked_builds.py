"""Three builds worked by hand: the arithmetic stands beside each figure that must come out.

All parts are invented. Tolerances are written out, so that every end of every figure can be
followed with pencil and paper; inches, pounds-force and cubic centimetres throughout.
"""

from __future__ import annotations

import pytest

from fitcheck.check import BuildCheck, RuleFinding, Verdict, check_build, derivations, read_build
from fitcheck.knowledge import Knowledge, load_knowledge
from fitcheck.report.phrases import margin_line


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return load_knowledge()


def checked(text: str, knowledge: Knowledge) -> BuildCheck:
    return check_build(read_build("worked.yaml", knowledge, text), knowledge)


def found(check: BuildCheck, rule: str, place: str = "") -> RuleFinding:
    matching = [f for f in check.all_findings if f.rule.id == rule and place in str(f.positions)]
    assert len(matching) == 1, f"{rule} at {place!r}: {len(matching)} findings"
    return matching[0]


FLAT_TAPPET_FOUR = """
build: A hydraulic flat-tappet four, all measured (invented)
cylinders: "4"
parts:
  engine: {measured: {use: road, greatest_speed: 5000 rpm}}
  lifter: {measured: {type: hydraulic_flat}}
  cam: {measured: {lobe_lift: 0.300 in +-0.001}}
  rocker: {measured: {ratio: "1.50 +-0.01"}}
  spring:
    measured:
      installed_height: 1.700 in +-0.005
      coil_bind_height: 1.100 in +-0.005
      seat_load: 60 lbf +-5
      rate: 250 lbf/in +-10
  retainer: {measured: {gap_to_seal: 0.520 in +-0.010}}
  guide:
    measured:
      material: cast_iron
      bore: {intake: 0.3435 in +-0.0001, exhaust: 0.3428 in +-0.0001, 3 exhaust: 0.3420 in +-0.0001}
  valve: {measured: {stem_diameter: 0.3415 in +-0.0001}}
"""


def test_a_flat_tappet_four(knowledge: Knowledge) -> None:
    check = checked(FLAT_TAPPET_FOUR, knowledge)

    # Valve lift: least 0.299 x 1.49 = 0.44551, most 0.301 x 1.51 = 0.45451.
    # Open height: 1.695 - 0.45451 = 1.24049 to 1.705 - 0.44551 = 1.25949.
    # Left before the coils touch: 1.24049 - 1.105 = 0.13549 to 1.25949 - 1.095 = 0.16449.
    # Over the 0.050 to 0.060 wanted: 0.07549 to 0.11449.
    bind = found(check, "coil_bind")
    assert bind.verdict is Verdict.FITS
    assert margin_line(bind, "inch") == (
        "0.135..0.165 in, wanted at least 0.050 in by some and 0.060 in by others; "
        "0.075..0.115 in to spare"
    )

    # Retainer to seal: 0.510 - 0.45451 = 0.05549 to 0.530 - 0.44551 = 0.08449. The trade wants
    # 0.050 by some and 0.060 by others: 0.05549 falls between, so it cannot be told.
    # Against 0.060: 0.00451 short; against 0.050: 0.03449 to spare.
    seal = found(check, "retainer_meets_seal")
    assert seal.verdict is Verdict.STRADDLES
    assert margin_line(seal, "inch") == (
        "0.055..0.085 in, wanted at least 0.050 in by some and 0.060 in by others; "
        "anything from 0.0045 in short to 0.034 in to spare"
    )

    # Open load: 55 + 240 x 0.44551 = 161.9224 to 65 + 260 x 0.45451 = 183.1726 lbf. Followers of
    # this kind usually have 190 to 250: even the most is 6.8274 short of the least.
    # Shortfall: 190 - 183.1726 = 6.83 to 250 - 161.9224 = 88.08.
    load = found(check, "weak_open_load")
    assert load.verdict is Verdict.CONFLICT
    assert load.message().startswith("The open load is 161..184 lbf;")
    assert margin_line(load, "inch").endswith("short by 6..89 lbf")

    # Stem clearance, intake: 0.3434 - 0.3416 = 0.0018 to 0.3436 - 0.3414 = 0.0022; wanted 0.0005
    # to 0.0015: fits. Exhaust: 0.3427 - 0.3416 = 0.0011 to 0.3429 - 0.3414 = 0.0015; wanted
    # 0.0009 to 0.0020: not told. Cylinder 3 exhaust: 0.0003 to 0.0007: conflict, short by
    # 0.0009 - 0.0007 = 0.0002 to 0.0020 - 0.0003 = 0.0017.
    assert found(check, "stem_tight_in_guide", "intake").verdict is Verdict.FITS
    exhausts = [
        f
        for f in check.findings
        if f.rule.id == "stem_tight_in_guide" and f.positions[0].side == "exhaust"
    ]
    by_count = {len(f.positions): f for f in exhausts}
    assert by_count[3].verdict is Verdict.STRADDLES
    assert by_count[1].verdict is Verdict.CONFLICT
    assert by_count[1].positions[0].cylinder == 3
    assert margin_line(by_count[1], "inch").endswith("short by 0.0002..0.0017 in")


SOLID_ROLLER_V8 = """
build: A solid-roller V8 on claimed figures (invented)
cylinders: "8"
banks: {left: [1, 3, 5, 7], right: [2, 4, 6, 8]}
parts:
  engine: {measured: {use: road}}
  lifter:
    measured: {lash: 0.020 in +-0.002}
    claimed: {type: solid_roller}
  cam:
    claimed: {lobe_lift: {intake: 0.420 in +-0.002, exhaust: 0.400 in +-0.002}}
  rocker: {claimed: {ratio: "1.60 +-0.02"}}
  head:
    claimed: {sold_for_lift: 0.600 in +-0.000, sold_for_followers: [solid_flat, solid_roller]}
    contains:
      spring:
        claimed:
          installed_height: 1.900 in +-0.010
          coil_bind_height: 1.170 in +-0.005
          load_1: 220 lbf +-10
          load_1_height: 1.900 in +-0.000
          rate: 450 lbf/in +-20
"""


def test_a_solid_roller_v8(knowledge: Knowledge) -> None:
    check = checked(SOLID_ROLLER_V8, knowledge)

    # Intake lift: 0.418 x 1.58 - 0.022 = 0.63844 to 0.422 x 1.62 - 0.018 = 0.66564.
    # Coil-bind clearance: 1.890 - 0.66564 - 1.175 = 0.04936 to 1.910 - 0.63844 - 1.165 = 0.10656.
    # Margin to 0.050 by some, 0.060 by others: -0.01064 to 0.05656.
    intake = found(check, "coil_bind", "intake")
    assert intake.verdict is Verdict.STRADDLES
    assert margin_line(intake, "inch") == (
        "0.049..0.107 in, wanted at least 0.050 in by some and 0.060 in by others; "
        "anything from 0.011 in short to 0.057 in to spare"
    )
    # Exhaust lift: 0.398 x 1.58 - 0.022 = 0.60684 to 0.402 x 1.62 - 0.018 = 0.63324.
    # Clearance: 1.890 - 0.63324 - 1.175 = 0.08176 to 1.910 - 0.60684 - 1.165 = 0.13816: 0.050 to
    # 0.060 wanted: fits by 0.02176 to 0.08816.
    exhaust = found(check, "coil_bind", "exhaust")
    assert exhaust.verdict is Verdict.FITS
    assert margin_line(exhaust, "inch").endswith("0.021..0.089 in to spare")

    # The claim says 0.600: both lifts are beyond it, the intake by 0.03844 to 0.06564, the
    # exhaust by 0.00684 to 0.03324. The followers are among those claimed.
    claims = {(c.finding.rule.id, c.finding.positions[0].side): c for c in check.claims}
    outside = claims["lift_outside_claim", "intake"].finding
    assert outside.verdict is Verdict.CONFLICT
    assert margin_line(outside, "inch").endswith("over by 0.038..0.066 in")
    outside = claims["lift_outside_claim", "exhaust"].finding
    assert margin_line(outside, "inch").endswith("over by 0.006..0.034 in")
    followers = [c for (rule, _), c in claims.items() if rule == "follower_outside_claim"]
    assert [c.finding.verdict for c in followers] == [Verdict.FITS]

    # Seat load at 1.890 to 1.910 from 220 +-10 at 1.900: the height is off by -0.010 to +0.010,
    # the load by 470 x 0.010 = 4.7 either way: 210 - 4.7 = 205.3 to 230 + 4.7 = 234.7 lbf.
    # Solid rollers usually have 170 to 200 or more: fits by 5.3 to 64.7 lbf.
    seat = found(check, "weak_seat_load")
    assert seat.message().startswith("The seat load is 205..235 lbf;")


COMPRESSION_OF_A_FOUR = """
build: A pushrod four's compression (invented)
cylinders: "4"
parts:
  engine: {claimed: {displacement: 2000 cc +-0}}
  block: {measured: {bore: 90.00 mm +-0.00}}
  crankshaft: {measured: {stroke: 80.00 mm +-0.00}}
  rod: {measured: {material: forged_steel}}
  piston:
    measured: {deck_clearance: 0.50 mm +-0.05, crown_volume: 6.0 cc +-0.0, quench_pad: "yes"}
  head_gasket: {measured: {bore: 92.00 mm +-0.00, bore_round: "yes", thickness: 1.00 mm +-0.05}}
  head:
    measured:
      chamber_volume: {cylinder 1: 41.0 cc +-0.2, cylinder 2: 41.6 cc +-0.2,
                       cylinder 3: 41.0 cc +-0.2, cylinder 4: 41.0 cc +-0.2}
"""


def test_the_compression_of_a_four(knowledge: Knowledge) -> None:
    check = checked(COMPRESSION_OF_A_FOUR, knowledge)

    # Swept, one cylinder: pi/4 x 9.000^2 x 8.000 = 508.938 cc; four: 2035.752 cc. The paper says
    # 2000: 35.752 cc more, 1.7876 % of 2000: inside what the two may part by.
    assert "total_displacement_contradicts" in check.silent

    # Gasket: pi/4 x 9.200^2 = 66.4761 cm2; 0.095 to 0.105 cm thick: 6.3152 to 6.9800 cc.
    # Deck: pi/4 x 9.000^2 = 63.6173 cm2; 0.045 to 0.055 cm: 2.8628 to 3.4990 cc.
    # Above the piston, cylinder 1: 40.8 + 6.3152 + 2.8628 + 6.0 = 55.9780 to
    # 41.2 + 6.9800 + 3.4990 + 6.0 = 57.6790 cc.
    # Ratio: 1 + 508.938/57.6790 = 9.8236 to 1 + 508.938/55.9780 = 10.0917: 9.82..10.10.
    # Cylinder 2 has 0.6 cc more: 56.5780 to 58.2790: 9.7328 to 9.9953: 9.73..10.00.
    ratios = {
        f.positions[0].cylinder: f
        for f in check.undecided + check.fits + check.conflicts
        if f.rule.id == "compression_high_for_fuel"
    }
    assert set(ratios) == {1, 2}  # cylinders 3 and 4 are as cylinder 1, told with it
    assert "9.82..10.10" in str(derivations(ratios[1])[0])
    assert "9.73..10.00" in str(derivations(ratios[2])[0])

    # Quench: 0.45 + 0.95 = 1.40 to 0.55 + 1.05 = 1.60 mm; at least 0.028 to 0.035 in wanted, which
    # is 0.7112 to 0.889 mm: 0.511 to 0.889 mm to spare.
    quench = found(check, "quench_tight")
    assert quench.verdict is Verdict.FITS
    assert margin_line(quench, "metric") == (
        "1.40..1.60 mm, wanted at least 0.71..0.89 mm; 0.51..0.89 mm to spare"
    )
