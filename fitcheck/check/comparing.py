"""Two checks side by side: which findings came, went, or moved.

Held against each other place by place, then told together where the same happened.
"""

from __future__ import annotations

from fitcheck.check.checking import BuildCheck
from fitcheck.check.finding import RuleFinding
from fitcheck.check.verdict import Verdict
from fitcheck.knowledge import Rule
from fitcheck.model import Position
from fitcheck.quantity import Interval
from fitcheck.source import frozen

_Together = tuple[Rule, RuleFinding | None, RuleFinding | None, list[Position]]


@frozen
class Change:
    """What one rule said before and says after, at some positions; None: nothing to say."""

    rule: Rule
    before: RuleFinding | None
    after: RuleFinding | None
    positions: tuple[Position, ...]

    @property
    def turned(self) -> bool:
        """Whether the answer itself is another, and not only the margin."""
        return _verdict(self.before) != _verdict(self.after)


def changes(before: BuildCheck, after: BuildCheck) -> list[Change]:
    """What differs, in the order in which findings are told, the answers that turned first."""
    one, other = _by_place(before), _by_place(after)
    together: dict[tuple[int, int], _Together] = {}
    for place in dict.fromkeys((*other, *one)):
        was, now = one.get(place), other.get(place)
        if not _same(was, now):
            finding = now or was
            assert finding is not None
            key = id(was), id(now)
            together.setdefault(key, (finding.rule, was, now, []))[3].append(place[1])
    found = [
        Change(rule, was, now, tuple(sorted(positions, key=Position.order)))
        for rule, was, now, positions in together.values()
    ]
    return sorted(found, key=lambda change: not change.turned)


def _by_place(check: BuildCheck) -> dict[tuple[str, Position], RuleFinding]:
    return {
        (finding.rule.id, position): finding
        for finding in check.all_findings
        for position in finding.positions
    }


def _verdict(finding: RuleFinding | None) -> str:
    return finding.verdict.value if finding else ""


def _same(was: RuleFinding | None, now: RuleFinding | None) -> bool:
    if was is now:
        return True
    if was is None or now is None or was.verdict is not now.verdict:
        return False
    if now.verdict is Verdict.UNMEASURED:
        return True  # its margin is as wide as what nobody gave: it says nothing
    if all(now.facts.get(name) is fact for name, fact in was.facts.items()):
        return True
    return _figures(was) == _figures(now)


def _figures(finding: RuleFinding) -> list[tuple[Interval, Interval]]:
    return [(demand.actual, demand.wanted) for demand in finding.demands]


@frozen
class Turned:
    """A question whose answer is another now, by its worst place; None: nothing to say."""

    rule: Rule
    before: RuleFinding | None
    after: RuleFinding | None


def turned(before: BuildCheck, after: BuildCheck) -> list[Turned]:
    """The questions whose worst answer is another, in the order in which findings are told."""
    one = {finding.rule.id: finding for finding in before.worst_by_rule}
    other = {finding.rule.id: finding for finding in after.worst_by_rule}
    return [
        Turned((now or was).rule, was, now)  # type: ignore[union-attr]
        for rule in dict.fromkeys((*other, *one))
        for was, now in [(one.get(rule), other.get(rule))]
        if _verdict(was) != _verdict(now)
    ]
