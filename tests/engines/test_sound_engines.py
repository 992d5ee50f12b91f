"""Engines that a good shop would run must raise no alarm.

`healthy/` holds complete invented engines, each figure as a careful builder would have it at the
end; `factory/` holds engines as public technical manuals print them for new parts, tried in the
middle and at both ends of each tolerance. A clash of severity stop or serious on one of them is a
false alarm, unless it is listed here with the reason.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from fitcheck.check import check_build, read_build
from fitcheck.knowledge import Knowledge
from tests.engines.judging import alarms, checked, engines
from tests.engines.tolerances import assemblies

# Rules that raise a false alarm for a reason that stands: on which engines, and why.
KNOWN: dict[str, tuple[set[str], str]] = {}


def test_no_false_alarms(knowledge: Knowledge) -> None:
    built = [(path.stem, checked(path, knowledge)) for path in engines("healthy")]
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


@pytest.mark.parametrize("share", [0.3, 0.7])
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


def _known(engine: str, rule: str) -> bool:
    names, _ = KNOWN.get(rule, (set(), ""))
    return engine in names
