"""The margins of all rules against zero, ranked, each with its bounds."""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.check import Check, Finding, Verdict
from fitcheck.model import Position
from fitcheck.quantity import System
from fitcheck.report.drawings.numbers import STATE_WORDS, Numbers, state
from fitcheck.report.drawings.svg import LINE, WIDTH, Drawing, Sheet, cannot, wrapped
from fitcheck.report.phrases import alike, capital, counted, missing_words
from fitcheck.source import frozen

TITLE = "Margins, the tightest first"
EACH = "engine"
READS: list[str] = []

_LABEL = 196.0
_LEFT, _RIGHT = 222.0, WIDTH - 16
_MIDDLE, _HALF = (_LEFT + _RIGHT) / 2, (_RIGHT - _LEFT) / 2
_FULL = 1.0  # a margin as large as its limit reaches the end of the strip
_BETWEEN = 5.0
_TOLD = 8  # rows that the text alternative names


@frozen
class Row:
    """A margin as shares of what is wanted, at all places that read the same."""

    rule: str
    label: str
    words: str
    state: str
    low: float
    high: float


def ranked(check: Check, system: System) -> list[Row]:
    """The margins of what does not merely wait for figures, the tightest first."""
    by_rule: dict[tuple[str, Verdict], list[Finding]] = {}
    for finding in check.findings:
        if finding.verdict is not Verdict.UNMEASURED and finding.demands:
            by_rule.setdefault((finding.rule.id, finding.verdict), []).append(finding)
    rows = [row for findings in by_rule.values() for row in _rows(check, findings, system)]
    return sorted(rows, key=lambda row: (row.low, row.high, row.rule, row.label))


def _rows(check: Check, findings: list[Finding], system: System) -> list[Row]:
    shares: dict[str, list[float]] = {}
    texts = {id(finding): missing_words(finding, system) for finding in findings}
    for finding in findings:
        shares.setdefault(texts[id(finding)], []).extend(_shares(finding))
    told = alike(findings, check.build.layout, lambda finding: texts[id(finding)])
    return [
        _row_of(findings[0], where, words, min(shares[words]), max(shares[words]))
        for where, words in told
    ]


def _row_of(finding: Finding, where: str, words: str, low: float, high: float) -> Row:
    label = capital(str(finding.rule.file.subject)) + (f", {where}" if where else "")
    return Row(finding.rule.id, label, words, state(finding), low, high)


def _shares(finding: Finding) -> tuple[float, float]:
    demand = finding.demands[0]
    low, high = float(demand.margin.lower), float(demand.margin.upper)
    wanted = max(abs(float(demand.wanted.lower)), abs(float(demand.wanted.upper)))
    size = wanted or max(abs(low), abs(high)) or 1.0
    return low / size, high / size


def strip(rows: Sequence[Row], name: str = "margins", note: str = "") -> Drawing:
    """Some rows as one drawing."""
    sheet = Sheet(name)
    sheet.text(_MIDDLE - 5, 14, "misses", "small", "end")
    sheet.text(_MIDDLE + 5, 14, "to spare", "small")
    y = 24.0
    for row in rows:
        y = _put(sheet, row, y)
    sheet.line(_MIDDLE, 20, _MIDDLE, y - 4, "outline", "zero")
    for x in (_LEFT, _RIGHT):
        sheet.line(x, 20, x, y - 4, "grid")
    key = (
        "Bar: from the least to the most the margin can be, as a share of what is wanted; the "
        "dotted ends are one whole limit, arrows go beyond."
    )
    sheet.lines(8, y + 12, key + note, WIDTH - 16, "quiet small")
    told = "; ".join(f"{row.label} {STATE_WORDS[row.state]}, {row.words}" for row in rows[:_TOLD])
    rest = len(rows) - _TOLD
    more = f"; and {rest} more with more to spare" if rest > 0 else ""
    description = f"{counted(len(rows), 'margin')} ranked against zero. {told}{more}."
    return sheet.finished(name, TITLE, description)


def finding_strip(finding: Finding, system: System) -> Drawing:
    """The margin of one finding alone."""
    row = _row_of(finding, "", missing_words(finding, system), *_shares(finding))
    return strip([row], f"margin-{finding.rule.id}-{finding.positions[0]}")


def _lines(row: Row) -> list[tuple[str, str]]:
    lines = [(line, "") for line in wrapped(row.label, _LABEL)]
    return lines + [(line, "quiet small") for line in wrapped(row.words, _LABEL)]


def parted(rows: Sequence[Row], height: float) -> list[list[Row]]:
    """The rows in strips of at most about a height."""
    strips: list[list[Row]] = []
    left = 0.0
    for row in rows:
        needed = LINE * len(_lines(row)) + _BETWEEN
        if not strips or needed > left:
            strips.append([])
            left = height
        strips[-1].append(row)
        left -= needed
    return strips


def _put(sheet: Sheet, row: Row, y: float) -> float:
    lines = _lines(row)
    for i, (line, look) in enumerate(lines):
        sheet.text(22, y + 11 + i * LINE, line, look)
    bottom = y + LINE * len(lines)
    sheet.mark(row.state, 11, y + 8, 5)
    _bar(sheet, row, (y + bottom) / 2)
    sheet.grow(bottom)
    return bottom + _BETWEEN


def _bar(sheet: Sheet, row: Row, y: float) -> None:
    low, high = (max(-_FULL, min(_FULL, end)) for end in (row.low, row.high))
    left, right = _MIDDLE + low * _HALF, _MIDDLE + high * _HALF
    if right - left < 3:
        left, right = (left + right) / 2 - 1.5, (left + right) / 2 + 1.5
    if row.state == "open":
        sheet.unknown(left, y - 5, right - left, 10, row.rule)
    else:
        sheet.rect(left, y - 5, right - left, 10, row.state, row.rule)
    if row.low < -_FULL:
        sheet.arrow(_LEFT - 6, y, -1, across=True)
    if row.high > _FULL:
        sheet.arrow(_RIGHT + 6, y, 1, across=True)


def waiting(check: Check) -> str:
    """How many questions have no margin to draw, in words."""
    count = sum(one.verdict is Verdict.UNMEASURED for one in check.worst_by_rule)
    asked = counted(count, "question waits", "questions wait")
    told = f" {asked} for figures that nobody gave: no margin is drawn for them."
    return told if count else ""


def draw(numbers: Numbers, at: Position) -> Drawing:
    """All margins in one drawing."""
    rows = ranked(numbers.check, numbers.system)
    if not rows:
        return cannot("margins", TITLE, ["any margin: nothing was asked of known figures"])
    return strip(rows, note=waiting(numbers.check))


def urgency(numbers: Numbers, at: Position) -> float:
    """One drawing for the whole engine."""
    return 0.0
