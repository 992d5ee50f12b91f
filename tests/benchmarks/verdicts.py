"""Verdicts of twenty numeric rules on one build, both bounds: fitcheck, by hand, three engines.

All must give the same verdicts on many random builds before anything is timed.
"""

from __future__ import annotations

import argparse
import random
from collections import Counter
from pathlib import Path

from fitcheck.knowledge import load_knowledge
from fitcheck.language import CONFLICT, FITS, STRADDLES
from tests.benchmarks import by_hand
from tests.benchmarks.engines import ENGINES, Engine
from tests.benchmarks.lowered import Lowered
from tests.benchmarks.numeric_rules import ATTRIBUTES, DEMANDS, FITCHECK
from tests.benchmarks.random_figures import COARSE, FINE, RandomBuild, random_build
from tests.benchmarks.timing import Timed, Times, aim, interleaved

THREE = FITS, CONFLICT, STRADDLES
ENGINES_OVER_FITCHECK, FITCHECK_OVER_HAND = 8.0, 1.5
FITCHECK_NAME, HAND_NAME = "fitcheck, one compiled function", "by hand, one function"
TYPED_NAME = "fitcheck, figures as typed, doubtful ones exactly"


def check_agreement(lowered: Lowered, engines: list[Engine], builds: list[RandomBuild]) -> None:
    """Fails where a verdict differs, or where a rule never gives one of the three."""
    given: Counter[tuple[str, int]] = Counter()
    doubtful = 0
    for number, build in enumerate(builds):
        verdicts, near = lowered.verdicts(build)
        doubtful += near
        ends = build.ends()
        assert tuple(verdicts) == by_hand.verdicts(list(ends.values())), number
        for engine in engines:
            assert tuple(verdicts) == engine.verdicts(ends), (engine.name, number)
        given.update(zip(FITCHECK, verdicts, strict=True))
    for rule in FITCHECK:
        assert all(given[rule, verdict] for verdict in THREE), f"{rule} is one-sided"
    fits, conflicts, straddles = (
        sum(given[rule, verdict] for rule in FITCHECK) for verdict in THREE
    )
    print(
        f"{len(builds)} builds, all agree: {fits} verdicts fit, {conflicts} conflict, "
        f"{straddles} straddle; {doubtful} had to be decided exactly"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rules", type=Path, default=None, help="a rules folder of your own")
    parser.add_argument("--rounds", type=int, default=100)
    options = parser.parse_args()
    assert list(FITCHECK) == list(DEMANDS)
    knowledge = load_knowledge(options.rules)
    lowered, engines = Lowered(knowledge), [engine() for engine in ENGINES]
    chance = random.Random(20)
    print(f"{len(FITCHECK)} rules about {len(ATTRIBUTES)} attributes")
    fine, typed = (
        [random_build(chance, knowledge, step) for _ in range(1000)] for step in (FINE, COARSE)
    )
    check_agreement(lowered, engines, fine)
    check_agreement(lowered, engines, typed)
    times = timed(lowered, engines, fine[:20], typed[:200], options.rounds)
    print("\nmedian of one build:")
    print(times.table(FITCHECK_NAME))
    fastest = min((engine.name for engine in engines), key=times.median)
    print(
        "",
        f"fastest engine: {fastest}",
        aim(
            "engine over fitcheck",
            times.ratio(fastest, FITCHECK_NAME),
            ENGINES_OVER_FITCHECK,
            at_least=True,
        ),
        aim("fitcheck over by hand", times.ratio(FITCHECK_NAME, HAND_NAME), FITCHECK_OVER_HAND),
        sep="\n",
    )


def timed(
    lowered: Lowered,
    engines: list[Engine],
    builds: list[RandomBuild],
    typed: list[RandomBuild],
    rounds: int,
) -> Times:
    """Median seconds for one build; what each reads is laid out for it beforehand."""
    function, hand = lowered.fast.function, by_hand.verdicts
    read = [build.values(lowered.fast) for build in builds]
    listed = [list(build.ends().values()) for build in builds]
    named = [build.ends() for build in builds]
    read_typed = [(build, build.values(lowered.fast)) for build in typed]
    candidates: dict[str, Timed] = {
        HAND_NAME: lambda: [hand(ends) for ends in listed],
        FITCHECK_NAME: lambda: [function(values) for values in read],
        TYPED_NAME: lambda: [
            lowered.decided(function(values), build) for build, values in read_typed
        ],
    }
    for engine in engines:
        candidates[engine.name] = lambda engine=engine: [engine.verdicts(ends) for ends in named]
    taken = interleaved(candidates, rounds).taken
    counts = {name: len(typed if name == TYPED_NAME else builds) for name in taken}
    return Times({name: [turn / counts[name] for turn in turns] for name, turns in taken.items()})


if __name__ == "__main__":
    main()
