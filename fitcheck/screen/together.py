"""Several open slots, answered: the best sets as builds with their checks, alike ones told once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from fitcheck.check import Check, check_build
from fitcheck.model import Build
from fitcheck.screen.candidates import Candidates
from fitcheck.screen.cause import Cause, cause
from fitcheck.screen.opening import Frame
from fitcheck.screen.sets import By, Found, Problem, Search

Progress = Callable[[str], None]
# Sets looked at to find different ones; the cheapest differ mostly in one small part.
MOST_SETS = 400


@dataclass
class Choice:
    """A set: its parts by name, what else of one slot does as well at one price, and its check
    by the rules that depend on what is chosen.

    `clashes` are rules that clash and that machine work mends, where that was asked for.
    """

    found: Found
    parts: dict[str, str]
    price: float
    priced: bool
    unpriced: int
    check: Check
    clashes: tuple[str, ...]
    alike: dict[str, tuple[str, ...]] = field(default_factory=dict)


def choose(
    frame: Frame,
    candidates: Mapping[str, Candidates],
    wanted: int,
    by: By = "price",
    progress: Progress = lambda _: None,
) -> tuple[list[Choice], Cause | None]:
    """The best sets, those that differ in one slot at one price as one; or why there is none."""
    progress(f"{len(frame.factors)} demands on {len(candidates)} open slots")
    problem = Problem(frame, candidates, by)
    groups: list[tuple[Found, str, list[int]]] = []
    if problem.possible():
        search = Search(problem)
        for number, one in enumerate(search.sets()):
            if not _joined(groups, one):
                if len(groups) == wanted:
                    break
                groups.append((one, "", []))
            if number == MOST_SETS:
                break
    if not groups:
        return [], cause(frame, candidates, progress)
    return [_choice(frame, candidates, *group) for group in groups], None


def _joined(groups: list[tuple[Found, str, list[int]]], one: Found) -> bool:
    """Whether a set is one of those told before but for one part, at the same price."""
    for i, (first, slot, others) in enumerate(groups):
        if (first.price, first.unpriced, first.clashes) != (one.price, one.unpriced, one.clashes):
            continue
        differ = [name for name, number in one.chosen.items() if first.chosen[name] != number]
        if len(differ) == 1 and slot in ("", differ[0]):
            others.append(one.chosen[differ[0]])
            groups[i] = (first, differ[0], others)
            return True
    return False


def _choice(
    frame: Frame, candidates: Mapping[str, Candidates], one: Found, slot: str, others: list[int]
) -> Choice:
    parts = {name: candidates[name].names([number])[0] for name, number in one.chosen.items()}
    rules = {factor.rule.id: factor.rule for factor in frame.factors}
    check = check_build(fitted(frame, candidates, one.chosen), frame.knowledge, rules.values())
    alike = {slot: tuple(candidates[slot].names(others))} if slot else {}
    priced = one.unpriced < len(one.chosen)
    return Choice(one, parts, one.price, priced, one.unpriced, check, one.clashes, alike)


def fitted(frame: Frame, candidates: Mapping[str, Candidates], chosen: Mapping[str, int]) -> Build:
    """The build with a set in its open slots."""
    build = frame.build
    for slot, number in chosen.items():
        build = frame.openings[slot].fitted(build, *candidates[slot].parts(number))
    return build
