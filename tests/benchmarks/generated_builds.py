"""Builds for timing, of a usual size: their figures come from the rules' own examples that fit."""

from __future__ import annotations

import random

from fitcheck.check import read_build
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.model import Attribute, EngineBuild
from fitcheck.quantity import EXACT, Interval, read_quantity, show

CYLINDERS = 8
# An example that fits stands on its limit; a figure is moved off it by this many steps of the
# example that conflicts, away from that.
STEPS_OFF = 20


def generated_build(knowledge: Knowledge, share: float, seed: int = 1) -> EngineBuild:
    """An eight-cylinder engine without optional parts; `share` of what can be measured is."""
    chance = random.Random(seed)
    lines = ["build: a generated engine", f'cylinders: "{CYLINDERS}"', "parts:"]
    usual = _usual_values(knowledge)
    for part_class in knowledge.classes.values():
        if part_class.optional:
            continue
        lines += [f"  {part_class.id}:", "    measured:", "      by: bench"]
        for name, attribute in part_class.attributes.items():
            value = usual.get(name) or _middle(attribute)
            own = name.partition(".")[2]
            if name == "piston.crown":  # on which it depends how a volume of the crown is read
                value = "dished"
            if value and own not in ("present", "comes_with_head") and chance.random() < share:
                lines.append(f"      {own}: {value}")
    return read_build("generated.yaml", knowledge, "\n".join(lines))


def _usual_values(knowledge: Knowledge) -> dict[str, str]:
    """For each attribute the first value that an example which fits gives it."""
    found: dict[str, str] = {}
    for rule in knowledge.rules.values():
        examples = rule.file.examples
        for facts in (examples.given, *examples.fits):
            for name, value in facts.items():
                attribute = knowledge.attributes.get(str(name))
                if attribute is None or str(name) in found:
                    continue
                if isinstance(value, list):
                    found[str(name)] = f"[{', '.join(map(str, value))}]"
                elif attribute.kind is not None:
                    found[str(name)] = f'"{_off_the_limit(rule, attribute, str(value))}"'
                else:
                    found[str(name)] = f'"{value}"'
    return found


def _off_the_limit(rule: Rule, attribute: Attribute, fits: str) -> str:
    assert attribute.kind is not None and attribute.plausible is not None
    kind = attribute.kind
    conflicts = [
        str(case[name])
        for case in rule.file.examples.conflict
        for name in case
        if str(name) == attribute.name
    ]
    if not conflicts or ".." in fits + conflicts[0]:
        return fits
    value, other = (
        read_quantity(text, kind, EXACT).interval.middle for text in (fits, conflicts[0])
    )
    moved = value + STEPS_OFF * (value - other)
    inside = Interval.point(min(max(moved, attribute.plausible.lower), attribute.plausible.upper))
    return show(inside, kind)


def _middle(attribute: Attribute) -> str:
    if attribute.kind is not None and attribute.plausible is not None:
        return f'"{show(Interval.point(attribute.plausible.middle), attribute.kind)}"'
    return f'"{attribute.options[-1]}"' if attribute.options else ""
