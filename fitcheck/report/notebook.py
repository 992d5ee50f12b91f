"""What a notebook shows of a check, a finding or routes: the answer, and its drawings."""

from __future__ import annotations

from fitcheck.check import Check, Finding
from fitcheck.plan.routes import Routes
from fitcheck.report.drawings.making import drawing, tightest
from fitcheck.report.drawings.margins import finding_strip, ranked, strip
from fitcheck.report.drawings.numbers import STATE_WORDS, Numbers, state
from fitcheck.report.drawings.route_prices import drawings_of
from fitcheck.report.drawings.svg import safe
from fitcheck.report.phrases import capital, margin_line, summary
from fitcheck.report.routes import routes_answer

MOST_ROWS = 14


def check_html(check: Check) -> str:
    """The answer in a sentence, the tightest margins, the spring stack."""
    numbers = Numbers(check, "inch")
    rows = ranked(check, "inch")[:MOST_ROWS]
    made = [strip(rows, "notebook-margins")] if rows else []
    made += [drawing("stack", numbers, alike[0]) for alike in tightest("stack", numbers)[:1]]
    figures = "".join(one.alone() for one in made)
    return f"<div><p><strong>{safe(summary(check))}</strong></p>{figures}</div>"


def routes_html(found: Routes) -> str:
    """Which way costs least, and the drawings of the prices."""
    figures = "".join(one.alone() for one in drawings_of(found))
    return f"<div><p><strong>{safe(routes_answer(found))}</strong></p>{figures}</div>"


def finding_html(finding: Finding) -> str:
    """What it says, and its margin against zero."""
    line = margin_line(finding, "inch")
    strip_ = finding_strip(finding, "inch").alone() if finding.demands else ""
    return (
        f"<div><p><strong>{safe(capital(str(finding.rule.file.subject)))}: "
        f"{STATE_WORDS[state(finding)]}.</strong> {safe(capital(line))}</p>"
        f"<p>{safe(finding.message())}</p>{strip_}</div>"
    )
