"""Random builds: every plan, applied to its build, checks again with nothing clashing."""

from __future__ import annotations

from pathlib import Path
from random import Random

from fitcheck.check import check_build, read_build, recheck
from fitcheck.knowledge.load import load_anew
from fitcheck.plan.planner import make_plan
from tests.plan.library import (
    CYLINDER,
    MOST,
    VALVE,
    build_text,
    random_demands,
    random_works,
    written,
)

BUILDS = 1000
LIBRARIES = 10
PLACES = {
    "valve": ("all", "intake", "exhaust", "cylinder 2", "1 exhaust"),
    "head": ("all", "cylinder 2"),
}


def random_text(random: Random) -> str:
    facts = {}
    for name in (*VALVE, *CYLINDER):
        choices = PLACES[name.partition(".")[0]]
        for place in [choices[0], *random.sample(choices[1:], random.choice([0, 0, 1]))]:
            if random.random() < 0.9:
                low = MOST // 2 + random.randint(-35, 35)
                facts[name, place] = (low, low + random.choice([0, 2, 8]))
    return build_text(2, facts, {"all": (1, 1)})


def tried(folder: Path, library: int, builds: int) -> tuple[int, int]:
    """Plans for random builds of one random library: how many there are, how many ask for work."""
    own, random = Random(300 + library), Random(17 + library)
    works = random_works(own, 5, most=2)
    demands = random_demands(own, 3, works, linear=False)
    knowledge = load_anew(written(folder, works, demands))
    planned = worked = 0
    for number in range(builds):
        check = check_build(read_build("build", knowledge, random_text(random)), knowledge)
        outcome = make_plan(check, objective="hours", seconds=20)
        plan = outcome.plan
        assert outcome.proven, (library, number)
        if plan is None:
            assert check.conflicts
            continue
        planned += 1
        worked += bool(plan.works)
        left = check_build(plan.applied.build, knowledge).conflicts
        told = {(one.title, place) for one in outcome.given_up for place in one.positions}
        assert {(f.rule.id, p) for f in left for p in f.positions} <= told, (library, number)
        again = recheck(check, plan.applied.build, plan.applied.changed)
        assert {f.rule.id for f in again.conflicts} == {f.rule.id for f in left}, (library, number)
        assert bool(plan.works) == bool(check.conflicts)
    return planned, worked


def test_every_plan_leaves_nothing_clashing(tmp_path):
    """A fortieth of them, but for what nothing mends; `python -m tests.benchmarks.plan builds` tries all 1 000."""
    share = BUILDS // LIBRARIES // 20
    found = [tried(tmp_path / str(library), library, share) for library in range(0, LIBRARIES, 2)]
    assert sum(planned for planned, _ in found) > 12, "the builds say too little"
    assert sum(worked for _, worked in found) > 5, "the builds say too little"
