"""The first screen: open a file of the folder, begin a new one, or take an invented build."""

from __future__ import annotations

from typing import Any

from starlette.responses import HTMLResponse, Response

from fitcheck.bench.asking import Visit, go, page, shown
from fitcheck.check import read_build
from fitcheck.check.records.history import history
from fitcheck.check.telling import value_text
from fitcheck.model import MOST_CYLINDERS
from fitcheck.report.demos import demo_names, demo_text
from fitcheck.report.phrases import capital
from fitcheck.report.starter import STARTERS, StartRequest, build_starter
from fitcheck.source import BadInput, Problem

LAYOUTS = ("inline", "vee", "flat")
# What is asked of a new build besides.
FIRST = ("engine.use", "lifter.type", "fuel.kind", "head.material")
MOST_LETTERS = 80
# Files of other kinds, and what each is for.
OTHERS = {
    "prices": "prices of a shop, for plans and lists",
    "routes": "routes to one goal, to be compared",
    "pile": "a pile of parts",
    "columns": "what the columns of a list are",
    "house": "limits and waivers of a shop, for 'fitcheck bench FILE --house'",
}


def files(visit: Visit) -> Response:
    """The files that can be opened, and how to begin one."""
    return shown(visit, "files", "Open or begin", **_words(visit))


def _words(visit: Visit, told: list[str] | None = None) -> dict[str, Any]:
    desk = visit.bench.desk
    attributes = desk.knowledge.attributes
    return {
        "files": desk.folder.files(),
        "demos": demo_names(),
        "layouts": LAYOUTS,
        "most": MOST_CYLINDERS,
        "first": [attributes[name] for name in FIRST if name in attributes],
        "said": visit.said,
        "told": told or [],
    }


def open_file(visit: Visit) -> Response:
    """Open a file by its name."""
    desk = visit.bench.desk
    desk.open(desk.folder.find(visit.said.get("name", "")))
    for own in ("round", "tries_of"):  # what was begun of another file, or of this one before
        visit.bench.more.pop(own, None)
    return go("/") if desk.check is not None else go("/files")


def begin(visit: Visit) -> Response:
    """Begin a build, with a line for each figure that pages, cards and a tape tell first."""
    desk = visit.bench.desk
    try:
        asked = _asked(visit)
        text = build_starter(asked, desk.knowledge, visit.bench.desk.system)
        read_build(desk.folder.path / "new", desk.knowledge, text)
    except BadInput as error:
        told = [f"{capital(one.what)}; {one.mend}" for one in error.problems]
        return HTMLResponse(page(visit, "files", "Open or begin", **_words(visit, told)), 422)
    desk.open(desk.folder.new(asked.title, text))
    return go("/parts")  # nothing is typed yet that an answer could tell of


def _asked(visit: Visit) -> StartRequest:
    title = " ".join(visit.said.get("title", "").split())[:MOST_LETTERS] or "My engine"
    number = visit.said.get("cylinders", "").strip()
    count = int(number) if number.isascii() and number.isdigit() and len(number) < 4 else 0
    if not 1 <= count <= MOST_CYLINDERS:
        what = f"'{number[:20]}' is no number of cylinders" if number else "how many cylinders?"
        raise BadInput([Problem(what, None, f"write one from 1 to {MOST_CYLINDERS}")])
    layout = visit.said.get("layout", "")
    given = {name: visit.said[name] for name in FIRST if visit.said.get(name)}
    return StartRequest(title, count, layout if layout in LAYOUTS else "", given)


def begin_other(visit: Visit) -> Response:
    """Begin a file of another kind, to be filled in with an editor."""
    kind, desk = visit.said.get("kind", ""), visit.bench.desk
    if kind not in OTHERS:
        raise BadInput([Problem("there is no such kind of file", None, "choose one")])
    path = desk.folder.new(kind, STARTERS[kind](desk.knowledge))
    return shown(visit, "begun", "Begun", name=path.name, about=OTHERS[kind])


def take_demo(visit: Visit) -> Response:
    """A copy of an invented build in the folder, open."""
    desk, name = visit.bench.desk, visit.said.get("name", "")
    if name not in demo_names():
        raise BadInput([Problem("there is no such invented build", None, "choose one")])
    desk.open(desk.folder.new(name, demo_text(name)))
    return go("/")


def show_history(visit: Visit) -> Response:
    """What was measured by whom and when, and the way back."""
    desk = visit.bench.desk
    check = desk.checked
    rows = [
        (
            capital(check.knowledge.title_of(one.statement.attribute)),
            "" if not one.statement.selector else _where(one),
            value_text(one.statement),
            str(one.statement.origin),
            bool(one.holds),
        )
        for one in history(desk.build)
    ]
    kept = desk.path is not None and desk.path.with_name(f"{desk.path.name}.kept").is_dir()
    return shown(
        visit, "history", "History: what was written", rows=rows, kept=kept, notes=list(desk.notes)
    )


def _where(one: Any) -> str:
    from fitcheck.check.records.keeping import where_of  # noqa: PLC0415

    return where_of(one.statement)
