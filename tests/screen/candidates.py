"""Random candidates: any share of a class's figures told, many of them just at a rule's limit.

Texts in, rows out: what is made is what a catalog would say, read as any catalog is.
"""

from __future__ import annotations

from fractions import Fraction
from random import Random
from typing import Any

from fitcheck.check.values import ValueReader
from fitcheck.knowledge import Knowledge
from fitcheck.model import SIDES, Attribute, Evidence
from fitcheck.quantity import Quantity
from fitcheck.quantity.units import find_unit
from fitcheck.screen.store import PLACE
from fitcheck.screen.tables import AT, figures
from fitcheck.source import Sequence, Text


def random_rows(knowledge: Knowledge, slot: str, seed: int, count: int) -> list[dict[str, Any]]:
    """Rows of a catalog's table, the same for the same seed."""
    random = Random(f"{slot} {seed}")
    own = figures(slot, knowledge)
    values = ValueReader(knowledge, [])
    rows = []
    for number in range(count):
        known = random.choice([0.3, 0.6, 0.9, 1.0])
        evidence = random.choice([Evidence.MEASURED, Evidence.CLAIMED, Evidence.CLAIMED])
        row: dict[str, Any] = {
            "item": f"{slot} {number}",
            "source": "random",
            "row": number,
            "evidence": int(evidence),
            "price": random.choice([None, float(random.randrange(5, 400))]),
            "stock": random.choice([None, 0, 3]),
        }
        sided = random.random() < 0.4
        for name, attribute in own.items():
            for told in _names(name, attribute, random) if sided else [name]:
                if random.random() < known:
                    text = random_text(attribute, random)
                    row |= columns_for(told, attribute, text, evidence, values)
        rows.append(row)
    return rows


def _names(own: str, attribute: Attribute, random: Random) -> list[str]:
    """One figure for all, or one for each side, as of a camshaft of two lobes; some tell all."""
    if attribute.each != "valve" or attribute.spread_of or random.random() < 0.5:
        return [own]
    return [*random.choice([[], [own]]), *(f"{own}{AT}{side}" for side in SIDES)]


def columns_for(
    own: str, attribute: Attribute, text: str, evidence: Evidence, values: ValueReader
) -> dict[str, Any]:
    """The columns of one text; empty where it is none that a catalog takes."""
    node: Any = Text(text, PLACE)
    if attribute.several:
        node = Sequence([Text(one, PLACE) for one in text.split(", ")])
        node.place = PLACE
    value = values.value(attribute, node, evidence)
    if value is None:
        return {}
    if isinstance(value, Quantity):
        ends = float(value.lower), float(value.upper)
        return {own: text, f"{own}__lo": ends[0], f"{own}__hi": ends[1]}
    return {own: text, f"{own}__mask": value}


def random_text(attribute: Attribute, random: Random) -> str:
    """A value as it is written: within what is plausible, exact now and then."""
    if attribute.kind is None:
        if attribute.several:
            some = random.sample(attribute.options, random.randint(1, len(attribute.options)))
            return ", ".join(some)
        return random.choice(attribute.options)
    assert attribute.plausible is not None
    name, decimals = attribute.kind.inch
    unit = find_unit(name, attribute.kind)
    assert unit is not None
    low, high = attribute.plausible.lower, attribute.plausible.upper
    middle = low + (high - low) * Fraction(random.randrange(101), 100)
    number = middle / unit.factor - unit.offset
    stated = random.choice(["", "", " +-0"]) if attribute.kind.name != "count" else ""
    return f"{float(round(number, decimals)):.{decimals}f} {name}{stated}".strip()
