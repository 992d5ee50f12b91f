"""When no set is left: few rules that rule everything out between them, and the slots they tie.

What can be left out is left out by halves (U. Junker, QuickXplain, AAAI 2004), so that of the rules
told none can be spared. Whether fewer others would do as well is tried for one rule and for two.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from fitcheck.knowledge import Rule
from fitcheck.screen.candidates import Candidates
from fitcheck.screen.opening import Frame, by_rule
from fitcheck.screen.sets import OpenSlots, best_sets

Progress = Callable[[str], None]
# Pairs of rules tried before it is left open whether two would do.
MOST_PAIRS = 400


@dataclass(frozen=True, slots=True)
class Cause:
    """Rules that leave no set between them; `smallest`: it is proved that no fewer do."""

    rules: tuple[Rule, ...]
    slots: tuple[str, ...]
    empty: tuple[str, ...]
    smallest: bool


def cause(
    frame: Frame, candidates: Mapping[str, Candidates], progress: Progress = lambda _: None
) -> Cause | None:
    """Why no set is left; None where one is."""
    empty = tuple(slot for slot, own in candidates.items() if not own.count)
    if empty:
        return Cause((), empty, empty, True)
    groups = by_rule(f for f in frame.factors if f.rule.severity != "advice")
    every = sorted(groups, key=lambda id_: len({s for f in groups[id_] for s in f.slots}))

    def left(rules: Sequence[str]) -> bool:
        others = frozenset(groups) - frozenset(rules)
        return bool(best_sets(OpenSlots(frame, candidates, without=others), 1))

    if left(every):
        return None
    progress("nothing fits: looking for the fewest rules that leave nothing")
    alone = next((id_ for id_ in every if not left([id_])), None)
    found = [alone] if alone else _fewest(left, [], every, False)
    smallest = len(found) < 3
    if not smallest:
        active = [id_ for id_ in every if _rules_out(frame, candidates, groups, id_)]
        pairs = list(combinations(active, 2))
        smallest = len(found) == 3 and len(pairs) <= MOST_PAIRS
        for pair in pairs[:MOST_PAIRS]:
            if not left(pair):
                found, smallest = list(pair), True
                break
    slots = dict.fromkeys(s for id_ in found for f in groups[id_] for s in f.slots)
    return Cause(tuple(groups[id_][0].rule for id_ in found), tuple(slots), (), smallest)


def _rules_out(
    frame: Frame, candidates: Mapping[str, Candidates], groups: Mapping[str, object], id_: str
) -> bool:
    """Whether a rule rules anything out at all."""
    problem = OpenSlots(frame, candidates, without=frozenset(groups) - {id_})
    return bool(problem.demands) or any(not alive.all() for alive in problem.alive.values())


def _fewest(
    left: Callable[[Sequence[str]], bool], base: list[str], rest: list[str], changed: bool
) -> list[str]:
    """Of `rest` what is needed beside `base` to leave nothing, and none that can be spared."""
    if changed and not left(base):
        return []
    if len(rest) == 1:
        return rest
    half = len(rest) // 2
    first, second = rest[:half], rest[half:]
    from_second = _fewest(left, base + first, second, bool(first))
    from_first = _fewest(left, base + from_second, first, bool(from_second))
    return from_first + from_second
