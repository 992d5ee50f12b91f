"""The same plans by trying every one, in whole numbers, sharing no code with the planner.

One cylinder: figures of the intake valve, the exhaust valve, and the cylinder.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from tests.plan.library import CYLINDER, MOST, RATIO, VALVE, Demand, Work

SIDES = ("intake", "exhaust")
# Twice the lower and the upper end, given, and how well known: measured, predicted from measured
# figures, predicted from a ratio that nobody gave, not at all.
Known = tuple[int, int, bool, int]
MEASURED, PREDICTED, GUESSED, UNTOLD = range(4)
UNKNOWN: Known = (0, 2 * MOST, False, UNTOLD)


@dataclass
class Case:
    """What is known of one cylinder, in thousandths; a figure that is missing is unknown."""

    works: list[Work]  # in machining order
    demands: list[Demand]
    facts: dict[tuple[str, str], tuple[int, int]]
    ratios: dict[str, tuple[int, int]]
    only: set[tuple[str, str]] | None = None  # demands by name and side; all where None

    def choices(self) -> list[tuple[Work, str]]:
        return [(w, side) for w in self.works for side in (SIDES if w.each == "valve" else ("",))]

    def known(self) -> dict[tuple[str, str], Known]:
        every = [(name, side) for name in VALVE for side in SIDES] + [(n, "") for n in CYLINDER]
        return {
            key: (2 * self.facts[key][0], 2 * self.facts[key][1], True, MEASURED)
            if key in self.facts
            else UNKNOWN
            for key in every
        }


def there_and_back(case: Case, steps: tuple[int, ...]) -> bool:
    """Whether work gives a part just what other work in the same place takes from it."""
    made = [choice for choice, count in zip(case.choices(), steps, strict=True) if count]
    for one, side in made:
        for other, place in made:
            mine = {name: sign for name, sign in one.effects.items() if name.startswith(own(one))}
            theirs = {n: sign for n, sign in other.effects.items() if n.startswith(own(one))}
            if (
                one.each == other.each
                and side == place
                and mine
                and mine.keys() == theirs.keys()
                and all(
                    mine[name][0] == -theirs[name][0] and not mine[name][1] and not theirs[name][1]
                    for name in mine
                )
            ):
                return True
    return False


def after(
    case: Case,
    steps: tuple[int, ...],
    forgets: Demand | None = None,
    *,
    keeps: bool = False,
    middles: bool = False,
) -> dict | None:
    """What is known after works; None where a figure is implausible.

    With `forgets` only what this demand reads and its own fixes undo counts as undone; with `keeps`
    nothing does. With `middles` all that was given is at its middle, and so are the amounts.
    """
    undone = {name for _, name in forgets.terms} if forgets else set()
    facts = case.known()
    if middles:
        facts = {key: aimed(value) for key, value in facts.items()}
    for (work, side), count in zip(case.choices(), steps, strict=True):
        if not count:
            continue
        before = dict(facts)
        for name in dict.fromkeys([*work.undoes, *work.effects]):
            key = (name, side if name in VALVE else "")
            if name in work.effects:
                low, high, given, known = before[key]
                if not given:
                    continue
                sign, uses_ratio = work.effects[name]
                held = 0 if middles else work.step
                least, most = 2 * work.amount(count) - held, 2 * work.amount(count) + held
                known = max(known, PREDICTED)
                if uses_ratio:
                    known = known if side in case.ratios else GUESSED
                    ratio = case.ratios.get(side, RATIO)
                    if middles and side in case.ratios:
                        ratio = (sum(ratio) / 2, sum(ratio) / 2)
                    least, most = least * ratio[0], most * ratio[1]
                ends = (low + least, high + most) if sign > 0 else (low - most, high - least)
                if ends[1] < 0 or ends[0] > 2 * MOST:
                    return None
                facts[key] = (max(ends[0], 0), min(ends[1], 2 * MOST), True, known)
            elif not keeps and (forgets is None or (work.name in forgets.fixes and name in undone)):
                facts[key] = UNKNOWN
    return facts


def aimed(value: Known) -> Known:
    """A figure at the middle of what it may be; one that nobody gave stays as wide."""
    low, high, given, known = value
    return ((low + high) / 2, (low + high) / 2, given, known) if given else value


def figure(demand: Demand, side: str, facts: dict) -> tuple[int, int, set[str]]:
    """What a demand is about, and the figures that it waits for."""
    terms = [(sign, *facts[name, side if name in VALVE else ""]) for sign, name in demand.terms]
    lacking = {name for (_, name), term in zip(demand.terms, terms, strict=True) if not term[3]}
    if demand.joined == "sum":
        low = sum(a if sign > 0 else -b for sign, a, b, *_ in terms)
        return low, sum(b if sign > 0 else -a for sign, a, b, *_ in terms), lacking
    (_, a, b, one, first), (_, c, d, two, second) = terms
    if demand.joined == "max":
        return max(a, c), max(b, d), lacking
    if first != second:  # the better known holds alone
        return (a, b, set()) if first < second else (c, d, set())
    # Of two ways that both lack a figure the first is asked for.
    lacking = set() if one or two else {demand.terms[0][1]}
    meet = max(a, c) <= min(b, d)
    return (max(a, c), min(b, d), lacking) if meet else (min(a, c), max(b, d), lacking)


def verdict(
    demand: Demand, side: str, facts: dict, *, middles: bool = False
) -> tuple[str, set[str], int]:
    """Fits, conflict or open; what it waits for; by how much it is missed at most.

    With `middles` a limit on which practice disagrees is at the middle of its band.
    """
    low, high, lacking = figure(demand, side, facts)
    least, most = 2 * demand.limit[0], 2 * demand.limit[1]
    if middles:
        least = most = sum(demand.limit)
    if demand.op == "<=":
        low, high, least, most = -high, -low, -most, -least
    word = "fits" if low >= most else "conflict" if high < least else "open"
    return word, lacking, max(0, most - low)


def asked(case: Case) -> Iterator[tuple[Demand, str]]:
    for demand in case.demands:
        for side in SIDES if demand.each == "valve" else ("",):
            if case.only is None or (demand.name, side) in case.only:
                yield demand, side


def allowed(case: Case, steps: tuple[int, ...], goal: str = "mended") -> bool:
    """Whether works reach the goal, by its definition."""
    known = after(case, steps)
    if known is None:
        return False
    words = [verdict(demand, side, known)[0] for demand, side in asked(case)]
    if "conflict" in words or (goal == "decided" and "open" in words):
        return False
    if there_and_back(case, steps) or after(case, steps, keeps=True) is None:
        return False
    start, nothing = case.known(), (0,) * len(steps)
    for demand, side in asked(case):
        at_first, _, missed = verdict(demand, side, start)
        kept = after(case, steps, demand)
        assert kept is not None
        word, lacking, _ = verdict(demand, side, kept)
        if word == "conflict" and (at_first == "conflict" or any(steps)):
            return False
        remark = at_first == "conflict" and demand.severity == "advice"
        if goal != "clear" and any(steps) and not remark:
            before, then = (
                verdict(demand, side, after(case, s, demand, middles=True), middles=True)[0]
                for s in (nothing, steps)
            )
            if then == "conflict" and (at_first == "conflict" or before != "conflict"):
                return False
        strict = goal != "clear" and at_first == "conflict" and demand.severity != "advice"
        if strict and word == "open" and not waits(case, steps, demand, side, lacking, missed):
            return False
    return True


def waits(
    case: Case, steps: tuple[int, ...], demand: Demand, side: str, lacking: set[str], missed: int
) -> bool:
    for (work, where), count in zip(case.choices(), steps, strict=True):
        if not count or work.name not in demand.fixes:
            continue
        if demand.each == "valve" and where not in ("", side):
            continue
        shown = {name for name in undone_by(work) if name.startswith(own(work))}
        terms = {name for _, name in demand.terms}
        if not demand.fixes[work.name] and not shown & terms:
            continue  # no amount is told, and it does not show at the part itself
        needed = -(-missed // (2 * work.step)) if demand.fixes[work.name] else 1
        if count >= max(1, needed) and lacking & undone_by(work):
            return True
    return False


def undone_by(work: Work) -> set[str]:
    return set(work.undoes) - set(work.effects)


def own(work: Work) -> str:
    return "valve." if work.each == "valve" else "head."


def cheapest(case: Case, goal: str = "mended") -> int | None:
    """The least hundredths of an hour of all works that are allowed."""
    hours = [work.hours for work, _ in case.choices()]

    def cost(steps: tuple[int, ...]) -> int:
        return sum(one for one, count in zip(hours, steps, strict=True) if count)

    every = product(*(range(work.count + 1) for work, _ in case.choices()))
    allowing = (cost(steps) for steps in sorted(every, key=cost) if allowed(case, steps, goal))
    return next(allowing, None)
