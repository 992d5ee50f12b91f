"""Random builds: a random part of all attributes, within what is plausible, known more or less.

Text in, build out: what is made is what a user would write, read as any build file is.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from random import Random

from fitcheck.knowledge import Knowledge
from fitcheck.model import (
    EVERYWHERE,
    Attribute,
    EngineBuild,
    Evidence,
    Layout,
    Origin,
    Part,
    Selector,
    Statement,
)
from fitcheck.quantity import Interval, Quantity
from fitcheck.source import Place, Source

FOUR = Layout(4, (("left", (1, 2)), ("right", (3, 4))))
NOWHERE = Place(Source("random", ""))
_FROM_BUILD = ("engine.cylinders",)
_SELECTORS = {
    "engine": [EVERYWHERE],
    "bank": [EVERYWHERE, Selector(bank="right")],
    "cylinder": [EVERYWHERE, Selector(cylinder=2), Selector(bank="left")],
    "valve": [
        EVERYWHERE,
        Selector(side="exhaust"),
        Selector(cylinder=3),
        Selector(cylinder=1, side="intake"),
    ],
}


def random_builds(
    knowledge: Knowledge, *, seed: int, count: int, known: float | None = None
) -> Iterator[EngineBuild]:
    """`count` builds, the same for the same seed; `known` is the share of attributes given."""
    random = Random(seed)
    for number in range(count):
        share = known if known is not None else random.choice([0.2, 0.5, 0.8, 1.0])
        yield random_build(knowledge, random, share, f"random build {seed}/{number}")


def random_build(knowledge: Knowledge, random: Random, known: float, title: str) -> EngineBuild:
    """One build with about `known` of all attributes given."""
    parts: dict[str, tuple[Part, ...]] = {}
    absent = set()
    for slot, part_class in knowledge.classes.items():
        if random.random() < (0.4 if part_class.optional else 0.05):
            absent.add(slot)
            continue
        statements = [
            statement
            for attribute in part_class.attributes.values()
            if random.random() < known
            for statement in _statements(attribute, random)
        ]
        holder = "head" if slot != "head" and random.random() < 0.2 else ""
        parts[slot] = (Part(slot, "", "", tuple(statements), holder, NOWHERE),)
    return EngineBuild(title, "", FOUR, parts, frozenset(absent), NOWHERE)


def _statements(attribute: Attribute, random: Random) -> Iterator[Statement]:
    name = attribute.name.partition(".")[2]
    if attribute.text or name in ("present", "comes_with_head") or attribute.name in _FROM_BUILD:
        return
    choices = _SELECTORS[attribute.each]
    others = random.sample(choices[1:], random.choice([0, 0, 0, min(1, len(choices) - 1)]))
    for selector in [EVERYWHERE, *others]:
        evidence = random.choice([Evidence.MEASURED, Evidence.CLAIMED, Evidence.ASSUMED])
        value = (
            _quantity(attribute, random)
            if attribute.kind is not None
            else _options(attribute, random)
        )
        yield Statement(attribute, selector, evidence, value, Origin(), NOWHERE)


def _options(attribute: Attribute, random: Random) -> int:
    count = len(attribute.options)
    if attribute.several:
        return random.randrange(1 << count)
    mask = 1 << random.randrange(count)
    return mask | 1 << random.randrange(count) if random.random() < 0.1 else mask


def _quantity(attribute: Attribute, random: Random) -> Quantity:
    """A figure somewhere in the plausible range, mostly near its middle, known more or less."""
    plausible, kind = attribute.plausible, attribute.kind
    assert plausible is not None and kind is not None
    spread = random.choice([0.1, 0.1, 0.3, 1.0])
    share = Fraction(random.randrange(1, 1000), 1000) - Fraction(1, 2)
    middle = plausible.middle + plausible.width * share * Fraction(spread)
    half = plausible.width * Fraction(random.choice([0, 1, 1, 10, 200]), 1000)
    if kind.name == "count":
        middle, half = (
            Fraction(min(max(round(middle), plausible.lower), plausible.upper)),
            Fraction(0),
        )
    interval = Interval(max(plausible.lower, middle - half), min(plausible.upper, middle + half))
    return Quantity(kind, interval, "as drawn", stated=True)
