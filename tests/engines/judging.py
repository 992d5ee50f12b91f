"""Judges the knowledge from outside: engines that are sound, and faults planted in them.

A false alarm is a clash of severity stop or serious on a sound engine. A planted fault counts as
found when a clash appears that the sound engine has not, and that rests on what was changed; for
a gross fault it has to be a stop or serious, for a slight one a remark will do.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import yaml

from fitcheck.check import BuildCheck, RuleFinding, Verdict, check_build, read_build, recheck
from fitcheck.knowledge import Knowledge
from fitcheck.model import EngineBuild

HERE = Path(__file__).parent
LATER = "2026-06-20"  # after the day on which the sound engines were measured
GRAVE = ("stop", "serious")


@dataclass(frozen=True)
class Alarm:
    """A clash, by its rule and how grave it is, with what it says."""

    rule: str
    severity: str
    says: str


def engines(kind: str) -> list[Path]:
    """The engine files of a kind: `healthy` or `factory`."""
    return sorted((HERE / kind).glob("*.yaml"))


def checked(path: Path, knowledge: Knowledge) -> BuildCheck:
    """The check of an engine file."""
    return check_build(read_build(path, knowledge), knowledge)


def clashes(check: BuildCheck) -> Iterator[RuleFinding]:
    """All that clashes and is told, claims of sellers included."""
    told = [*check.findings, *(claim.finding for claim in check.claims)]
    return (found for found in told if found.verdict is Verdict.CONFLICT)


def alarms(check: BuildCheck) -> dict[str, Alarm]:
    """The grave clashes of a check, one for each rule."""
    return {
        found.rule.id: Alarm(found.rule.id, found.rule.severity, found.message())
        for found in clashes(check)
        if found.rule.severity in GRAVE
    }


def answers(name: str, check: BuildCheck) -> list[str]:
    """What the rules say of an engine: how many fit, and of each other its verdict and places."""
    places: Counter[tuple[str, str, str]] = Counter()
    for found in (*check.findings, *(claim.finding for claim in check.claims)):
        if found.verdict is Verdict.FITS:
            places["rules", "fits", "any"] += 1
        else:
            key = found.rule.id, found.verdict.value, found.rule.severity
            places[key] += len(found.positions)
    return [f"{name},{','.join(key)},{count}" for key, count in sorted(places.items())]


@dataclass(frozen=True)
class Fault:
    """One fault as planted: in which engine, what it is in words, and what it changes.

    `measured` and `claimed` are written as in a build file, slot by slot; `without` names slots
    that are left empty. `how` is `gross` or `slight` (just past good practice); `missed` says why
    nobody finds it, where that is so.
    """

    place: str
    engine: str
    what: str
    how: str
    source: str
    measured: dict[str, Any]
    claimed: dict[str, Any]
    without: tuple[str, ...] = ()
    missed: str = ""

    @property
    def name(self) -> str:
        """What tells it from the others."""
        return f"{self.engine}: {self.what}"

    def planted_in(self, build: EngineBuild, knowledge: Knowledge) -> tuple[EngineBuild, set[str]]:
        """The engine with the fault in it, and the attributes that differ from before."""
        written = _read(self._as_file(build), knowledge)
        changed = {statement.attribute.name for statement in written.statements()}
        parts = dict(build.parts)
        for slot, (said, *_) in written.parts.items():
            if slot in parts:
                first, *others = parts[slot]
                both = (*first.statements, *said.statements)
                parts[slot] = (replace(first, statements=both), *others)
            else:
                parts[slot] = (said,)
                changed |= set(knowledge.classes[slot].attributes)
        for slot in self.without:
            parts.pop(slot, None)
            changed |= set(knowledge.classes[slot].attributes)
        changed |= {a.name for a in knowledge.attributes.values() if a.spread_of in changed}
        absent = (build.absent - set(written.parts)) | set(self.without)
        return replace(build, parts=parts, absent=absent), changed

    def _as_file(self, build: EngineBuild) -> str:
        slots: dict[str, Any] = {}
        for evidence, said in (("measured", self.measured), ("claimed", self.claimed)):
            for slot, figures in said.items():
                slots.setdefault(slot, {})[evidence] = {"by": "judge", "when": LATER, **figures}
        file: dict[str, Any] = {"build": self.what, "cylinders": str(build.layout.cylinders)}
        if build.layout.banks:
            file["banks"] = {
                bank: [str(number) for number in members] for bank, members in build.layout.banks
            }
        return yaml.safe_dump({**file, "parts": slots}, default_style="'", sort_keys=False)


def _read(text: str, knowledge: Knowledge) -> EngineBuild:
    return read_build("fault.yaml", knowledge, text)


def faults() -> list[Fault]:
    """All planted faults, in the order of their files."""
    return [
        Fault(
            path.stem,
            one["engine"],
            one["what"],
            one["how"],
            one["source"],
            one.get("measured", {}),
            one.get("claimed", {}),
            tuple(one.get("without", ())),
            one.get("missed", ""),
        )
        for path in sorted((HERE / "faults").glob("*.yaml"))
        for one in yaml.load(path.read_text("utf-8"), Loader=yaml.BaseLoader)
    ]


class Bench:
    """The sound engines, each checked once, and faults planted in them."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self._found: dict[str, list[RuleFinding]] = {}

    @cached_property
    def sound(self) -> dict[str, BuildCheck]:
        """The checks of the healthy engines by name."""
        return {path.stem: checked(path, self.knowledge) for path in engines("healthy")}

    def found_by(self, fault: Fault) -> list[RuleFinding]:
        """The clashes that the fault brings and that rest on what it changes."""
        if fault.name not in self._found:
            self._found[fault.name] = self._find(fault)
        return self._found[fault.name]

    def _find(self, fault: Fault) -> list[RuleFinding]:
        before = self.sound[fault.engine]
        build, changed = fault.planted_in(before.build, self.knowledge)
        known = {(f.rule.id, at) for f in clashes(before) for at in f.positions}
        return [
            found
            for found in clashes(recheck(before, build, changed))
            if not changed.isdisjoint(found.cited)
            and any((found.rule.id, at) not in known for at in found.positions)
        ]

    def finds(self, fault: Fault) -> bool:
        """Whether the fault is found, gravely enough."""
        found = self.found_by(fault)
        return any(fault.how == "slight" or one.rule.severity in GRAVE for one in found)
