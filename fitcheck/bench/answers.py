"""The pieces of the answer: what is certain at once, the short answer, one question in full."""

from __future__ import annotations

from starlette.responses import HTMLResponse, JSONResponse, Response

from fitcheck.bench.answering import GRAVE, mark_of, standing
from fitcheck.bench.asking import Visit, go, shown, sight, slow
from fitcheck.bench.render import render
from fitcheck.check import Finding, Verdict, describe_fact
from fitcheck.check.likely import Likely
from fitcheck.report.html.frame import cautions
from fitcheck.report.phrases import (
    capital,
    fact_title,
    fact_value,
    margin_line,
    missing_words,
    places,
)
from fitcheck.report.story import Story, remedies
from fitcheck.source import BadInput, Problem


def answer(ask: Visit) -> Response:
    """What is certain, as a piece of the page."""
    found = sight(ask)
    return JSONResponse(
        {
            "answer": render("insight", sight=found, draft=False),
            "bar": render("bar", sight=found),
            "version": ask.bench.desk.version,
        }
    )


def short_answer(ask: Visit) -> Response:
    """The short answer and what to ask first, once they are there."""
    desk = ask.bench.desk
    if desk.check is None:
        return HTMLResponse("")
    future = ask.bench.aside.ask(desk.name, desk.text, desk.system)
    if not future.done():
        return JSONResponse({"wait": True, "version": desk.version})
    return JSONResponse({"html": render("short", slow=future.result()), "version": desk.version})


def state(ask: Visit) -> Response:
    """Whether anything changed since a page saw the desk, and what."""
    desk = ask.bench.desk
    return JSONResponse(
        {
            "version": desk.version,
            "news": desk.news(ask.seen, ask.tab) if desk.version != ask.seen else [],
            "trouble": [str(problem) for problem in desk.problems],
            "door": ask.bench.entry.open_to_phones,
        }
    )


def question(ask: Visit) -> Response:
    """One question in full: the subtraction, the limit with its source, why, what mends it."""
    desk = ask.bench.desk
    rule = ask.path["rule"]
    check = desk.checked
    if rule not in check.knowledge.rules:
        raise BadInput([Problem("there is no such question", None, "choose one from the answer")])
    found = [one for one in check.all_findings if one.rule.id == rule]
    words = {"told": [_told(ask, one) for one in found], "rule": check.knowledge.rules[rule]}
    words["limits"] = Story(check, desk.system).limits(found) if found else ()
    ids = [c for one in found for m in remedies_of(ask, one) for c in m.cautions]
    ids += list(map(str, check.knowledge.rules[rule].file.cautions))
    words["cautions"] = cautions(check.knowledge, ids)
    if ask.script:
        return HTMLResponse(render("question_piece", **words))
    title = capital(str(check.knowledge.rules[rule].file.title))
    return shown(ask, "question", title, **words)


def remedies_of(ask: Visit, finding: Finding) -> tuple:  # type: ignore[type-arg]
    """What mends a clash."""
    if finding.verdict is not Verdict.CONFLICT:
        return ()
    return remedies(finding, ask.bench.desk.system)


def _told(ask: Visit, finding: Finding) -> dict[str, object]:
    desk = ask.bench.desk
    check, system = desk.checked, desk.system
    likely = check.likely(finding)
    return {
        "where": capital(places(finding, check.build.layout)),
        "mark": mark_of(finding),
        "standing": standing(finding),
        "grave": GRAVE[finding.rule.severity],
        "says": finding.message(system) if finding.verdict is Verdict.CONFLICT else "",
        "margin": margin_line(finding, system),
        "short": missing_words(finding, system),
        "derivation": finding.derivation(system),
        "missing": [f"{fact_title(check, fact.attribute)}, {describe_fact(fact)}"
                    for fact in finding.missing],
        "likely": "" if likely is None or likely.standing is Likely.OPEN else likely.standing.value,
        "usual": [f"{fact_title(check, fact.attribute)} {fact_value(fact, system)}"
                  for fact in (likely.rests_on if likely else ())],
        "remedies": remedies_of(ask, finding),
    }  # fmt: skip


def whole(ask: Visit) -> Response:
    """Wait until the short answer is there, then back to the work: for pages without a script."""
    slow(ask, wait=True)
    return go("/")
