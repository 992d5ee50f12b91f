"""The margins that count: what clashes, what is open, and what fits most tightly."""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.check import BuildCheck, RuleFinding, Verdict
from fitcheck.check.room import past
from fitcheck.model import Position
from fitcheck.quantity import System
from fitcheck.report.answers import harm, worst_place
from fitcheck.report.drawings.numbers import STATE_WORDS, Numbers, state
from fitcheck.report.drawings.svg import LINE, WIDTH, Drawing, Sheet, cannot, wrapped
from fitcheck.report.phrases import capital, counted, missing_words, places
from fitcheck.report.story import by_rule
from fitcheck.source import frozen

TITLE = "Margins, by harm"
EACH = "engine"
READS: list[str] = []

MOST_TIGHT = 10  # of what fits
MOST_OPEN = 10
_LEFT, _RIGHT = 22.0, WIDTH - 14
_MIDDLE, _HALF = (_LEFT + _RIGHT) / 2, (_RIGHT - _LEFT) / 2
_FULL = 1.0  # a margin as large as its limit reaches the end of the strip
_THICK = 8.0
_BETWEEN = 7.0


@frozen
class MarginBar:
    """The margin of a question at its worst place, as shares of what is wanted."""

    rule: str
    label: str
    words: str
    state: str
    low: float
    high: float


def ranked(check: BuildCheck, system: System) -> list[MarginBar]:
    """What clashes and what known figures leave open, by harm, and the tightest of what fits."""
    told = [one for one in check.findings if one.verdict is not Verdict.UNMEASURED and one.demands]
    worst = [worst_place(findings) for findings in by_rule(told)]
    of = {name: [one for one in worst if state(one) == name] for name in ("clash", "open", "fits")}
    of["fits"].sort(key=past, reverse=True)
    few = [*of["clash"], *sorted(of["open"], key=harm)[:MOST_OPEN]]
    few += of["fits"][:MOST_TIGHT]
    few.sort(key=lambda one: (_ORDER.index(state(one)), *harm(one), one.rule.id))
    return [_row_of(one, places(one, check.build.layout), system) for one in few]


_ORDER = ("clash", "open", "fits")


def _row_of(finding: RuleFinding, where: str, system: System) -> MarginBar:
    label = capital(str(finding.rule.file.subject)) + (f", {where}" if where else "")
    words = missing_words(finding, system)
    return MarginBar(finding.rule.id, label, words, state(finding), *_shares(finding))


def _shares(finding: RuleFinding) -> tuple[float, float]:
    demand = finding.demands[0]
    low, high = float(demand.margin.lower), float(demand.margin.upper)
    wanted = max(abs(float(demand.wanted.lower)), abs(float(demand.wanted.upper)))
    size = wanted or max(abs(low), abs(high)) or 1.0
    return low / size, high / size


def strips(numbers: Numbers) -> list[Drawing]:
    """The margins in two drawings, to stand side by side: what does not fit, and what does."""
    rows = ranked(numbers.check, numbers.system)
    told = {
        "Margins of what clashes or is open, by harm": [one for one in rows if one.state != "fits"],
        "The tightest margins of what fits": [one for one in rows if one.state == "fits"],
    }
    made = [
        strip(some, f"margins-{i}", title=title) for i, (title, some) in enumerate(told.items())
    ]
    return [one for one, some in zip(made, told.values(), strict=True) if some]


def strip(
    rows: Sequence[MarginBar], name: str = "margins", note: str = "", title: str = TITLE
) -> Drawing:
    """Some rows as one drawing."""
    sheet = Sheet(name)
    sheet.text(_MIDDLE - 5, 14, "misses", "", "end")
    sheet.text(_MIDDLE + 5, 14, "to spare")
    y = 24.0
    for row in rows:
        y = _put(sheet, row, y)
    sheet.line(_MIDDLE, 18, _MIDDLE, 22, "outline")
    key = (
        "Bars: the least to the most a margin can be; at the dotted ends it is as large as what is "
        "wanted. Hatched: open."
    )
    sheet.lines(4, y + 12, key + note, WIDTH - 8, "quiet")
    told = "; ".join(f"{row.label} {STATE_WORDS[row.state]}, {row.words}" for row in rows)
    description = f"{counted(len(rows), 'margin')} against nought. {told}."
    return sheet.finished(name, title, description)


def finding_strip(finding: RuleFinding, system: System) -> Drawing:
    """The margin of one finding alone."""
    name = f"margin-{finding.rule.id}-{finding.positions[0]}"
    return strip([_row_of(finding, "", system)], name, title="Margin against what is wanted")


def _put(sheet: Sheet, row: MarginBar, y: float) -> float:
    """A row: its words, and beneath them its bar against the line of nought."""
    sheet.mark(row.state, 10, y + 7, 5)
    for line in wrapped(f"{row.label}: {row.words}", _RIGHT - _LEFT):
        sheet.text(_LEFT, y + 11, line)
        y += LINE
    low, high = (max(-_FULL, min(_FULL, end)) for end in (row.low, row.high))
    left, right = _MIDDLE + low * _HALF, _MIDDLE + high * _HALF
    if right - left < 3:
        left, right = (left + right) / 2 - 1.5, (left + right) / 2 + 1.5
    middle = y + _THICK / 2
    sheet.line(_LEFT, middle, _RIGHT, middle, "grid")
    if row.state == "open":
        sheet.unknown(left, y, right - left, _THICK, row.rule)
    else:
        sheet.rect(left, y, right - left, _THICK, row.state, row.rule)
    sheet.line(_MIDDLE, y - 2, _MIDDLE, y + _THICK + 2, "outline", "zero")
    if row.low < -_FULL:
        sheet.arrow(_LEFT - 6, middle, -1, across=True)
    if row.high > _FULL:
        sheet.arrow(_RIGHT + 6, middle, 1, across=True)
    sheet.grow(y + _THICK)
    return y + _THICK + _BETWEEN


def waiting(check: BuildCheck) -> str:
    """How many questions have no margin to draw, in words."""
    count = sum(one.verdict is Verdict.UNMEASURED for one in check.worst_by_rule)
    asked = counted(count, "question waits", "questions wait")
    told = f" {asked} for figures that nobody gave: no margin is drawn for them."
    return told if count else ""


def draw(numbers: Numbers, at: Position) -> Drawing:
    """The margins in one drawing."""
    rows = ranked(numbers.check, numbers.system)
    if not rows:
        return cannot("margins", TITLE, ["any margin: nothing was asked of known figures"])
    return strip(rows, note=waiting(numbers.check))


def urgency(numbers: Numbers, at: Position) -> float:
    """One drawing for the whole engine."""
    return 0.0
