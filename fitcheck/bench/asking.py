"""What all screens share: what a request asks, and what goes back."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from concurrent.futures import Future
from concurrent.futures import wait as wait_for
from dataclasses import dataclass, field, replace
from typing import Any
from urllib.parse import parse_qsl

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import (
    HTMLResponse,
    JSONResponse,
    PlainTextResponse,
    RedirectResponse,
    Response,
)

from fitcheck.bench.answering import InSight, in_sight
from fitcheck.bench.aside import Aside, AskFor, Slow
from fitcheck.bench.desk import Desk
from fitcheck.bench.guard import Entry, Who
from fitcheck.bench.render import render
from fitcheck.source import BadInput

MOST_FIELDS = 5000
SECONDS_FOR_ASKS = 2.0
# What a page puts before the names of fields: what is typed, and what stood there before.
TYPED, WAS = "f:", "was:"


@dataclass
class Bench:
    """All that the screens work with."""

    desk: Desk
    aside: Aside
    entry: Entry
    more: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Visit:
    """One request: what it says, by which page, which state of the desk that page saw."""

    bench: Bench
    path: dict[str, str]
    said: dict[str, str]
    several: dict[str, list[str]]
    who: Who | None
    script: bool
    waited: bool = False

    @property
    def tab(self) -> str:
        """What a page calls itself, so that it is not told of its own changes."""
        return self.said.get("tab", "")[:40]

    @property
    def seen(self) -> int:
        """The state of the desk that the page saw."""
        told = self.said.get("seen", "")
        return int(told) if told.isascii() and told.isdigit() and len(told) < 12 else 0

    def under(self, mark: str) -> dict[str, str]:
        """What is said under names that start with a mark; several of one name as a list."""
        return {
            name.removeprefix(mark): ", ".join(filter(None, values))
            for name, values in self.several.items()
            if name.startswith(mark)
        }


Screen = Callable[[Visit], Response]


def screen(bench: Bench, show: Screen) -> Callable[[Request], Awaitable[Response]]:
    """What answers a request: the screen, in a thread, alone at the desk."""

    async def answer(request: Request) -> Response:
        body = (await request.body()).decode("utf-8", errors="replace")
        try:
            pairs = parse_qsl(
                f"{request.url.query}&{body}", keep_blank_values=True, max_num_fields=MOST_FIELDS
            )
        except ValueError:
            return PlainTextResponse(f"At most {MOST_FIELDS} fields are taken at once.\n", 413)
        several: dict[str, list[str]] = {}
        for name, value in pairs:
            several.setdefault(name, []).append(value)
        visit = Visit(
            bench,
            {name: str(value) for name, value in request.path_params.items()},
            {name: values[-1] for name, values in several.items()},
            several,
            request.scope.get("who"),
            request.headers.get("x-by") == "script",
        )
        return await run_in_threadpool(_shown, visit, show)

    return answer


class NotYet(Exception):
    """A screen needs the slow part first: it is asked again when that is there, or time is up.

    Raised before a screen changes anything, as all of it is done again.
    """

    def __init__(self, future: Future[Slow], seconds: float | None) -> None:
        super().__init__()
        self.future, self.seconds = future, seconds


def _shown(visit: Visit, show: Screen) -> Response:
    while True:
        with visit.bench.desk.lock:
            visit.bench.desk.look()
            try:
                return show(visit)
            except BadInput as error:
                return refused(visit, error)
            except NotYet as wanted:
                future, seconds = wanted.future, wanted.seconds
        wait_for([future], seconds)  # while others are at the desk
        visit = replace(visit, waited=True)


def refused(visit: Visit, error: BadInput) -> Response:
    """What is wrong and what to do, as a page or for a page's script."""
    told = [str(problem) for problem in error.problems]
    if visit.script:
        return JSONResponse({"refused": told, "version": visit.bench.desk.version}, 409)
    return HTMLResponse(page(visit, "refused", "Not done", told=told), 409)


def page(visit: Visit, template: str, heading: str, **words: Any) -> str:
    """A whole page, with the answer beside it where a file is open."""
    desk = visit.bench.desk
    told = desk.news(visit.seen, visit.tab) if visit.seen else []
    beside_it = desk.check is not None and visit.who == "desk"
    return render(
        template,
        heading=heading,
        desk=desk,
        open=desk.check is not None,
        news=told,
        sight=sight(visit) if beside_it else None,
        slow=slow(visit) if beside_it else None,
        who=visit.who,
        door=visit.bench.entry.open_to_phones,
        **words,
    )


def sight(visit: Visit) -> InSight:
    """What stays in sight of the file as it is kept."""
    desk = visit.bench.desk
    return in_sight(desk.checked, desk.turned, desk.system)


def slow(visit: Visit, *, wait: bool = False) -> Slow | None:
    """The slow part where it is there for this state of the file, or when it is; else None."""
    desk = visit.bench.desk
    found = visit.bench.aside.ask(desk.name, desk.text, desk.system)
    if wait and not found.done():
        raise NotYet(found, None)
    return found.result() if found.done() and (wait or not found.exception()) else None


def asks(visit: Visit, *, wait: bool = False) -> tuple[AskFor, ...] | None:
    """What open questions need: of this state of the file, or of the one before; None: not yet.

    `wait` gives it a moment where nothing is there yet.
    """
    desk, aside = visit.bench.desk, visit.bench.aside
    found = slow(visit) or aside.latest(desk.name)
    if found is None and wait and not visit.waited:
        raise NotYet(aside.ask(desk.name, desk.text, desk.system), SECONDS_FOR_ASKS)
    return found.asks if found is not None else None


def shown(visit: Visit, template: str, heading: str, **words: Any) -> Response:
    """A page as an answer."""
    return HTMLResponse(page(visit, template, heading, **words))


def go(path: str) -> Response:
    """The way to another page, after a change."""
    return RedirectResponse(path, 303)
