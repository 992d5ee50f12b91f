"""The margins of all rules against zero, ranked, each with its bounds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.check import Check, Finding, Verdict
from fitcheck.model import Position
from fitcheck.report.drawings.numbers import STATE_WORDS, Numbers, state
from fitcheck.report.drawings.svg import LINE, WIDTH, Drawing, Sheet, cannot, wrapped
from fitcheck.report.phrases import capital, counted, missing_words, places

TITLE = "Margins, the tightest first"
HELP = "the margins of all rules against zero, the tightest first"
EACH = "engine"
READS: list[str] = []

_LABEL = 196.0
_LEFT, _RIGHT = 222.0, WIDTH - 16
_FULL = 1.0  # a margin as large as its limit reaches the end of the strip


@dataclass(frozen=True, slots=True)
class Row:
    """One finding's margin as shares of what is wanted."""

    finding: Finding
    low: float
    high: float


def ranked(check: Check) -> list[Row]:
    """The findings that have a margin and do not merely wait for figures, the tightest first."""
    rows = []
    for finding in check.findings:
        if finding.verdict is Verdict.UNMEASURED or not finding.demands:
            continue
        demand = finding.demands[0]
        wanted = max(abs(float(demand.wanted.lower)), abs(float(demand.wanted.upper)))
        low, high = float(demand.margin.lower), float(demand.margin.upper)
        size = wanted or max(abs(low), abs(high)) or 1.0
        rows.append(Row(finding, low / size, high / size))
    return sorted(rows, key=lambda row: (row.low, row.high, row.finding.rule.id))


def strip(numbers: Numbers, rows: Sequence[Row], name: str = "margins", note: str = "") -> Drawing:
    """Some rows as one drawing."""
    check = numbers.check
    sheet = Sheet(name)
    middle = (_LEFT + _RIGHT) / 2
    half = (_RIGHT - _LEFT) / 2
    sheet.text(middle - 5, 14, "misses", "small", "end")
    sheet.text(middle + 5, 14, "to spare", "small")
    y = 24.0
    for row in rows:
        y = _row(sheet, numbers, row, y, middle, half)
    sheet.line(middle, 20, middle, y - 4, "outline", "zero")
    for x in (_LEFT, _RIGHT):
        sheet.line(x, 20, x, y - 4, "grid")
    y = sheet.lines(8, y + 12, "Bar: from the least to the most the margin can be, as a share of "
                    "what is wanted; the dotted ends are one whole limit, arrows go beyond."
                    + note, WIDTH - 16, "quiet small")  # fmt: skip
    told = "; ".join(f"{_label(check, row.finding)} {STATE_WORDS[state(row.finding)]}, "
                     f"{missing_words(row.finding, numbers.system)}" for row in rows[:8])  # fmt: skip
    more = f"; and {len(rows) - 8} more with more to spare" if len(rows) > 8 else ""
    return sheet.finished(name, TITLE, f"{counted(len(rows), 'margin')} ranked against zero. "
                          f"{told}{more}.")  # fmt: skip


def _row(sheet: Sheet, numbers: Numbers, row: Row, y: float, middle: float, half: float) -> float:
    lines = wrapped(_label(numbers.check, row.finding), _LABEL)
    words = wrapped(missing_words(row.finding, numbers.system), _LABEL)
    bottom = y + LINE * len(lines + words)
    for i, line in enumerate(lines):
        sheet.text(22, y + 11 + i * LINE, line)
    for i, line in enumerate(words, len(lines)):
        sheet.text(22, y + 11 + i * LINE, line, "quiet small")
    at = (y + bottom) / 2
    sheet.mark(state(row.finding), 11, y + 8, 5)
    _bar(sheet, row, at, middle, half)
    sheet.grow(bottom)
    return bottom + 5


def _bar(sheet: Sheet, row: Row, y: float, middle: float, half: float) -> None:
    low, high = (max(-_FULL, min(_FULL, end)) for end in (row.low, row.high))
    left, right = middle + low * half, middle + high * half
    if right - left < 3:
        left, right = (left + right) / 2 - 1.5, (left + right) / 2 + 1.5
    kind = state(row.finding)
    if kind == "open":
        sheet.unknown(left, y - 5, right - left, 10, row.finding.rule.id)
    else:
        sheet.rect(left, y - 5, right - left, 10, kind, row.finding.rule.id)
    if row.low < -_FULL:
        sheet.arrow(_LEFT - 6, y, -1, across=True)
    if row.high > _FULL:
        sheet.arrow(_RIGHT + 6, y, 1, across=True)


def _label(check: Check, finding: Finding) -> str:
    where = places(finding, check.build.layout)
    return capital(str(finding.rule.file.subject)) + (f", {where}" if where else "")


def waiting(check: Check) -> str:
    """How many questions have no margin to draw, in words."""
    count = len(check.of(Verdict.UNMEASURED))
    return f" {counted(count, 'question waits', 'questions wait')} for figures that nobody gave: " \
           "no margin is drawn for them." if count else ""  # fmt: skip


def draw(numbers: Numbers, at: Position) -> Drawing:
    """All margins in one drawing."""
    rows = ranked(numbers.check)
    if not rows:
        return cannot("margins", TITLE, ["any margin: nothing was asked of known figures"])
    return strip(numbers, rows, note=waiting(numbers.check))


def urgency(numbers: Numbers, at: Position) -> float:
    """One drawing for the whole engine."""
    return 0.0
