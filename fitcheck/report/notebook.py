"""What a notebook shows of a check or a finding: the answer, and its drawings."""

from __future__ import annotations

from fitcheck.check import BuildCheck, RuleFinding
from fitcheck.quantity import System
from fitcheck.report.comes_out import comes_out
from fitcheck.report.drawings.making import drawing, tightest
from fitcheck.report.drawings.margins import finding_strip, ranked, strip
from fitcheck.report.drawings.numbers import STATE_WORDS, Numbers, state
from fitcheck.report.drawings.svg import safe
from fitcheck.report.phrases import capital, margin_line
from fitcheck.report.story import Story

MOST_ROWS = 14


def check_html(check: BuildCheck, system: System) -> str:
    """The short answer, the tightest margins, the spring stack."""
    story = Story(check, system)
    numbers = Numbers(check, system)
    rows = ranked(check, system)[:MOST_ROWS]
    made = [strip(rows, "notebook-margins")] if rows else []
    made += [drawing("stack", numbers, alike[0]) for alike in tightest("stack", numbers)[:1]]
    figures = "".join(one.alone() for one in made)
    lines = "".join(
        f"<li>{safe(capital(one.short))}: {safe(one.words)}</li>" for one in story.answers
    )
    if story.outcomes:
        lines += f"<li>It comes out at: {safe(comes_out(story.outcomes))}</li>"
    return (
        f"<div><p><strong>{safe(f'{story.summary} {story.usual}'.strip())}</strong></p>"
        f"<ul>{lines}</ul>{figures}</div>"
    )


def finding_html(finding: RuleFinding, system: System) -> str:
    """What it says, and its margin against zero."""
    line = margin_line(finding, system)
    strip_ = finding_strip(finding, system).alone() if finding.demands else ""
    return (
        f"<div><p><strong>{safe(capital(str(finding.rule.file.subject)))}: "
        f"{STATE_WORDS[state(finding)]}.</strong> {safe(capital(line))}</p>"
        f"<p>{safe(finding.message(system))}</p>{strip_}</div>"
    )
