"""Timing on a machine that others use too: interleaved rounds, medians of times and ratios."""

from __future__ import annotations

import gc
import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from time import process_time

Timed = Callable[[], object]
# One turn of a candidate is repeated until it takes this long.
SHORTEST_TURN = 0.002
# As many calls as fill more than one piece of the interpreter's stack.
MOST_DEPTH = 250


@dataclass(frozen=True)
class Times:
    """Seconds of one call of each candidate, in every round."""

    taken: Mapping[str, Sequence[float]]

    def median(self, name: str) -> float:
        """The median time."""
        return median(self.taken[name])

    def ratio(self, name: str, base: str) -> float:
        """The median of the rounds' ratios: a slow spell falls on both of a round."""
        return median(a / b for a, b in zip(self.taken[name], self.taken[base], strict=True))

    def table(self, base: str, unit: float = 1e6, unit_name: str = "us") -> str:
        """The times with their ratio to `base`."""
        width = max(map(len, self.taken))
        rows = [f"{'':{width}}  {unit_name:>9}  times '{base}'"]
        rows += [
            f"{name:{width}}  {self.median(name) * unit:9.2f}  {self.ratio(name, base):9.2f}"
            for name in self.taken
        ]
        return "\n".join(rows)


def interleaved(candidates: Mapping[str, Timed], rounds: int) -> Times:
    """Processor time of one call; all take their turn in every round.

    Order and depth of the stack change from round to round. What one leaves in the processor's
    caches costs or spares the next. And CPython keeps its frames in pieces of 16 KB: where one
    ends just there, each call asks the system for another and gives it back, which can double
    the time of what is called, and depends on nothing but how deep it stands.
    """
    calls = {name: _calls_in_a_turn(run) for name, run in candidates.items()}
    taken: dict[str, list[float]] = {name: [] for name in candidates}
    order, chance = list(candidates), random.Random(1)
    gc.collect()
    gc.freeze()  # what is loaded is not searched for garbage again between the rounds
    gc.disable()
    try:
        for _ in range(rounds):
            chance.shuffle(order)
            depth = chance.randrange(MOST_DEPTH)
            for name in order:
                turn = _deeper(depth, candidates[name], calls[name])
                taken[name].append(turn / calls[name])
                gc.collect()
    finally:
        gc.enable()
        gc.unfreeze()
    return Times(taken)


def _deeper(depth: int, run: Timed, calls: int) -> float:
    return _deeper(depth - 1, run, calls) if depth else _turn(run, calls)


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


def aim(what: str, ratio: float, bound: float, *, at_least: bool = False) -> str:
    """One aim and whether it is reached."""
    reached = ratio >= bound if at_least else ratio <= bound
    word = "at least" if at_least else "at most"
    return f"{'reached' if reached else 'MISSED '}  {what}: {ratio:.2f} (aim: {word} {bound:g})"
