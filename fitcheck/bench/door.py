"""The door for a phone: opened by the owner for the job, by a code that lets one phone in once."""

from __future__ import annotations

import hmac
import secrets
import time
from dataclasses import dataclass

from starlette.responses import HTMLResponse, Response

from fitcheck.bench.asking import Visit, go, shown
from fitcheck.bench.render import render

# Letters and digits that nobody takes for each other.
ALPHABET = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
LENGTH = 8
SECONDS, MOST_TRIES = 600.0, 5


@dataclass
class Door:
    """One code at a time, good for one phone, for some minutes, and for a few tries."""

    code: str = ""
    until: float = 0.0
    tries: int = 0
    let_in: int = 0

    def new_code(self) -> None:
        """Another code; the one before is good for nothing any more."""
        self.code = "".join(secrets.choice(ALPHABET) for _ in range(LENGTH))
        self.until, self.tries = time.monotonic() + SECONDS, 0

    @property
    def holds(self) -> bool:
        """Whether there is a code that somebody can still use."""
        return bool(self.code) and time.monotonic() < self.until and self.tries < MOST_TRIES

    def admits(self, typed: str) -> bool:
        """Whether a code is the one; it is used up with that, and after a few wrong ones."""
        if not self.holds:
            return False
        plain = "".join(letter for letter in typed.upper()[:40] if letter in ALPHABET)
        if not hmac.compare_digest(plain.encode(), self.code.encode()):
            self.tries += 1
            return False
        self.code = ""
        self.let_in += 1
        return True


def door_of(visit: Visit) -> Door:
    """The door of this bench."""
    found: Door = visit.bench.more.setdefault("door", Door())
    return found


# At the desk.


def show(visit: Visit) -> Response:
    """Whether the door is open, the code, and how to shut it."""
    entry, door = visit.bench.entry, door_of(visit)
    return shown(
        visit,
        "phone",
        "Let a phone in",
        addresses=sorted(f"http://{host}/door" for host in entry.phone_hosts),
        code=f"{door.code[:4]} {door.code[4:]}" if door.holds else "",
        minutes=int(SECONDS // 60),
        tries=MOST_TRIES,
        let_in=door.let_in,
    )


def open_it(visit: Visit) -> Response:
    """Open the door, or make another code while it is open."""
    if visit.bench.entry.phone_hosts:
        visit.bench.entry.open_to_phones = True
        door_of(visit).new_code()
    return go("/phone")


def shut_it(visit: Visit) -> Response:
    """Shut the door: no phone that came through it is let in any more."""
    visit.bench.entry.open_to_phones = False
    visit.bench.entry.shut_out("phone")
    visit.bench.more["door"] = Door()
    return go("/phone")


# At the phone.


def knock(visit: Visit) -> Response:
    """Where a phone types the code."""
    if not visit.bench.entry.open_to_phones:
        return HTMLResponse(render("lost", what="The door for phones is shut."), 403)
    return HTMLResponse(render("door", told=""))


def come_in(visit: Visit) -> Response:
    """The code, typed at the phone."""
    entry = visit.bench.entry
    if not entry.open_to_phones:
        return HTMLResponse(render("lost", what="The door for phones is shut."), 403)
    if not door_of(visit).admits(visit.said.get("code", "")):
        told = "That is not the code, or it is used up. The desk shows it, and makes another."
        return HTMLResponse(render("door", told=told), 403)
    answer = HTMLResponse(render("enter", to="/beside"))
    answer.set_cookie(entry.cookie, entry.let_in("phone"), httponly=True, samesite="strict")
    return answer
