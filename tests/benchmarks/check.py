"""How much longer a check with every explanation takes than its verdicts alone.

The same builds, warm: everything that is made once per knowledge is made before.
"""

from __future__ import annotations

import argparse
import cProfile
import pstats
from pathlib import Path

from fitcheck.check import BuildCheck, check_build, derivations, mends, read_build
from fitcheck.check.bind import Binding
from fitcheck.check.verdict import Judged, judge
from fitcheck.knowledge import Knowledge, load_knowledge
from fitcheck.model import EngineBuild
from fitcheck.source import Problem
from tests.benchmarks.generated_builds import generated_build
from tests.benchmarks.timing import aim, interleaved

AIM = 3.0
WORK_TRUCK = Path(__file__).parents[2] / "catalog_demo" / "work_truck" / "build.yaml"


def verdicts_alone(build: EngineBuild, knowledge: Knowledge) -> list[Judged]:
    """Bind and judge, no findings."""
    failures: list[Problem] = []
    judged = judge(Binding(build, knowledge), failures)
    assert not failures
    return judged


def explained(build: EngineBuild, knowledge: Knowledge) -> BuildCheck:
    """A check, and all that is told of each finding that is shown."""
    check = check_build(build, knowledge)
    for finding in [*check.conflicts, *check.undecided]:
        finding.message()
        finding.margin  # noqa: B018
        mends(finding)
        finding.cited  # noqa: B018
        derivations(finding)
    return check


def builds(knowledge: Knowledge) -> dict[str, EngineBuild]:
    """The builds that are timed."""
    return {
        "work truck": read_build(WORK_TRUCK, knowledge),
        "generated, all measured": generated_build(knowledge, 1.0),
        "generated, half measured": generated_build(knowledge, 0.5),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rules", type=Path, default=None, help="a rules folder of your own")
    parser.add_argument("--rounds", type=int, default=40)
    parser.add_argument("--profile", action="store_true", help="show where the time goes")
    options = parser.parse_args()
    knowledge = load_knowledge(options.rules)
    print(f"{len(knowledge.rules)} rules")
    aims = []
    for name, build in builds(knowledge).items():
        check = explained(build, knowledge)
        shown = len(check.conflicts) + len(check.undecided)
        print(
            f"\n{name}: {len(check.conflicts)} conflicts, {len(check.undecided)} undecided, "
            f"{len(check.fits)} fit; {shown} explained"
        )
        times = interleaved(
            {
                "verdicts": lambda build=build: verdicts_alone(build, knowledge),
                "check": lambda build=build: check_build(build, knowledge),
                "check, explained": lambda build=build: explained(build, knowledge),
            },
            options.rounds,
        )
        print(times.table("verdicts", 1e3, "ms"))
        aims.append(aim(name, times.ratio("check, explained", "verdicts"), AIM))
        if options.profile:
            profiled(build, knowledge)
    print("\nExplained check over verdicts alone:", *aims, sep="\n")


def profiled(build: EngineBuild, knowledge: Knowledge) -> None:
    """Print the functions that an explained check spends most time in."""
    profile = cProfile.Profile()
    profile.enable()
    for _ in range(10):
        explained(build, knowledge)
    profile.disable()
    pstats.Stats(profile).strip_dirs().sort_stats("tottime").print_stats(25)


if __name__ == "__main__":
    main()
