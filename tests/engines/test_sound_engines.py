"""Engines that a good shop would run must raise no alarm.

`healthy/` holds complete invented engines, each figure as a careful builder would have it at the
end; `factory/` holds engines as public technical manuals print them for new parts, tried in the
middle and at both ends of each tolerance. A clash of severity stop or serious on one of them is a
false alarm, unless it is listed here with the reason.
"""

from __future__ import annotations

import os
import re
from dataclasses import replace
from difflib import unified_diff
from random import Random

import pytest

import fitcheck
from fitcheck.check import BuildCheck, check_build, read_build
from fitcheck.cli.demo import demo_folder
from fitcheck.knowledge import Knowledge, default_rules
from tests.engines.judging import HERE, alarms, answers, checked, engines
from tests.engines.tolerances import assemblies
from tests.plan.long import LONG

ANSWERS = HERE / "answers.csv"
# Rules that raise a false alarm for a reason that stands: on which engines, and why.
KNOWN: dict[str, tuple[set[str], str]] = {}


@pytest.fixture(scope="module")
def healthy(knowledge: Knowledge) -> dict[str, BuildCheck]:
    return {path.stem: checked(path, knowledge) for path in engines("healthy")}


def test_no_false_alarms(healthy: dict[str, BuildCheck], knowledge: Knowledge) -> None:
    built = list(healthy.items())
    built += [
        (path.stem, check_build(build, knowledge))
        for path in engines("factory")
        for _, build in assemblies(read_build(path, knowledge))
    ]
    found = {
        (engine, alarm.rule): f"{alarm.severity}: {alarm.says}"
        for engine, check in built
        for alarm in alarms(check).values()
    }
    print(f"\n{len(found)} false alarms on {len(built)} sound engines")
    unknown = {(name, rule): told for (name, rule), told in found.items() if not _known(name, rule)}
    assert not unknown, "\n".join(f"{key}: {told}" for key, told in unknown.items())


@pytest.mark.parametrize("share", [pytest.param(0.3, marks=LONG), 0.7])
def test_what_is_not_told_raises_no_alarm(knowledge: Knowledge, share: float) -> None:
    """A sound engine of which only a part is known is still a sound engine."""
    random = Random(f"told {share}")
    for path in engines("healthy"):
        build = read_build(path, knowledge)
        parts = {
            slot: tuple(
                replace(
                    part, statements=tuple(s for s in part.statements if random.random() < share)
                )
                for part in listed
            )
            for slot, listed in build.parts.items()
            if slot == "head" or random.random() < 0.85
        }
        found = alarms(check_build(replace(build, parts=parts), knowledge))
        assert [rule for rule in found if not _known(path.stem, rule)] == [], path.stem


def test_the_engines_are_many_and_complete(knowledge: Knowledge) -> None:
    """At least twelve, and each tells nearly all that there is to say of its parts."""
    paths = engines("healthy")
    assert len(paths) >= 12
    for path in paths:
        build = read_build(path, knowledge)
        told = {statement.attribute.name for statement in build.statements()}
        told |= {name for slot in build.absent for name in knowledge.classes[slot].attributes}
        silent = {name for name in knowledge.attributes if name not in told}
        assert len(silent) < 0.3 * len(knowledge.attributes), (path.stem, sorted(silent))


def test_what_a_change_of_the_knowledge_turns_is_told(
    healthy: dict[str, BuildCheck], knowledge: Knowledge
) -> None:
    """What each rule says of the demos and of the healthy engines, held against what it said.

    `FITCHECK_ANSWERS=keep` keeps the new answers; say in `rules/CHANGES.md` what turned, and why.
    """
    demos = {
        name: checked(demo_folder() / name / "build.yaml", knowledge)
        for name in ("hill_climb_four", "service_boat", "work_truck")
    }
    now = [line for name, check in (demos | healthy).items() for line in answers(name, check)]
    if os.environ.get("FITCHECK_ANSWERS") == "keep":
        ANSWERS.write_text("\n".join(now) + "\n", encoding="utf-8")
    before = ANSWERS.read_text(encoding="utf-8").splitlines()
    turned = [line for line in unified_diff(before, now, n=0, lineterm="") if line[:2] != "@@"]
    assert turned == [], "\n".join(turned)
    assert len(now) > 500


def test_the_changes_of_the_knowledge_are_listed_by_version() -> None:
    text = (default_rules() / "CHANGES.md").read_text(encoding="utf-8")
    versions = re.findall(r"^## (\S+)", text, re.MULTILINE)
    assert versions[0] == fitcheck.__version__
    assert len(set(versions)) == len(versions)


def _known(engine: str, rule: str) -> bool:
    names, _ = KNOWN.get(rule, (set(), ""))
    return engine in names
