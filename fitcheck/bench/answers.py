"""The pieces of the answer: what is certain at once, the short answer, one question in full."""

from __future__ import annotations

from starlette.responses import HTMLResponse, JSONResponse, Response

from fitcheck.bench.answering import GRAVE, mark_of, standing
from fitcheck.bench.asking import Visit, go, shown, sight, slow
from fitcheck.bench.render import render
from fitcheck.check import RuleFinding, Verdict, derivations, describe_fact
from fitcheck.check.likely import Likely
from fitcheck.report.answers import worst_place
from fitcheck.report.html.frame import cautions
from fitcheck.report.phrases import (
    capital,
    fact_value,
    margin_line,
    missing_words,
    places,
)
from fitcheck.report.story import Story, by_rule, remedies
from fitcheck.source import BadInput, Problem, frozen

# How questions stand: the group, its mark, its heading.
HEADINGS = (
    ("clash", "clash", "Clash"),
    ("decide", "open", "Practice disagrees, so you decide"),
    ("open", "open", "Cannot be told yet"),
    ("fits", "fits", "Fit"),
)


@frozen
class AskedLine:
    """A question in the list of all: its severity where it clashes, and what it lacks or spares."""

    rule: str
    grave: str
    subject: str
    short: str


MOST_IN_FULL = 8  # places of one question that are told in full, the gravest first


def first(visit: Visit) -> Response:
    """The answer, before everything else; where no file is open, the files."""
    if visit.bench.desk.check is None:
        return go("/files")
    return shown(visit, "answer", "The answer")


def answer(visit: Visit) -> Response:
    """What is certain, as a piece of the page."""
    found = sight(visit)
    return JSONResponse(
        {
            "answer": render("insight", sight=found, draft=False),
            "bar": render("bar", sight=found),
            "version": visit.bench.desk.version,
        }
    )


def short_answer(visit: Visit) -> Response:
    """The short answer and what to ask first, once they are there."""
    desk = visit.bench.desk
    if desk.check is None:
        return HTMLResponse("")
    future = visit.bench.aside.ask(desk.name, desk.text, desk.system)
    if not future.done():
        return JSONResponse({"wait": True, "version": desk.version})
    if future.exception() is not None:
        html = render("fault", what=str(future.exception()))
        return JSONResponse({"html": html, "version": desk.version})
    return JSONResponse({"html": render("short", slow=future.result()), "version": desk.version})


def state(visit: Visit) -> Response:
    """Whether anything changed since a page saw the desk, and what."""
    desk = visit.bench.desk
    return JSONResponse(
        {
            "version": desk.version,
            "news": desk.news(visit.seen, visit.tab) if desk.version != visit.seen else [],
            "trouble": [str(problem) for problem in desk.problems],
            "door": visit.bench.entry.open_to_phones,
        }
    )


def questions(visit: Visit) -> Response:
    """All questions by how they stand, each with its link."""
    check, system = visit.bench.desk.checked, visit.bench.desk.system
    groups = {"clash": [], "decide": [], "open": [], "fits": []}  # type: dict[str, list[AskedLine]]
    for one in map(worst_place, by_rule(check.findings)):
        decide = one.verdict.undecided and one.rule.id in check.disputed
        groups["decide" if decide else mark_of(one)].append(
            AskedLine(
                one.rule.id,
                GRAVE[one.rule.severity] if one.verdict is Verdict.CONFLICT else "",
                capital(str(one.rule.file.subject)),
                "" if one.verdict.undecided else missing_words(one, system),
            )
        )
    asked = {one.rule for some in groups.values() for one in some}
    rest = [(id_, capital(str(rule.file.subject)))
            for id_, rule in check.knowledge.rules.items() if id_ not in asked]  # fmt: skip
    told = [(words, mark, groups[name]) for name, mark, words in HEADINGS]
    return shown(visit, "questions", "All questions", groups=told, silent=rest)


def question(visit: Visit) -> Response:
    """One question in full: the subtraction, the limit with its source, why, what mends it."""
    desk = visit.bench.desk
    rule = visit.path["rule"]
    check = desk.checked
    if rule not in check.knowledge.rules:
        raise BadInput([Problem("there is no such question", None, "choose one from the answer")])
    found = [one for one in check.all_findings if one.rule.id == rule]
    words = {
        "told": [_told(visit, one) for one in found[:MOST_IN_FULL]],
        "rest": [_line(visit, one) for one in found[MOST_IN_FULL:]],
        "rule": check.knowledge.rules[rule],
    }
    words["limits"] = Story(check, desk.system).limits(found) if found else ()
    ids = [c for one in found for m in remedies_of(visit, one) for c in m.cautions]
    ids += list(map(str, check.knowledge.rules[rule].file.cautions))
    words["cautions"] = cautions(check.knowledge, ids)
    if visit.script:
        return HTMLResponse(render("question_piece", **words))
    title = capital(str(check.knowledge.rules[rule].file.title))
    return shown(visit, "question", title, **words)


def remedies_of(visit: Visit, finding: RuleFinding) -> tuple:  # type: ignore[type-arg]
    """What mends a clash."""
    if finding.verdict is not Verdict.CONFLICT:
        return ()
    return remedies(finding, visit.bench.desk.system)


def _line(visit: Visit, finding: RuleFinding) -> dict[str, str]:
    """How a question stands at some places, in a line."""
    desk = visit.bench.desk
    return {
        "where": capital(places(finding, desk.build.layout)),
        "mark": mark_of(finding),
        "standing": standing(finding),
        "short": missing_words(finding, desk.system),
    }


def _told(visit: Visit, finding: RuleFinding) -> dict[str, object]:
    desk = visit.bench.desk
    check, system = desk.checked, desk.system
    likely = check.likely(finding)
    return _line(visit, finding) | {
        "grave": GRAVE[finding.rule.severity],
        "says": finding.message(system) if finding.verdict is Verdict.CONFLICT else "",
        "margin": margin_line(finding, system),
        "derivation": derivations(finding, system),
        "missing": [f"{check.knowledge.title_of(fact.attribute)}, {describe_fact(fact)}"
                    for fact in finding.missing],
        "likely": "" if likely is None or likely.standing is Likely.OPEN else likely.standing.value,
        "usual": [f"{check.knowledge.title_of(fact.attribute)} {fact_value(fact, system)}"
                  for fact in (likely.rests_on if likely else ())],
        "remedies": remedies_of(visit, finding),
    }  # fmt: skip


def whole(visit: Visit) -> Response:
    """Wait until the short answer is there, then back to the work: for pages without a script."""
    slow(visit, wait=True)
    return go("/")
