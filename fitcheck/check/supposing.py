"""What if: changes to a build typed on the command line, read as strictly as a build file.

spring.installed_height=1.750 in            a value, everywhere
spring.installed_height@exhaust=1.750 in    a value at some positions
head.sold_for_followers=[hydraulic_flat]    a set of options
shim=none                                   a part left out
spring=other.yaml                           a part as another build file has it
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

from fitcheck.check.one_figure import with_units
from fitcheck.check.read import read_build, read_said
from fitcheck.knowledge import Knowledge
from fitcheck.model import EngineBuild, Evidence, Statement, UnderstoodText
from fitcheck.quantity import Quantity, tidied
from fitcheck.quantity.showing import system_of
from fitcheck.source import BadInput, Problem, Problems, frozen, read_yaml

NONE = "none"


@frozen
class Supposed:
    """A build after changes, and the attributes that may differ from before."""

    build: EngineBuild
    changed: frozenset[str]


def suppose_all(build: EngineBuild, changes: Iterable[str], knowledge: Knowledge) -> Supposed:
    """The build with the changes made, a later one over an earlier; raises BadInput with all."""
    problems = Problems()
    changed: set[str] = set()
    for text in changes:
        name, equals, value = (piece.strip() for piece in text.partition("="))
        if not equals or not name or not value:
            problems.append(
                Problem(
                    f"'{text}' sets nothing", None, "write spring.rate=300 lbf/in, or shim=none"
                )
            )
            continue
        typed = name.partition("@")[0].partition(".")[0].strip()
        slot = knowledge.words.part(typed).name
        if not slot:
            what, mend = knowledge.hints.part(typed)
            problems.append(Problem(f"'{text}': {what}", None, mend))
            continue
        try:
            if "." in name:
                own = f"{slot}.{name.partition('.')[2]}"
                statements, readings = _said(
                    build, own, _with_unit(build, own, value, knowledge), knowledge
                )
                fitted = slot in build.parts
                build = build.supposing(statements)
                build = replace(build, readings=(*build.readings, *readings))
                changed |= (
                    {s.attribute.name for s in statements}
                    if fitted
                    else set(knowledge.classes[slot].attributes)
                )
            else:
                build = (
                    _without(build, slot)
                    if value == NONE
                    else _with_part(build, slot, Path(value), knowledge)
                )
                changed |= _touched(slot, knowledge)
        except BadInput as error:
            problems += [Problem(f"'{text}': {p.what}", None, p.mend) for p in error.problems]
    if problems:
        raise BadInput(problems)
    return Supposed(build, frozenset(changed))


def _said(
    build: EngineBuild, name: str, value: str, knowledge: Knowledge
) -> tuple[tuple[Statement, ...], tuple[UnderstoodText, ...]]:
    """The value read by the reader of build files, with all that it refuses."""
    path, _, position = name.partition("@")
    slot, _, own = path.partition(".")
    told: Any = value
    if value.startswith("["):
        problems = Problems()
        told = read_yaml("what if", problems, value)
        if problems:
            raise BadInput(problems)
    told = {position.strip(): told} if position else told
    return read_said(slot, Evidence.MEASURED, {own.strip(): told}, build.layout, knowledge)


def _with_unit(build: EngineBuild, name: str, value: str, knowledge: Knowledge) -> str:
    """The value; a bare one that is plausible in two units in that of the build's figures."""
    attribute = knowledge.attributes.get(knowledge.words.figure(name.partition("@")[0]).name)
    if attribute is None or attribute.kind is None:
        return value
    figures = list(with_units(attribute, value))
    typed = " ".join(s.value.text for s in build.statements() if isinstance(s.value, Quantity))
    unit, _ = attribute.kind.inch if system_of(typed) == "inch" else attribute.kind.metric
    meant = f"{tidied(value)} {unit}"
    return meant if len(figures) > 1 and meant in figures else value


def _without(build: EngineBuild, slot: str) -> EngineBuild:
    parts = {name: part for name, part in build.parts.items() if name != slot}
    return replace(build, parts=parts, absent=build.absent | {slot})


def _with_part(build: EngineBuild, slot: str, path: Path, knowledge: Knowledge) -> EngineBuild:
    other = read_build(path, knowledge)
    if slot not in other.parts:
        raise BadInput([Problem(f"{path} lists no {slot}", None, "name a build that has one")])
    parts = tuple(replace(part, holder="") for part in other.parts[slot])
    return replace(build, parts={**build.parts, slot: parts}, absent=build.absent - {slot})


def _touched(slot: str, knowledge: Knowledge) -> set[str]:
    """What may change with the part in a slot; whatever can come with the head among it."""
    names = set(knowledge.classes[slot].attributes)
    return names | {name for name in knowledge.attributes if name.endswith(".comes_with_head")}
