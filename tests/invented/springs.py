"""Invented springs that physics allows: rate, loads, heights, stress, mass and surge agree."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Values = NDArray[Any]
Table = dict[str, Values]

# Music and valve-spring wire: modulus of rigidity [psi] and density [g/in3]; Shigley, ch 10.
RIGIDITY = 11.2e6
STEEL = 7.85 * 2.54**3
DEAD_COILS = 2.0
# Share of the wire's tensile strength that the corrected stress may reach when it is solid.
MOST_STRESS = 0.65
BIND_MARGIN = 0.060


class Drawing:
    """Draws figures for so many parts."""

    def __init__(self, seed: int, slot: str, count: int) -> None:
        self.random = np.random.default_rng([seed, *slot.encode()])
        self.count = count

    def pick(self, some: Any, weights: Any = None) -> Values:
        """One of some for each part."""
        drawn: Values = self.random.choice(np.array(some), self.count, p=weights)
        return drawn

    def within(self, low: Any, high: Any, step: float) -> Values:
        """A figure in whole steps."""
        drawn: Values = np.round(self.random.uniform(low, high, self.count) / step) * step
        return drawn

    def near(self, middle: Any, spread: float) -> Values:
        """A figure scattered about another."""
        drawn: Values = middle + self.random.normal(0.0, spread, self.count)
        return drawn

    def prices(self, middle: Any, spread: float = 0.18) -> Values:
        """Prices as they are asked, one in twenty not told."""
        asked = np.maximum(1, np.round(middle * np.exp(self.random.normal(0, spread, self.count))))
        return np.where(self.random.random(self.count) < 0.05, np.nan, asked - 0.05)


def corrected_stress(load: Values, mean: Values, wire: Values) -> Values:
    """Shear stress in a round wire with Wahl's correction, [psi] of lbf and in; Shigley, ch 10."""
    index = mean / wire
    wahl = (4 * index - 1) / (4 * index - 4) + 0.615 / index
    return wahl * 8 * load * mean / (np.pi * wire**3)


def springs(draw: Drawing) -> Table:
    """Springs that can exist: drawn until enough of them stand their own solid height."""
    kept: list[Table] = []
    found, number = 0, 0
    while found < draw.count:
        table = _some_springs(draw)
        able = table.pop("able")
        kept.append({name: values[able] for name, values in table.items()})
        found += int(able.sum())
        number += 1
    return {name: np.concatenate([t[name] for t in kept])[: draw.count] for name in kept[0]}


def _some_springs(draw: Drawing) -> Table:
    double = draw.random.random(draw.count) < 0.35
    outside = draw.pick([1.250, 1.260, 1.290, 1.430, 1.500, 1.550]) + draw.within(
        -0.01, 0.01, 0.005
    )
    wire = (
        np.round(np.clip(draw.near(0.105 + 0.055 * outside, 0.008), 0.140, 0.215) / 0.001) * 0.001
    )
    coils = draw.within(3.6, 6.6, 0.1)
    mean = outside - wire
    outer_rate = RIGIDITY * wire**4 / (8 * mean**3 * coils)
    inner_outside = outside - 2 * wire - draw.within(0.04, 0.08, 0.005)
    inner_wire = np.round(draw.near(0.64 * wire, 0.004) / 0.001) * 0.001
    # An inner spring goes solid no sooner than the outer one.
    inner_coils = np.floor((wire * (coils + DEAD_COILS) / inner_wire - DEAD_COILS - 0.1) * 10) / 10
    inner_mean = inner_outside - inner_wire
    inner_rate = np.where(double, RIGIDITY * inner_wire**4 / (8 * inner_mean**3 * inner_coils), 0.0)
    rate = outer_rate + inner_rate
    solid = np.ceil(wire * (coils + DEAD_COILS) * 1000) / 1000
    height = draw.within(1.55, 1.95, 0.05)
    lift = np.minimum(np.floor((height - solid - BIND_MARGIN) * 100) / 100, 0.70)
    seat = np.clip(draw.near(60 + 0.20 * rate, 14), 70, 240)
    free = height + seat / rate
    outer_stress = corrected_stress(outer_rate * (free - solid), mean, wire)
    inner_stress = corrected_stress(inner_rate * (free - solid), inner_mean, inner_wire)
    strength = draw.pick([240.0, 260.0, 280.0])
    able = (lift >= 0.35) & (
        np.maximum(outer_stress, inner_stress) <= MOST_STRESS * strength * 1000
    )
    damper = ~double & (draw.random.random(draw.count) < 0.6)
    inside = np.where(double, inner_outside - 2 * inner_wire, outside - 2 * wire - 0.09 * damper)
    length = np.pi * mean * (coils + DEAD_COILS)
    inner_length = np.where(double, np.pi * inner_mean * (inner_coils + DEAD_COILS), 0.0)
    mass = STEEL * np.pi / 4 * (length * wire**2 + inner_length * inner_wire**2)
    active = STEEL * np.pi / 4 * np.pi * mean * coils * wire**2
    # Half the root of rate over mass, both ends held; lbf/in to N/m, g to kg, cycles to a minute.
    frequency = 30 * np.sqrt(outer_rate * 175.12684 / (active / 1000))
    return {
        "able": able,
        "shape": np.full(draw.count, "cylindrical"),
        "springs": np.where(double, "double", "single"),
        "damper": np.where(damper, "yes", "no"),
        "free_length [in]": free,
        "wanted_height [in]": height,
        "load_1 [lbf]": seat,
        "load_1_height [in]": height,
        "load_2 [lbf]": rate * (free - (height - lift)),
        "load_2_height [in]": height - lift,
        "rate [lbf/in]": rate,
        "coil_bind_height [in]": solid,
        "rated_lift [in]": lift,
        "outside_diameter [in]": outside,
        "inside_diameter [in]": inside,
        "outer_inside_diameter [in]": outside - 2 * wire,
        "top_outside_diameter [in]": outside,
        "top_inside_diameter [in]": outside - 2 * wire,
        "inner_top_inside_diameter [in]": np.where(double, inner_outside - 2 * inner_wire, np.nan),
        "wire_diameter [in]": wire,
        "active_coils": coils,
        "inner_wire_diameter [in]": np.where(double, inner_wire, np.nan),
        "inner_active_coils": np.where(double, inner_coils, np.nan),
        "tensile_strength [ksi]": strength,
        "natural_frequency [rpm]": frequency,
        "mass [g]": mass,
        "price [EUR]": draw.prices(2.2 + 6.5 * double + 0.006 * rate + 0.02 * (strength - 240)),
    }
