"""The answer as it stays in sight: counts, each clash in a line, what turned of late."""

from __future__ import annotations

from fitcheck.check import BuildCheck, RuleFinding, Verdict
from fitcheck.check.comparing import Turned
from fitcheck.quantity import System
from fitcheck.report.answers import worst_place
from fitcheck.report.phrases import capital, counts, group_places, missing_words, verdict_and_rest
from fitcheck.report.story import clashing
from fitcheck.source import frozen

GRAVE = {"stop": "STOP", "serious": "SERIOUS", "advice": "REMARK"}


@frozen
class ClashLine:
    """A clash in one line; `was` is how it stood before the last change, where that turned it."""

    rule: str
    severity: str
    grave: str
    title: str
    where: str
    short: str
    was: str


@frozen
class TurnedLine:
    """A question whose answer turned: what it was, what it is now, with the mark of that."""

    rule: str
    subject: str
    was: str
    now: str
    mark: str


@frozen
class InSight:
    """What stays in sight; of what turned, what clashes now comes first."""

    verdict: str
    rest: str
    counts: tuple[tuple[str, int, str], ...]
    clashes: tuple[ClashLine, ...]
    turned: tuple[TurnedLine, ...]
    failures: tuple[str, ...]


def in_sight(check: BuildCheck, last: list[Turned], system: System) -> InSight:
    """What stays in sight of a check; `last` is what turned with the last change."""
    number = counts(check)
    clashes = number.clashes - number.remarks
    grave = f", {number.stops} STOP" if number.stops else ""
    clash = f"{'clash' if clashes == 1 else 'clashes'}{grave}"
    before = {one.rule.id: standing(one.before) for one in last}
    lines = tuple(map(_turn, last))
    return InSight(
        *verdict_and_rest(check),
        (
            ("clash", clashes, clash),
            ("open", number.open, "cannot be told"),
            ("open", number.disputed, "practice disagrees"),
            ("fits", number.fits, "fit"),
        ),
        tuple(_line(found, check, system, before) for found in clashing(check)),
        tuple(sorted(lines, key=lambda one: one.mark != "clash")),
        tuple(map(str, check.failures)),
    )


def _line(
    found: list[RuleFinding], check: BuildCheck, system: System, before: dict[str, str]
) -> ClashLine:
    worst = worst_place(found)
    return ClashLine(
        worst.rule.id,
        worst.rule.severity,
        GRAVE[worst.rule.severity],
        capital(str(worst.rule.file.title)),
        group_places(found, check.build.layout),
        missing_words(worst, system),
        before.get(worst.rule.id, ""),
    )


def _turn(one: Turned) -> TurnedLine:
    return TurnedLine(
        one.rule.id,
        capital(str(one.rule.file.subject)),
        standing(one.before),
        standing(one.after),
        mark_of(one.after),
    )


def standing(finding: RuleFinding | None) -> str:
    """How a question stands, in a word or two."""
    if finding is None:
        return "does not apply"
    if finding.verdict is Verdict.CONFLICT:
        return GRAVE[finding.rule.severity]
    return "fits" if finding.verdict is Verdict.FITS else "cannot be told"


def mark_of(finding: RuleFinding | None) -> str:
    """The mark that goes with it."""
    if finding is None or finding.verdict.undecided:
        return "open"
    return "clash" if finding.verdict is Verdict.CONFLICT else "fits"
