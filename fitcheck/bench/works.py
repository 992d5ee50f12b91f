"""The screen of longer work: what can be started, what is under way, what came of it."""

from __future__ import annotations

import base64
import hashlib
import re

from starlette.responses import HTMLResponse, JSONResponse, Response

from fitcheck.bench.asking import Visit, go, shown
from fitcheck.bench.jobs import Jobs
from fitcheck.bench.kinds import ASKS, FILES, KINDS, NO_FILE, TYPED, choices
from fitcheck.bench.start import OTHERS
from fitcheck.source import BadInput, Problem

_STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)
ELSEWHERE = ("rule",)  # started from the page of a question


def jobs_of(visit: Visit) -> Jobs:
    """All pieces of work of this bench."""
    found: Jobs = visit.bench.more.setdefault("jobs", Jobs())
    return found


def show(visit: Visit) -> Response:
    """What can be started, and what is under way."""
    desk = visit.bench.desk
    listed = {name: kind for name, kind in KINDS.items() if name not in ELSEWHERE}
    asked = dict.fromkeys(ask for kind in listed.values() for ask in kind.asks)
    return shown(
        visit,
        "work",
        "Work, lists and pages",
        kinds=listed,
        labels=ASKS,
        typed=TYPED,
        choices={ask: choices(ask, desk) for ask in asked if ask not in TYPED},
        others=OTHERS,
        needed={ask: FILES[ask][0] for ask in FILES if ask not in NO_FILE},
        jobs=list(reversed(jobs_of(visit).jobs.values())),
    )


def start(visit: Visit) -> Response:
    """Start a piece of work."""
    job = jobs_of(visit).start(visit.said.get("kind", ""), dict(visit.said), visit.bench.desk)
    return go(f"/work/{job.number}")


def one(visit: Visit) -> Response:
    """A piece of work: how far it is, or what it answers."""
    job = jobs_of(visit).find(visit.path["number"])
    older = job.version != visit.bench.desk.version
    return shown(visit, "job", job.title, job=job, older=older)


def state(visit: Visit) -> Response:
    """How far a piece of work is, for the page that waits for it."""
    job = jobs_of(visit).find(visit.path["number"])
    return JSONResponse(
        {
            "running": job.running,
            "state": job.state,
            "progress": job.progress,
            "took": job.took,
            "seconds": job.seconds,
        }
    )


def stop(visit: Visit) -> Response:
    """Stop a piece of work."""
    job = jobs_of(visit).find(visit.path["number"])
    job.stop()
    return go(f"/work/{job.number}")


def page(visit: Visit) -> Response:
    """The page that a piece of work made, as it would be sent: its own looks, and no script."""
    job = jobs_of(visit).find(visit.path["number"])
    text = job.page
    if not text:
        raise BadInput([Problem("this work made no page", None, "look at what it says instead")])
    hashes = " ".join(
        f"'sha256-{base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()}'"
        for style in _STYLE.findall(text)
    )
    policy = f"default-src 'none'; style-src {hashes}; base-uri 'none'; frame-ancestors 'none'"
    return HTMLResponse(text, headers={"content-security-policy": policy})
