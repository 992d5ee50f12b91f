"""An invented engine of twenty-four cylinders, all of them different.

Numbered along the valves, the springs lose 0.002 in of room from each valve to the next: from
1.751 - 1.103 - 0.525 = 0.123 in at full lift to 1.798 - 1.244 - 0.525 = 0.029 in.
"""

from __future__ import annotations

from collections.abc import Callable

SIDES = ("intake", "exhaust")
CYLINDERS = range(1, 25)


def _valves(figure: Callable[[int], str]) -> str:
    places = [f"{n} {side}" for n in CYLINDERS for side in SIDES]
    return ", ".join(f"{place}: {figure(i)}" for i, place in enumerate(places, 1))


def _cylinders(figure: Callable[[int], str]) -> str:
    return ", ".join(f"cylinder {n}: {figure(n)}" for n in CYLINDERS)


def _bank(first: int) -> str:
    return ", ".join(f'"{n}"' for n in range(first, 25, 2))


TWENTY_FOUR = f"""\
# An invented generator's engine; no figure is from a real part.
build: twenty-four (invented)
cylinders: "24"
banks: {{left: [{_bank(1)}], right: [{_bank(2)}]}}
parts:
  engine: {{measured: {{by: owner, layout: vee, use: work}}}}
  block: {{measured: {{by: shop, bore: {{{_cylinders(lambda n: f"{5 + n / 1000:.4f} in")}}}}}}}
  cam: {{measured: {{by: shop, lobe_lift: 0.3500 in, lobe_type: roller}}}}
  lifter: {{measured: {{by: owner, type: hydraulic_roller}}}}
  rocker: {{measured: {{by: shop, ratio: "1.500"}}}}
  head:
    measured:
      by: shop
      material: cast_iron
      chamber_volume: {{{_cylinders(lambda n: f"{120 + n / 10:.1f} cc")}}}
  valve: {{measured: {{by: shop, stem_diameter: {{{_valves(lambda i: f"{0.3400 + i / 20000:.5f} in")}}}}}}}
  spring:
    measured:
      by: shop
      installed_height: {{{_valves(lambda i: f"{1.750 + i / 1000:.3f} in")}}}
      coil_bind_height: {{{_valves(lambda i: f"{1.100 + 3 * i / 1000:.3f} in")}}}
      rate: {{{_valves(lambda i: f"{250 + i} lbf/in")}}}
"""
