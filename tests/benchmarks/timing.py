"""Timing on a machine that others use too: interleaved rounds, medians, ratios of medians."""

from __future__ import annotations

import gc
from collections.abc import Callable, Mapping
from statistics import median
from time import process_time

Timed = Callable[[], object]
# One turn of a candidate is repeated until it takes this long.
SHORTEST_TURN = 0.002


def interleaved(candidates: Mapping[str, Timed], rounds: int) -> dict[str, float]:
    """Median seconds of processor time of one call; all take their turn in every round.

    A slow spell of the machine then falls on all of them.
    """
    calls = {name: _calls_in_a_turn(run) for name, run in candidates.items()}
    taken: dict[str, list[float]] = {name: [] for name in candidates}
    gc.disable()
    try:
        for _ in range(rounds):
            for name, run in candidates.items():
                taken[name].append(_turn(run, calls[name]) / calls[name])
            gc.collect(0)
    finally:
        gc.enable()
    return {name: median(times) for name, times in taken.items()}


def _turn(run: Timed, calls: int) -> float:
    start = process_time()
    for _ in range(calls):
        run()
    return process_time() - start


def _calls_in_a_turn(run: Timed) -> int:
    run()  # warm
    calls = 1
    while _turn(run, calls) < SHORTEST_TURN:
        calls *= 2
    return calls


def table(times: Mapping[str, float], base: str, unit: float = 1e6, unit_name: str = "us") -> str:
    """The times with their ratio to `base`."""
    width = max(map(len, times))
    rows = [f"{'':{width}}  {unit_name:>9}  times '{base}'"]
    rows += [f"{name:{width}}  {seconds * unit:9.2f}  {seconds / times[base]:9.2f}"
             for name, seconds in times.items()]  # fmt: skip
    return "\n".join(rows)


def aim(what: str, ratio: float, bound: float, *, at_least: bool = False) -> str:
    """One aim and whether it is reached."""
    reached = ratio >= bound if at_least else ratio <= bound
    word = "at least" if at_least else "at most"
    return f"{'reached' if reached else 'MISSED '}  {what}: {ratio:.2f} (aim: {word} {bound:g})"
