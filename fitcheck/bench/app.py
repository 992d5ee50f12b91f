"""The bench as an application: which address shows what."""

from __future__ import annotations

import sys
import traceback

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from fitcheck.bench import answers, beside, door, parts, section, start, trying, works
from fitcheck.bench.asking import Bench, Screen, screen
from fitcheck.bench.guard import App, Guard, TooMuch, too_much
from fitcheck.bench.render import STATIC, looks, render

SCREENS: dict[str, tuple[str, Screen]] = {
    "/": ("GET", answers.first),
    "/parts": ("GET", parts.first_part),
    "/files": ("GET", start.files),
    "/open": ("POST", start.open_file),
    "/begin": ("POST", start.begin),
    "/begin-other": ("POST", start.begin_other),
    "/invented": ("POST", start.take_demo),
    "/history": ("GET", start.show_history),
    "/undo": ("POST", parts.put_back),
    "/part/{slot}": ("GET", parts.show_part),
    "/part/{slot}/places": ("GET", parts.show_places),
    "/part/{slot}/keep": ("POST", parts.keep),
    "/part/{slot}/none": ("POST", parts.leave_out),
    "/draft": ("POST", parts.draft),
    "/answer": ("GET", answers.answer),
    "/answer/short": ("GET", answers.short_answer),
    "/answer/whole": ("GET", answers.whole),
    "/questions": ("GET", answers.questions),
    "/question/{rule}": ("GET", answers.question),
    "/state": ("GET", answers.state),
    "/section": ("GET", section.section),
    "/section/lifted": ("GET", section.lifted),
    "/try": ("GET", trying.show),
    "/try/suppose": ("POST", trying.suppose),
    "/try/drop": ("POST", trying.drop),
    "/try/keep": ("POST", trying.keep),
    "/work": ("GET", works.show),
    "/work/start": ("POST", works.start),
    "/work/{number}": ("GET", works.one),
    "/work/{number}/state": ("GET", works.state),
    "/work/{number}/stop": ("POST", works.stop),
    "/work/{number}/page": ("GET", works.page),
    "/phone": ("GET", door.show),
    "/phone/open": ("POST", door.open_it),
    "/phone/shut": ("POST", door.shut_it),
    "/beside": ("GET", beside.overview),
    "/beside/begin": ("POST", beside.begin),
    "/beside/take": ("GET", beside.take),
    "/beside/reading": ("POST", beside.reading),
    "/beside/out-of-reach": ("POST", beside.out_of_reach),
}


def make_app(bench: Bench) -> App:
    """The bench, behind its guard."""
    routes: list[BaseRoute] = [
        Route(path, screen(bench, show), methods=[method])
        for path, (method, show) in SCREENS.items()
    ]
    routes += [
        Route("/door", screen(bench, door.knock), methods=["GET"]),
        Route("/door", screen(bench, door.come_in), methods=["POST"]),
        Route("/enter", _enter(bench), methods=["GET"]),
        Route("/static/bench.css", _looks, methods=["GET"]),
        *(
            Route(f"/static/{path.name}", _script(path.name), methods=["GET"])
            for path in sorted(STATIC.glob("*.js"))
        ),
    ]
    told = {404: _unknown, TooMuch: too_much, Exception: _fault}
    app = Starlette(routes=routes, exception_handlers=told)
    return Guard(app, bench.entry)


def _enter(bench: Bench):  # type: ignore[no-untyped-def]
    """The way in: the token of the printed address becomes a cookie.

    A page, not a redirect: what is opened from elsewhere sends no cookie of this strictness on.
    """

    async def enter(request: Request) -> Response:
        entry = bench.entry
        if not entry.admits(request.query_params.get("token", "")):
            what = "This address is not, or no longer, the one that 'fitcheck bench' printed.\n"
            return PlainTextResponse(what, 403)
        answer = HTMLResponse(render("enter"), headers={"referrer-policy": "no-referrer"})
        answer.set_cookie(entry.cookie, entry.let_in("desk"), httponly=True, samesite="strict")
        return answer

    return enter


async def _looks(request: Request) -> Response:
    return Response(looks(), media_type="text/css")


def _script(name: str):  # type: ignore[no-untyped-def]
    async def script(request: Request) -> Response:
        return FileResponse(STATIC / name, media_type="text/javascript")

    return script


async def _unknown(request: Request, error: Exception) -> Response:
    return HTMLResponse(render("lost", what="There is no such page here."), 404)


async def _fault(request: Request, error: Exception) -> Response:
    traceback.print_exception(error, file=sys.stderr)
    what = (
        "This is a fault of fitcheck itself; nothing was written. What to report of it stands in "
        "the window in which 'fitcheck bench' runs."
    )
    return HTMLResponse(render("lost", what=what), 500)
