"""How much longer a full check takes than a recheck after one changed value.

Every attribute of the listed parts that some rule reads is changed in turn, or as many of them as
are asked for; both judge the same changed build and must find the same.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from random import Random
from statistics import median

from fitcheck.check import BuildCheck, Verdict, check_build, read_build, recheck
from fitcheck.knowledge import Knowledge, load_knowledge
from fitcheck.model import EVERYWHERE, Attribute, EngineBuild, Evidence, Origin, Position, Statement
from fitcheck.quantity import Interval, Quantity
from tests.benchmarks.generated_builds import generated_build
from tests.benchmarks.timing import aim, interleaved

AIM = 0.2
DEMOS = Path(__file__).parents[2] / "catalog_demo"


def changed(attribute: Attribute, random: Random) -> Statement:
    """The attribute said anew: somewhere within what is plausible, or some option."""
    if attribute.kind is None or attribute.plausible is None:
        value: Quantity | int = 1 << random.randrange(len(attribute.options))
    else:
        plausible = attribute.plausible
        point = plausible.lower + plausible.width * random.randrange(1, 1000) / 1000
        if attribute.kind.name == "count":
            point = plausible.lower + (point - plausible.lower) // 1
        value = Quantity(attribute.kind, Interval.point(point))
    return Statement(attribute, EVERYWHERE, Evidence.MEASURED, value, Origin())


def said(check: BuildCheck) -> dict[tuple[str, Position], Verdict]:
    """What a check says at each place, for comparing two."""
    return {(f.rule.id, p): f.verdict for f in check.all_findings for p in f.positions}


def attributes_of(build: EngineBuild, knowledge: Knowledge) -> list[Attribute]:
    """What some rule reads of the parts listed."""
    return [
        attribute
        for name, attribute in knowledge.attributes.items()
        if attribute.slot in build.parts
        and knowledge.readers.get(name)
        and name.partition(".")[2] not in ("present", "comes_with_head")
        and name != "engine.cylinders"
    ]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rules", type=Path, default=None, help="a rules folder of your own")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--attributes", type=int, default=40, help="how many of each build")
    options = parser.parse_args()
    knowledge = load_knowledge(options.rules)
    builds = {
        path.parent.name: read_build(path, knowledge) for path in sorted(DEMOS.glob("*/build.yaml"))
    }
    builds["generated, all measured"] = generated_build(knowledge, 1.0)
    print(f"{len(knowledge.rules)} rules")
    typical, worst = [], []
    for name, build in builds.items():
        random = Random(name)
        before = check_build(build, knowledge)
        known = attributes_of(build, knowledge)
        ratios = {}
        for attribute in random.sample(known, min(options.attributes, len(known))):
            after = build.supposing([changed(attribute, random)])
            names = [attribute.name]
            assert said(recheck(before, after, names)) == said(check_build(after, knowledge))
            times = interleaved(
                {
                    "full": lambda after=after: check_build(after, knowledge),
                    "recheck": lambda after=after, names=names, before=before: recheck(
                        before, after, names
                    ),
                },
                options.rounds,
            )
            ratios[attribute.name] = times.ratio("recheck", "full")
        slowest = max(ratios, key=lambda one: ratios[one])
        over = sum(ratio > AIM for ratio in ratios.values())
        print(
            f"{name}: {len(ratios)} attributes, {over} of them past the aim; the slowest is "
            f"{slowest}, which {len(knowledge.readers[slowest])} rules read"
        )
        typical.append(aim(f"{name}, median", median(ratios.values()), AIM))
        worst.append(aim(f"{name}, slowest", ratios[slowest], AIM))
    print("\nA recheck over a full check:", *typical, *worst, sep="\n")


if __name__ == "__main__":
    main()
